"""How cost grows with the library: `python tests/benchmarks/bench_scale.py [SIZES …] [brief]`.

Every command once in a process of its own at each size: CPU seconds with its start, peak memory
[MB], and the exponent of CPU time from the first size to the last. Pencils are colours drawn evenly
in sRGB by a seed, a* and b* made 0.7 of themselves, in ranges of 333; 100 of them are owned. What a
command keeps for the next is kept: recipes are those of the owned, made by the first that asks.
What is refused is told as that. With `brief`, what takes long at some size is left out.
"""

import csv
import os
import subprocess
import sys
import tempfile
import time
from collections.abc import Mapping, Sequence
from math import log
from pathlib import Path

import numpy as np
from timing import machine, table

from stopgap.colorimetry import srgb_to_lab

SIZES = (1_000, 10_000)
OWNED, RANGE = 100, 333
STOPGAP = "from stopgap.cli import main; main()"


def _write(path: Path, rows: Sequence[Sequence[object]]) -> None:
    with path.open("w", newline="", encoding="utf-8") as file:
        csv.writer(file).writerows(rows)


def write_inputs(folder: Path, count: int) -> list[Path]:
    """The range files, and beside them what is asked."""
    random = np.random.default_rng(11)
    lab = srgb_to_lab(random.uniform(0.0, 1.0, (count, 3))) * [1.0, 0.7, 0.7]
    owned = set(random.permutation(count)[:OWNED].tolist())
    files = []
    for first in range(0, count, RANGE):
        files.append(folder / f"Range {first // RANGE}.csv")
        rows = [
            (f"P{row}", *lab[row].round(3), "yes" if row in owned else "no", 1 + row % 4)
            for row in range(first, min(count, first + RANGE))
        ]
        _write(files[-1], [("code", "L", "a", "b", "owned", "price"), *rows])
    names = [f"Range {row // RANGE}:P{row}" for row in random.permutation(count).tolist()]
    ends = [(f"blend {at}", *names[2 * at : 2 * at + 2]) for at in range(5)]
    _write(folder / "blends.csv", [("name", "from", "to"), *ends])
    for asked in (20, 100, 300):
        _write(folder / f"list{asked}.csv", [("colour",), *([one] for one in names[-asked:])])
    _write(folder / "own.csv", [("colour",), *([one] for one in names[:OWNED])])
    return files


COMMANDS = {
    "match, all that can be had": ("match", "#8a6f4b"),
    "blend of any": ("blend", "#403020", "#e0d8c0", "--any", "--no-layers"),
    "family": ("family",),
    "sheet of all families": ("sheet", "--overwrite", "out.html"),
    "gaps of every family": ("gaps",),
    "gaps of 5 blends": ("gaps", "blends.csv"),
    "shop, 5 blends, 20 colours": ("shop", "--blends", "blends.csv", "--list", "list20.csv"),
    "translate 300": ("translate", "list300.csv"),
    "translate 100 --keep-order": ("translate", "list100.csv", "--keep-order"),
    "table": ("table", "--from", "Range 0", "--to", "Range 1"),
    "holes": ("holes",),
    "find green": ("find", "green"),
    "tones": ("tones", "Range 0:P5"),
    "family check": ("family", "check"),
    "family tidy": ("family", "tidy"),
    "kit of 12": ("kit", "--size", "12"),
    "kit of 12 from all": ("kit", "--size", "12", "--any"),
    "plot of lightness": ("plot", "--overwrite", "out.png", "--kind", "lightness"),
    "range check": ("range", "check", "Range 0"),
    "library check": ("library", "check"),
    "match --on tan, first": ("match", "#8a6f4b", "--on", "tan"),
}
LONG = {
    "match --layer-with any": ("match", "#8a6f4b", "--layer-with", "any"),
    "match --layer-with any, far": ("match", "lab(40 -60 20)", "--layer-with", "any"),
    "translate 300 --any": ("translate", "list300.csv", "--any"),
    "chart": ("chart", "--overwrite", "out.pdf"),
    "pocket --no-recipes": ("pocket", "--overwrite", "out.html", "--no-recipes"),
    "pocket": ("pocket", "--overwrite", "out.html"),
}
LAST = {"own --from, 100": ("own", "--from", "own.csv")}  # more are owned after it

Spent = tuple[float, float, float]
"""CPU seconds, peak memory [MB] and wall seconds."""


def run(arguments: Sequence[str], folder: Path) -> Spent | None:
    """What one command takes, of which 0 and 3 are answers; None where it is refused."""
    command = [sys.executable, "-c", STOPGAP, "--library", "library.sqlite", *arguments]
    environment = {
        **os.environ,
        "STOPGAP_CACHE": str(folder / "cache"),
        "STOPGAP_CONFIG": os.devnull,  # whoever runs this may have said what holds for good
    }
    environment.pop("PYTHONDONTWRITEBYTECODE", None)  # it is kept, as in an installation
    started = time.monotonic()
    with (folder / "told.txt").open("w") as told:
        child = subprocess.Popen(command, stdout=told, stderr=told, cwd=folder, env=environment)
        _, status, used = os.wait4(child.pid, 0)
        child.returncode = os.waitstatus_to_exitcode(status)
    if child.returncode not in {0, 3}:
        print(*arguments, (folder / "told.txt").read_text()[-800:], file=sys.stderr)
        return None
    return used.ru_utime + used.ru_stime, used.ru_maxrss / 1024.0, time.monotonic() - started


def measured(
    count: int, folder: Path, commands: Mapping[str, Sequence[str]]
) -> dict[str, Spent | None]:
    """Every command at one size."""
    found: dict[str, Spent | None] = {}
    files = write_inputs(folder, count)
    found["import of all ranges"] = run(("range", "import", *map(str, files)), folder)
    for name, arguments in commands.items():
        found[name] = run(arguments, folder)
        print(count, name, found[name], file=sys.stderr, flush=True)
    return found


def main() -> None:
    """Print the table."""
    sizes = tuple(int(one) for one in sys.argv[1:] if one.isdigit()) or SIZES
    commands = {**COMMANDS, **({} if "brief" in sys.argv else LONG), **LAST}
    found = {}
    for size in sizes:
        with tempfile.TemporaryDirectory() as folder:
            found[size] = measured(size, Path(folder), commands)
    rows = []
    for name in found[sizes[0]]:
        spent = [found[size][name] for size in sizes]
        each = [(f"{one[0]:.2f}", f"{one[1]:.0f}") if one else ("refused", "") for one in spent]
        growth = ""
        if sizes[1:] and spent[0] and spent[-1]:
            ratio = spent[-1][0] / spent[0][0]
            growth = f"{log(ratio) / log(sizes[-1] / sizes[0]):.2f}"
        rows.append((name, *(cell for cells in each for cell in cells), growth))
    heads = (head for size in sizes for head in (f"{size:,}: CPU s", "MB"))
    print(table(("", *heads, "exponent"), rows))
    print(machine())


if __name__ == "__main__":
    main()
