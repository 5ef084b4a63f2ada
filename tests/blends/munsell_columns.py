"""The Munsell renotation as pencils, and columns of it in which only one attribute changes.

The header of tests/reference/munsell_real_d50.csv says where the colours are from.
"""

import csv
from collections.abc import Iterable, Iterator, Sequence
from itertools import pairwise, takewhile
from pathlib import Path

from stopgap.difference import delta_E
from stopgap.swatches import Swatch

REFERENCE = Path(__file__).parents[1] / "reference" / "munsell_real_d50.csv"

Notation = tuple[str, float, float]


def munsell_swatches() -> dict[Notation, Swatch]:
    """The renotation as pencils, named by their notation: hue, value, chroma."""
    with REFERENCE.open(encoding="utf-8") as file:
        rows = list(csv.DictReader(line for line in file if not line.startswith("#")))
    return {
        (row["hue"], float(row["value"]), float(row["chroma"])): Swatch(
            "Munsell",
            f"{row['hue']} {row['value']}/{row['chroma']}",
            (float(row["L"]), float(row["a"]), float(row["b"])),
        )
        for row in rows
    }


def hue_number(hue: str) -> float:
    """Place on the hue circle of 100."""
    number, family = hue.rstrip("RYGBP"), hue.lstrip("0123456789.")
    return 10.0 * ["R", "YR", "Y", "GY", "G", "BG", "B", "PB", "P", "RP"].index(family) + float(
        number
    )


def columns(chips: dict[Notation, Swatch]) -> Iterator[tuple[str, list[Swatch]]]:
    """Chips in order that differ in value, in chroma or in hue by one step each; five or more.

    Whole values from 2, chromas by 2, and seven hues by 2.5.
    """
    hues = sorted({key[0] for key in chips}, key=hue_number)
    place = {hue: number for number, hue in enumerate(hues)}

    def neighbours(keys: Iterable[Notation]) -> list[Swatch]:
        return [chips[key] for key in takewhile(chips.__contains__, keys)]

    for hue, value, chroma in sorted(chips):
        if not value.is_integer() or value < 2:
            continue
        runs = {}
        if value == 2 or (hue, value - 1, chroma) not in chips:
            runs["value"] = neighbours((hue, value + n, chroma) for n in range(9))
        if chroma == 2:
            runs["chroma"] = neighbours((hue, value, chroma + 2 * n) for n in range(30))
        if place[hue] % 4 == 0:
            ring = [hues[(place[hue] + n) % len(hues)] for n in range(7)]
            runs["hue"] = neighbours((each, value, chroma) for each in ring)
        yield from ((name, found) for name, found in runs.items() if len(found) >= 5)


def holes(column: Sequence[Swatch]) -> Iterator[tuple[int, float]]:
    """Chips that can be taken out so that a gap is left, and the limit that makes it one.

    The limit is 5 % above the largest step of the column; the gap is over it by 5 % or more.
    """
    limit = 1.05 * max(steps_of(column))
    for hole in range(1, len(column) - 1):
        if float(delta_E(column[hole - 1].lab, column[hole + 1].lab)) > 1.05 * limit:
            yield hole, limit


def steps_of(column: Sequence[Swatch]) -> list[float]:
    """ΔE00 between neighbours."""
    return [float(delta_E(a.lab, b.lab)) for a, b in pairwise(column)]
