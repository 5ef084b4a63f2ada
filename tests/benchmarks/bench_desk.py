"""How long the desk takes from a request to the whole page, with 240 and with 3,000 pencils.

The pages are asked of the application in this process, without a network; a room's first request
searches what the next ones find, so both are told. Beside it the time in which a desk ends.

Run from the repository: `python tests/benchmarks/bench_desk.py`.
"""

import sys
import tempfile
import time
from pathlib import Path

import numpy as np

sys.path.append(str(Path(__file__).parents[1] / "desk"))

from window import Window

from stopgap.library import Convention, fill, import_range, open_library, read_range
from stopgap.swatches import Source

ROUNDS = 7
RANGES, EACH = 15, 200


def large(path, folder):
    """Fifteen ranges of two hundred pencils, uniform in a box of Lab; a tenth is owned."""
    draw = np.random.default_rng(20261126).uniform
    with open_library(path) as library:
        for number in range(RANGES):
            file = folder / f"{number}.csv"
            rows = [
                f"{place:03d},{draw(15, 95):.2f},{draw(-45, 60):.2f},{draw(-45, 60):.2f},"
                f"{'yes' if place % 10 == 0 else 'no'}"
                for place in range(EACH)
            ]
            file.write_text("\n".join(["code,L,a,b,owned", *rows]), encoding="utf-8")
            read = read_range(file, f"Range {number}", Convention("D50", 2, Source.MEASURED))
            import_range(library, read)


def timed(call):
    begun = time.perf_counter()
    answer = call()
    assert answer.status in (200, 303), answer.text
    return 1e3 * (time.perf_counter() - begun)


def measured(window, addresses):
    """The first request and the median of the next, each another question, in milliseconds."""
    first, *rest = [timed(lambda address=address: window.get(address)) for address in addresses]
    return first, float(np.median(rest))


def ticked(window, pencil):
    """The first tick and the median of the next, and stand-ins after each: each of another state,
    in milliseconds.
    """
    ticks, after, warm = [], [], []
    for number in range(ROUNDS):
        page = window.get("/wall?touch=tick").text
        value = page.partition('name="set" value="')[2].partition('"')[0]
        sent = [("set", value), ("page", "one")]
        ticks.append(timed(lambda sent=sent: window.post("/wall/own", sent)))
        asked = (f"/match?target={pencil}{at:03d}" for at in (20 + number, 40 + number))
        after.append(timed(lambda: window.get(next(asked))))  # noqa: B023
        warm.append(timed(lambda: window.get(next(asked))))  # noqa: B023
    return [(found[0], float(np.median(found[1:]))) for found in (ticks, after, warm)]


def main():
    """The table of RESULTS.md."""
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        with open_library(folder / "240.sqlite") as library:
            fill(library)
        large(folder / "3000.sqlite", folder)
        found = {}
        for size, pencil in ((240, "FM"), (3000, "Range 3:")):
            window = Window(folder / f"{size}.sqlite").enter()
            numbers = [f"{number:03d}" for number in range(1, ROUNDS + 2)]
            rooms = {
                "wall": [f"/wall?touch=look&from={number}" for number in numbers],
                "stand-ins": [f"/match?target={pencil}{number}" for number in numbers],
                "stand-ins, no layers": [
                    f"/match?target={pencil}{number}&layers=never" for number in numbers
                ],
                "history": [f"/history?at={number}" for number in numbers],
                "mark": ["/mark"] * (ROUNDS + 1),
            }
            for room, addresses in rooms.items():
                found[size, room] = measured(window, addresses)
            told = ticked(window, pencil)
            found[size, "tick"], found[size, "stand-ins after it"], found[size, "and warm"] = told
        print("| | 240, first | 240, then | 3,000, first | 3,000, then | ratio |")
        print("| --- | --- | --- | --- | --- | --- |")
        for room in dict.fromkeys(room for _, room in found):
            small, big = found[240, room], found[3000, room]
            cells = [*small, *big]
            told = " | ".join(f"{cell:.0f}" for cell in cells)
            print(f"| {room} | {told} | {big[1] / small[1]:.1f} |")


if __name__ == "__main__":
    main()
