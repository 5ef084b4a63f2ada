"""Long runs that can be stopped and gone on with: `SCRIPT [FIRST:END] [--tally FILE] [WORD …]`.

A run is a range of seeds, each a case of its own that can be run again alone (`17:18`). What became
of them is kept in the tally file every few seconds, so that the same command goes on after the last
that was kept, and a wider range takes only what is left. Progress and faults stand on standard
error; the status is 1 where there was a fault.
"""

import json
import sys
import time
import traceback
from argparse import ArgumentParser
from collections import Counter
from collections.abc import Callable, Iterable, Mapping, Sequence
from pathlib import Path
from typing import NamedTuple

_EVERY = 5.0  # seconds between two lines of progress
_MOST_FAULTS = 20
PEAK = "MB at most"
"""What is no count: of several it is the largest."""


class Asked(NamedTuple):
    """What is to be tried: the seeds, where to keep what became of them, and words beside."""

    seeds: range
    tally: Path | None
    words: list[str]


def asked(told: str | None, most: int, arguments: Sequence[str] | None = None) -> Asked:
    """Read the command line; without a range it is the seeds from 0 to `most`."""
    parser = ArgumentParser(description=told and told.splitlines()[0])
    parser.add_argument("seeds", nargs="?", default=f"0:{most}", help=f"FIRST:END, 0:{most}")
    parser.add_argument("words", nargs="*", help="which kinds, else all")
    parser.add_argument("--tally", type=Path, help="the file that the run goes on with")
    found = parser.parse_intermixed_args(arguments)
    first, end = map(int, found.seeds.split(":"))
    return Asked(range(first, end), found.tally, found.words)


class Tally:
    """What became of the seeds of each kind, kept in a file."""

    def __init__(self, path: Path | None) -> None:
        self._path = path
        there = path is not None and path.exists()
        self.kinds: dict[str, dict[str, dict[str, int]]] = (
            json.loads(path.read_text(encoding="utf-8")) if path and there else {}
        )

    def left(self, kind: str, seeds: Iterable[int]) -> list[int]:
        """Those of the seeds that were not tried yet."""
        done = self.kinds.get(kind, {}).get("done", {})
        return [
            seed for seed in seeds if not any(int(at) <= seed < end for at, end in done.items())
        ]

    def add(self, kind: str, first: int, end: int, found: Counter[str]) -> None:
        """Keep what became of the seeds from `first` to before `end`."""
        entry = self.kinds.setdefault(kind, {"done": {}, "found": {}})
        begun = next((at for at, last in entry["done"].items() if last == first), str(first))
        entry["done"][begun] = end
        entry["found"] = dict(sorted(together(entry["found"], found).items()))
        if self._path:
            new = self._path.with_name(f"{self._path.name}.new")
            new.write_text(json.dumps(self.kinds, indent=1), encoding="utf-8")
            new.replace(self._path)


def together(one: Mapping[str, int], other: Mapping[str, int]) -> Counter[str]:
    """Both counts."""
    found = Counter(one) + Counter(other)
    if PEAK in found:
        found[PEAK] = max(each.get(PEAK, 0) for each in (one, other))
    return found


def run(kind: str, to_try: Asked, outcome: Callable[[int], str | Counter[str]]) -> int:
    """Try every seed that is left, and print what became of all; how many were faults."""
    tally = Tally(to_try.tally)
    left = tally.left(kind, to_try.seeds)
    begun = kept = time.monotonic()
    found: Counter[str] = Counter()
    faults, first = 0, left[0] if left else 0
    for number, seed in enumerate(left, start=1):
        try:
            what = outcome(seed)
        except Exception:  # noqa: BLE001 (told, and gone on)
            traceback.print_exc()
            print(f"{kind}: seed {seed} is a fault", file=sys.stderr, flush=True)
            what = "FAULT"
            faults += 1
        found = together(found, {what: 1} if isinstance(what, str) else what)
        apart = number == len(left) or left[number] != seed + 1
        if apart or faults > _MOST_FAULTS or time.monotonic() - kept > _EVERY:
            tally.add(kind, first, seed + 1, found)
            found.clear()
            kept, first = time.monotonic(), left[number] if number < len(left) else 0
            each = (kept - begun) / number
            said = f"{kind}: {number} of {len(left)}, {each:.3g} s each, {faults} faults"
            print(said, file=sys.stderr, flush=True)
        if faults > _MOST_FAULTS:
            break
    all_found = tally.kinds.get(kind, {}).get("found", {})
    print(f"{kind}: " + ", ".join(f"{what} {many}" for what, many in all_found.items()), flush=True)
    return faults
