"""Start-up of every command: `python tests/benchmarks/bench_startup.py [demo] [ROUNDS] [WORD …]`.

Fresh interpreters taking turns on a small library, or with `demo` on the demo's 240 swatches: CPU
time with that of `import numpy, click, sqlite3` as the unit, the least of the rounds, with what the
row may take and the packages from outside that were loaded. Recipes and the like are kept from one
turn to the next, as they are for a user; a command that changes its folder gets a fresh one. WORDs
choose rows.
"""

import os
import shutil
import subprocess
import sys
import tempfile
from functools import partial
from math import inf
from pathlib import Path
from signal import SIGINT

from timing import machine, short, table

sys.path.insert(0, str(Path(__file__).parents[1]))
sys.path.insert(0, str(Path(__file__).parents[1] / "house"))

from every_command import OUTSIDE, ROWS, fill_small, lay_out

import stopgap
from stopgap.library import fill, open_library

ROUNDS = 5
NEEDED = "import numpy, click, sqlite3"
STOPGAP = "from stopgap.cli import main; main()"
ENDED = """
import sys
from pathlib import Path
from stopgap.cli import program
def leave(status):
    Path("loaded.txt").write_text(" ".join(sorted(sys.modules)))
    sys.exit(status)
program._leave = leave
program.main()
"""
"""The same, which writes down at its end what was loaded."""
EVERYWHERE = {"numpy", "click", "sqlite3"}
EACH, DRAWING, LEARNING = 4, 6, 16
LEARN = ("scan", "palette", "range shift")
DESK = "desk --no-browser"
"""Ended as soon as it has told where it is."""
HOLES = "plot plot.png --kind holes"
ALSO = (DESK, "pocket page.html", "shop --blends blends.csv", HOLES, "holes")
BUYING = "shop --blends blends.csv --step soft"
"""With steps so small something is to be bought; for less than that a programme is solved."""
ALSO += (BUYING, f"{BUYING} --budget 3", "kit --size 12", "kit --size 12 --layers")
"""Rows of which a test of what is loaded would take too long."""


def bar(row: str) -> int:
    """How many times the unit a row may take."""
    if row.startswith(LEARN):
        return LEARNING
    return DRAWING if row == HOLES or "matplotlib" in ROWS.get(row, ()) else EACH


class Kept:
    """A folder in which every row can be run, and what one turn keeps for the next."""

    def __init__(self, folder: Path, *, whole: bool) -> None:
        self._folder, self._untouched, self._place = (
            folder / name for name in ("kept", "untouched", "here")
        )
        self._folder.mkdir()
        self._untouched.mkdir()
        with open_library(folder / "library.sqlite") as library:
            (fill if whole else fill_small)(library)
        lay_out(self._untouched, folder / "library.sqlite")
        # byte code is kept, as in an installation, but not beside the sources
        self._environment = {
            **os.environ,
            "PYTHONPYCACHEPREFIX": str(self._folder / "byte code"),
            "STOPGAP_CACHE": str(self._folder / "cache"),
            # what one row keeps is for no other
            "STOPGAP_CONFIG": str(self._place / "config.toml"),
            "XDG_STATE_HOME": str(self._folder / "state"),
            "OPENBLAS_NUM_THREADS": "1",
            "PYTHONPATH": str(Path(stopgap.__file__).parents[1]),  # the children elsewhere, too
        }
        self._environment.pop("PYTHONDONTWRITEBYTECODE", None)

    def spent(self, row: str, code: str = STOPGAP) -> float:
        """CPU seconds of a fresh interpreter that runs `code`, as for what is typed in a row."""
        shutil.rmtree(self._place, ignore_errors=True)
        shutil.copytree(self._untouched, self._place)
        library = [] if row == "demo" else ["--library", "library.sqlite"]
        command = [sys.executable, "-c", code, *library, *row.split()]
        with (self._place / "told.txt").open("w+") as told:
            out = subprocess.PIPE if row == DESK else told
            child = subprocess.Popen(
                command, stdout=out, stderr=told, cwd=self._place, env=self._environment
            )
            if child.stdout is not None:
                child.stdout.readline()
                child.send_signal(SIGINT)
                child.stdout.close()
            _, status, used = os.wait4(child.pid, 0)
            child.returncode = os.waitstatus_to_exitcode(status)
            told.seek(0)
            if child.returncode not in {0, 3}:  # 3 is an answer
                raise RuntimeError(f"{row}: {told.read()[-800:]}")
        return used.ru_utime + used.ru_stime

    def loaded(self, row: str) -> str:
        """The packages from outside that a row loads, but for those that all do."""
        self.spent(row, ENDED)
        told = (self._place / "loaded.txt").read_text().split()
        return " ".join(name for name in told if name in OUTSIDE - EVERYWHERE)


def main() -> None:
    """Print the table."""
    words = [word for word in sys.argv[1:] if word != "demo" and not word.isdigit()]
    rounds = next((int(word) for word in sys.argv[1:] if word.isdigit()), ROUNDS)
    rows = [row for row in (*ROWS, *ALSO) if all(word in row for word in words)]
    with tempfile.TemporaryDirectory() as folder:
        kept = Kept(Path(folder), whole="demo" in sys.argv)
        told = {row: kept.loaded(row) for row in rows}
        ways = {NEEDED: partial(kept.spent, "", NEEDED)}
        ways |= {row: partial(kept.spent, row) for row in rows}
        least = dict.fromkeys(ways, inf)
        for _ in range(rounds):
            for name, way in ways.items():
                least[name] = min(least[name], way())
    unit = least[NEEDED]
    rows.sort(key=least.__getitem__, reverse=True)
    lines = [(row[:64], f"{least[row] / unit:.1f}", str(bar(row))) for row in rows]
    first, under, *drawn = table(("", "times", "bar"), lines).splitlines()
    print(machine(), f"{NEEDED}: {short(unit)}", sep="\n")
    print(first, under, sep="\n")
    for line, row in zip(drawn, rows, strict=True):
        print(line, " ! " if least[row] > bar(row) * unit else "   ", told[row])


if __name__ == "__main__":
    main()
