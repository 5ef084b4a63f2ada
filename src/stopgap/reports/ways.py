"""A way to lay a colour, in JSON and in words."""

from collections.abc import Sequence

from stopgap.planner import Way
from stopgap.reports.blocks import Chip, Lab
from stopgap.reports.data import swatch_data
from stopgap.reports.words import swatch_words


def way_data(way: Way) -> dict[str, object]:
    """A swatch, or a recipe: its layers in order with their pressures, and the colour they make."""
    if not way.recipe:
        return swatch_data(way.swatches[0])
    return {
        "layers": [
            {"swatch": swatch_data(swatch), "pressure": pressure}
            for swatch, pressure in zip(way.swatches, way.pressures, strict=True)
        ],
        "lab": list(way.lab),
    }


def way_words(way: Way) -> str:
    """A way in one line."""
    if not way.recipe:
        return swatch_words(way.swatches[0])
    layers = [
        f"{swatch_words(swatch)}, {pressure}"
        for swatch, pressure in zip(way.swatches, way.pressures, strict=True)
    ]
    return "; then ".join(layers)


def way_labels(ways: Sequence[Way]) -> list[str]:
    """Ways by their codes, for one strip; pressures where codes would not tell them apart."""
    codes = ["+".join(swatch.code for swatch in way.swatches) for way in ways]
    laid: dict[str, set[tuple[str, ...]]] = {}
    for code, way in zip(codes, ways, strict=True):
        laid.setdefault(code, set()).add(way.pressures)
    return [
        f"{code} {', '.join(way.pressures)}".rstrip()
        if len(way.swatches) == 1 or len(laid[code]) > 1
        else code
        for code, way in zip(codes, ways, strict=True)
    ]


def way_chip(way: Way, *beside: Lab) -> Chip:
    """The colour of a way beside others."""
    return Chip((*beside, way.lab))
