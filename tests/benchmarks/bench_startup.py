"""Start-up of the command line: `python tests/benchmarks/bench_startup.py`.

Fresh interpreters taking turns, medians; each against the bare work it cannot do without.
"""

import os
import subprocess
import sys
import tempfile
from pathlib import Path

import numpy as np
from timing import interleaved, machine, short, table

from stopgap.cli.demo import fill
from stopgap.library import open_library

ROUNDS = 31
STOPGAP = "from stopgap.cli import main; main()"
BARE, NEEDED = "pass", "import numpy, click, sqlite3"


def main() -> None:
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "library.sqlite"
        with open_library(path) as library:
            fill(library)
        match = ("--library", str(path), "match", "Fennmoor:FM017")
        # byte code is kept, as in an installation, but not beside the sources
        environment = {**os.environ, "PYTHONPYCACHEPREFIX": str(Path(folder) / "byte code")}
        environment.pop("PYTHONDONTWRITEBYTECODE", None)
        commands = {
            "bare interpreter": (BARE,),
            NEEDED: (NEEDED,),
            "stopgap --help": (STOPGAP, "--help"),
            "stopgap match": (STOPGAP, *match),
            "stopgap match --json": (STOPGAP, *match, "--json"),
            "stopgap match --no-layers --json": (STOPGAP, *match, "--no-layers", "--json"),
        }
        ways = {
            name: lambda _, command=command: subprocess.run(
                [sys.executable, "-c", *command], check=True, capture_output=True, env=environment
            )
            for name, command in commands.items()
        }
        seconds = interleaved(ways, dict.fromkeys(ways, ROUNDS))
    median = {name: float(np.median(values)) for name, values in seconds.items()}
    bare, needed = median["bare interpreter"], median[NEEDED]
    rows = [
        (name, short(value), f"{value / bare:.2f}", f"{value / needed:.2f}")
        for name, value in median.items()
    ]
    print(machine())
    print(table(("command", "median", "x bare", f"x {NEEDED}"), rows))


if __name__ == "__main__":
    main()
