"""The map of holes as it is shown: cells, their hues in words, and what is said of each hole."""

from dataclasses import replace
from typing import Any

from stopgap.defaults import TOLERANCE
from stopgap.naming import iscc_nbs
from stopgap.planner.kits.holes import CHROMAS, HUES, LIGHTNESSES, Cell, Hole, Holes
from stopgap.reports.blocks import Block, Chip, ColourMap, Heading, MapCell, Paragraph
from stopgap.reports.wording import stack_words, swatch_words

_BANDS = {15: "quiet: C*ab 15", 45: "vivid: C*ab 45"}
_HUE_WORDS = dict(
    zip(
        (0, 30, 60, 90, 120, 150, 195, 240, 300, 330),
        ("rose", "red", "orange", "yellow", "lime", "green", "teal", "blue", "violet", "purple"),
        strict=True,
    )
)
"""What the hues of the rows are called at home; by the standard's names, `lime` is yellow green."""

MAP_KEY = (
    "Each cell is a colour, and touching it the nearest that you reach; the number is ΔE00"
    ", #1 the worst hole. Down: hue. Across: L*, light to dark. Empty: no pencil known comes near."
)


def colour_map(found: Holes) -> ColourMap:
    """The map with its two parts."""
    by_place = {(cell.chroma, cell.hue, cell.lightness): cell for cell in found.cells}
    return ColourMap(
        [f"{_HUE_WORDS.get(hue, ''):6}{hue:>4}" for hue in HUES],
        [str(lightness) for lightness in LIGHTNESSES],
        [
            (
                _BANDS[chroma],
                [[_shown(by_place[chroma, hue, L]) for L in LIGHTNESSES] for hue in HUES],
            )
            for chroma in CHROMAS
        ],
    )


def _shown(cell: Cell) -> MapCell | None:
    if not cell.counts:
        return None
    hole = f"hole {cell.hole}: " if cell.hole else ""
    said = f"{hole}{iscc_nbs(cell.lab)}, {cell.delta_E:.1f} from {stack_words(cell.reached)}"
    return MapCell((cell.lab, cell.reached.lab), f"{cell.delta_E:.0f}", said, cell.hole or 0)


def change_data(change: tuple[Holes, Holes] | None) -> dict[str, Any] | None:
    """The map before and after a purchase in JSON: how near each cell is reached."""
    if change is None:
        return None
    return {name: _map_data(found) for name, found in zip(("before", "after"), change, strict=True)}


def _map_data(found: Holes) -> dict[str, Any]:
    keys = ("chroma", "hue", "lightness", "counts", "delta_E")
    return {
        "reached": found.reached,
        "counting": len(found.counting),
        "mean_delta_E": found.mean_delta_E,
        "cells": [{key: getattr(cell, key) for key in keys} for cell in found.cells],
    }


def change_blocks(change: tuple[Holes, Holes]) -> list[Block]:
    """The map before a purchase and after it, with what it changes."""
    before, after = (replace(one, cells=tuple(map(_unnumbered, one.cells))) for one in change)
    blocks: list[Block] = []
    for name, found in (("now", before), ("then", after)):
        blocks += [
            Heading(f"What you reach {name}", whole=True),
            Paragraph(reach_words(found)),
            colour_map(found),
        ]
    return [*blocks, Paragraph(MAP_KEY.replace(", #1 the worst hole", ""), mark="·")]


def _unnumbered(cell: Cell) -> Cell:
    return replace(cell, hole=None)


def reach_words(found: Holes) -> str:
    """How much of the map is reached."""
    return (
        f"{found.reached} of {len(found.counting)} cells come within ΔE00 {TOLERANCE}; the mean is "
        f"{found.mean_delta_E:.1f}."
    )


def hole_name(hole: Hole) -> str:
    """The colour of its worst cell by the standard."""
    L, a, b = hole.cell.lab
    return f"{iscc_nbs(hole.cell.lab)}, lab({L:.0f} {a:.0f} {b:.0f})"


def hole_chip(hole: Hole) -> Chip:
    """The colour between what is reached and what would fill it, so that both touch it."""
    labs = (hole.cell.reached.lab, hole.cell.lab, hole.fill.lab)
    return Chip(labs, captions=("yours", "hole", "fills it"))


def hole_remarks(hole: Hole) -> list[str]:
    """What is nearest now, and what would be."""
    more = f"; {hole.cells} cells nearer" if hole.cells > 1 else ""
    return [
        f"→ {swatch_words(hole.fill)}{more}",
        f"  now: {hole.cell.delta_E:.1f} {stack_words(hole.cell.reached)}",
    ]


def plot_lines(found: Holes) -> list[str]:
    """What is said below a picture of the map: each hole, and what the marks mean."""
    holes = [
        f"#{hole.number}  {hole_name(hole)}: {hole.cell.delta_E:.1f}, with "
        f"{swatch_words(hole.fill)} {hole.then:.1f}"
        for hole in found.holes
    ]
    return [*holes, MAP_KEY]
