"""How long the desk takes from a request to the whole page, with 240 and with 3,000 pencils.

The pages are asked of the application in this process, without a network, and CPU time is told, on
which other programs tell little; a room's first request searches what the next ones find, so both
are told. Beside it the time in which a desk ends.

Run from the repository: `python tests/benchmarks/bench_desk.py`.
"""

import sys
import tempfile
import time
from pathlib import Path

import numpy as np

sys.path.append(str(Path(__file__).parents[1] / "desk"))

from test_running import entered, opened, started
from window import Window

from stopgap.library import Convention, fill, import_range, open_library, read_range
from stopgap.swatches import Source

ROUNDS = 7
MOMENT, REST = 0.2, 1.5  # seconds between a tick and the next touch
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
    begun = time.process_time()
    answer = call()
    assert answer.status in (200, 303), answer.text
    return 1e3 * (time.process_time() - begun)


def measured(windows, addresses):
    """By window the first request and the median of the next, each another question, in CPU
    milliseconds; the windows take turns, so that what else the machine does falls on both.
    """
    found = [
        [
            timed(lambda window=window, one=one: window.get(one))
            for window, one in zip(windows, each)
        ]
        for each in zip(*addresses, strict=True)
    ]
    return [(first, float(np.median(rest))) for first, *rest in zip(*found, strict=True)]


def ticked(window, pencil):
    """The first tick and the median of the next, and of the stand-ins for a pencil: at once after
    every other tick, else a moment later; after a rest, in which the desk looks ahead; and once
    more. In CPU milliseconds.

    One and the same question is compared, since some take twice as long as others; the desk takes
    each for another, as it has a field more that nobody reads.
    """
    first = ("stand-ins at once after it", "and a moment later")
    names = ("tick", *first, "and after a rest", "and warm")
    told = {name: [] for name in names}
    window.app.state.look_ahead()
    time.sleep(REST)
    for number in range(2 * ROUNDS):
        page = window.get("/wall?touch=tick").text
        value = page.split('name="set" value="')[1 + number].partition('"')[0]
        sent = [("set", value), ("page", "one")]
        told["tick"].append(timed(lambda sent=sent: window.post("/wall/own", sent)))
        time.sleep(number % 2 * MOMENT)
        for at, name in enumerate((first[number % 2], *names[3:])):
            address = f"/match?target={pencil}{20 + number:03d}&at={at}"
            told[name].append(timed(lambda address=address: window.get(address)))
            if not at:
                time.sleep(REST)
    return {name: (found[0], float(np.median(found[1:]))) for name, found in told.items()}


def ended(library, folder):
    """Seconds from Close until the process of a desk has ended, while it works gaps out."""
    with started(library, folder / "state", "--no-browser") as process:
        origin, cookie = entered(process)
        with opened(f"{origin}/blends?look=families&which=any", Cookie=cookie) as answer:
            assert b"worked out" in answer.read()
        begun = time.perf_counter()
        with opened(f"{origin}/close", b"", Cookie=cookie, Origin=origin) as answer:
            assert b"closed" in answer.read()
        assert process.wait(60) == 0
        return time.perf_counter() - begun


def main():
    """The table of RESULTS.md."""
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        with open_library(folder / "240.sqlite") as library:
            fill(library)
        large(folder / "3000.sqlite", folder)
        found = {}
        sizes = {240: "FM", 3000: "Range 3:"}
        windows = [Window(folder / f"{size}.sqlite").enter() for size in sizes]
        numbers = [f"{number:03d}" for number in range(1, ROUNDS + 2)]
        rooms = {
            "wall": "/wall?touch=look&from={at}",
            "stand-ins": "/match?target={pencil}{at}",
            "stand-ins, no layers": "/match?target={pencil}{at}&layers=never",
            "try two": "/layers?first={pencil}{at}&second={pencil}110&target={pencil}030",
            "one blend": "/blends?from={pencil}{at}&to={pencil}110",
            "lists": "/lists?list={pencil}{at}%0A{pencil}110",
            "holes": "/holes?layers=no&at={at}",
            "shop": "/shop?list={pencil}{at}&alone=yes",
            "history": "/history?at={at}",
            "mark": "/mark?at={at}",
        }
        for room, address in rooms.items():
            addresses = [
                [address.format(pencil=pencil, at=at) for at in numbers]
                for pencil in sizes.values()
            ]
            for size, times in zip(sizes, measured(windows, addresses), strict=True):
                found[size, room] = times
        for window, (size, pencil) in zip(windows, sizes.items(), strict=True):
            found |= {(size, name): times for name, times in ticked(window, pencil).items()}
        closed = [ended(folder / "3000.sqlite", folder) for _ in range(3)]
        print(f"closed while gaps of 3,000 are worked out: {max(closed):.1f} s at most of three")
        print("| | 240, first | 240, then | 3,000, first | 3,000, then | ratio |")
        print("| --- | --- | --- | --- | --- | --- |")
        for room in dict.fromkeys(room for _, room in found):
            small, big = found[240, room], found[3000, room]
            cells = [*small, *big]
            told = " | ".join(f"{cell:.0f}" for cell in cells)
            print(f"| {room} | {told} | {big[1] / small[1]:.1f} |")


if __name__ == "__main__":
    main()
