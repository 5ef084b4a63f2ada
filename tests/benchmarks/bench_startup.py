"""Start-up of the command line: `python tests/benchmarks/bench_startup.py`.

Fresh interpreters taking turns, medians; each against the bare work it cannot do without. The
library is the demo's, 240 swatches; every turn asks about another of them, and recipes are kept
from one turn to the next, as they are for a user.
"""

import os
import subprocess
import sys
import tempfile
from functools import partial
from pathlib import Path

import numpy as np
from timing import interleaved, machine, short, table

from stopgap.cli.ask.demo import fill
from stopgap.library import open_library

ROUNDS = 31
STOPGAP = "from stopgap.cli import main; main()"
ON_TAN, NOTHING_KEPT = "stopgap match --no-layers --json --on tan", "nothing kept"
BARE, NEEDED = "pass", "import numpy, click, sqlite3"


def main() -> None:
    with tempfile.TemporaryDirectory() as folder:
        path, full = Path(folder) / "library.sqlite", Path(folder) / "full.sqlite"
        for place in (path, full):
            with open_library(place) as library:
                fill(library)
                swatches = library.swatches()
        with open_library(full) as library:
            library.decide(swatches, {"owned": 1}, "all")
        targets = [swatch.address for swatch in swatches[:: len(swatches) // ROUNDS]]
        match = ("--library", str(path), "match")
        of_all = ("--library", str(full), "match")
        # byte code is kept, as in an installation, but not beside the sources
        environment = {**os.environ, "PYTHONPYCACHEPREFIX": str(Path(folder) / "byte code")}
        environment.pop("PYTHONDONTWRITEBYTECODE", None)
        commands = {
            "bare interpreter": (BARE,),
            NEEDED: (NEEDED,),
            "stopgap --help": (STOPGAP, "--help"),
            **{
                " ".join(("stopgap match", *options)): (STOPGAP, *match, *options)
                for options in ((), ("--json",), ("--owned",), ("--no-layers", "--json"))
            },
            "stopgap match, all 240 owned": (STOPGAP, *of_all),
            ON_TAN: (STOPGAP, *match, "--no-layers", "--json", "--on", "tan"),
            f"{ON_TAN}, {NOTHING_KEPT}": (STOPGAP, *match, "--no-layers", "--json", "--on", "tan"),
        }

        def run(at: int, name: str) -> None:
            command = commands[name]
            target = (targets[at],) if "match" in command else ()
            arguments = [sys.executable, "-c", *command, *target]
            cache = tempfile.mkdtemp(dir=folder) if NOTHING_KEPT in name else f"{folder}/cache"
            its = {**environment, "STOPGAP_CACHE": cache}
            subprocess.run(arguments, check=True, capture_output=True, env=its)

        ways = {name: partial(run, name=name) for name in commands}
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
