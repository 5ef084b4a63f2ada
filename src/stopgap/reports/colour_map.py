"""The map of holes as it is shown: cells, their hues in words, and what is said of each hole."""

from collections.abc import Callable, Sequence
from dataclasses import replace
from functools import cache, partial
from operator import attrgetter
from typing import Any

import numpy as np

from stopgap.colorimetry import lab_text
from stopgap.defaults import TOLERANCE
from stopgap.difference import grade
from stopgap.planner.kits.holes import CHROMAS, HUES, LIGHTNESSES, Cell, Hole, Holes
from stopgap.reports.blocks import (
    Block,
    Chip,
    ColourMap,
    Figures,
    Heading,
    Later,
    MapCell,
    Paragraph,
    Report,
    Say,
    plainly,
    remarks,
    without_figures,
    worded,
)
from stopgap.reports.columns import (
    SWATCH_CELLS,
    RowField,
    cells_of,
    data_of,
    grid_of,
    only_shown,
    plain,
    titles_of,
)
from stopgap.reports.terms import HOW_NEAR, colour_name, colour_names, nearness_of_each
from stopgap.reports.wording import stack_data, stack_words, swatch_data, swatch_words
from stopgap.swatches import FreeColour, LaidStack

_BANDS = {15: Figures("quiet: C*ab 15", "quiet"), 45: Figures("vivid: C*ab 45", "vivid")}
_HUE_WORDS = dict(
    zip(
        (0, 30, 60, 90, 120, 150, 195, 240, 300, 330),
        ("rose", "red", "orange", "yellow", "lime", "green", "teal", "blue", "violet", "purple"),
        strict=True,
    )
)
"""What the hues of the rows are called at home; by the standard's names, `lime` is yellow green."""

_WORST = ", #1 the worst hole"
_NEAR_MARKS = {"same": "+", "very close": "+", "close": "+", "noticeable": "–", "different": "×"}
"""In a cell without figures."""


def map_key(*, holes: bool = True) -> Figures:
    """What a map means, with its `holes` or without."""
    return worded(
        "Each cell is a colour, and touching it the nearest that you reach; ",
        Figures("the number is ΔE00", "+ comes close, – is noticeably off, × is different"),
        f"{_WORST if holes else ''}. Down: hue. Across: ",
        Figures("L*, "),
        "light to dark. Empty: no pencil known comes near.",
    )


def colour_map(found: Holes) -> ColourMap:
    """The map with its two parts."""
    counting = found.counting

    @cache
    def words() -> list[Figures]:
        """In words of each, all at once where somebody shows one."""
        names = colour_names([cell.lab for cell in counting] or np.empty((0, 3)))
        nearness = nearness_of_each(
            [FreeColour("", cell.lab) for cell in counting],
            [cell.reached for cell in found.weighed().counting],
        )
        return [*map(_words, counting, names, nearness)]

    shown = {
        (cell.chroma, cell.hue, cell.lightness): MapCell(
            (cell.lab, cell.reached.lab),
            Figures(f"{cell.delta_E:.0f}", _NEAR_MARKS[grade(cell.delta_E)]),
            partial(_one_of, words, place),
            cell.hole or 0,
        )
        for place, cell in enumerate(counting)
    }
    return ColourMap(
        [
            Figures(f"{_HUE_WORDS.get(hue, ''):6}{hue:>4}", f"{_HUE_WORDS.get(hue, ''):6}")
            for hue in HUES
        ],
        [Figures(str(lightness)) for lightness in LIGHTNESSES],
        [
            (
                _BANDS[chroma],
                [[shown.get((chroma, hue, L)) for L in LIGHTNESSES] for hue in HUES],
            )
            for chroma in CHROMAS
        ],
    )


def _one_of(words: Callable[[], Sequence[str]], place: int) -> str:
    return words()[place]


def _words(cell: Cell, name: str, nearness: str) -> Figures:
    hole = f"hole {cell.hole}: " if cell.hole else ""
    return worded(
        f"{hole}{name}, ",
        Figures(f"{cell.delta_E:.1f} from ", f"{nearness}: "),
        stack_words(cell.reached),
    )


def change_data(change: tuple[Holes, Holes]) -> dict[str, Any]:
    """The map before and after a purchase in JSON: how near each cell is reached."""
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
    return [*blocks, Paragraph(map_key(holes=False), mark="·")]


def _unnumbered(cell: Cell) -> Cell:
    return replace(cell, hole=None)


def reach_words(found: Holes) -> Figures:
    """How much of the map is reached."""
    return worded(
        f"{found.reached} of {len(found.counting)} cells come ",
        Figures(f"within ΔE00 {TOLERANCE}; the mean is {found.mean_delta_E:.1f}", grade(TOLERANCE)),
        ".",
    )


def hole_name(hole: Hole) -> Figures:
    """The colour of its worst cell by the standard."""
    name = colour_name(hole.cell.lab)
    return Figures(f"{name}, {lab_text(hole.cell.lab, 0)}", name)


def hole_chip(hole: Hole) -> Chip:
    """The colour between what is reached and what would fill it, so that both touch it."""
    labs = (hole.cell.reached.lab, hole.cell.lab, hole.fill.lab)
    return Chip(labs, captions=("yours", "hole", "fills it"))


def hole_remarks(hole: Hole) -> list[str]:
    """What is nearest now, and what would be."""
    more = f"; {hole.cells} cells nearer" if hole.cells > 1 else ""
    return [
        f"→ {swatch_words(hole.fill)}{more}",
        worded("  now: ", Figures(f"{hole.cell.delta_E:.1f} "), stack_words(hole.cell.reached)),
    ]


def plot_lines(found: Holes) -> list[str]:
    """What is said below a picture of the map: each hole, and what the marks mean."""
    holes = [
        worded(
            f"#{hole.number}  ",
            hole_name(hole),
            Figures(f": {hole.cell.delta_E:.1f}, with ", ", filled by "),
            swatch_words(hole.fill),
            Figures(f" {hole.then:.1f}"),
        )
        for hole in found.holes
    ]
    return [*holes, map_key()]


def pictured(found: Holes, *, figures: bool) -> tuple[ColourMap, list[str]]:
    """The map and what is said below it in a picture, with figures or in words."""
    shown, lines = colour_map(found), plot_lines(found)
    if figures:
        return shown, lines
    (plain,) = (block for block in without_figures([shown]) if isinstance(block, ColourMap))
    return plain, [*map(plainly, lines)]


def holes_report(found: Holes, say: Say = str) -> Report:
    """JSON schema stopgap.holes/1; its rows are the pencils that fill holes."""
    notes = remarks(found.notes, say)
    data = {
        "cells": data_of(_CELL_FIELDS, found.cells),
        "holes": data_of(_HOLE_FIELDS, found.holes),
        **{key: getattr(found, key) for key in ("found", "owned", "for_sale", "reached")},
        "counting": len(found.counting),
        "mean_delta_E": found.mean_delta_E,
        "tolerance": TOLERANCE,
        "notes": [note.text for note in notes],
        "paper": None,
        "marked": [],
    }
    blocks = Later(lambda: [*_blocks(found.weighed(holes=True)), *notes])
    columns = titles_of(_HOLE_FIELDS)
    return Report("stopgap.holes/1", data, blocks, columns, cells_of(_HOLE_FIELDS, found.holes))


def _blocks(found: Holes) -> list[Block]:
    return [
        Heading(f"What your {found.owned} pencils reach"),
        Paragraph(reach_words(found)),
        colour_map(found),
        Paragraph(map_key(), mark="·"),
        *_hole_blocks(found),
    ]


def _hole_blocks(found: Holes) -> list[Block]:
    if not found.holes:
        return [Heading("No hole that a pencil for sale would fill")]
    shown = grid_of(
        _HOLE_FIELDS, ("#", "chip", "shown then", "near", "name"), found.holes, hole_remarks
    )
    more = found.found - len(found.holes)
    return [
        Heading("The worst holes, and the one pencil that fills each best"),
        shown,
        *([Paragraph(f"… and {more} smaller.")] if more else []),
    ]


_FILL_CELLS = {name: SWATCH_CELLS[name] for name in ("range", "code", "name")}
_CELL_FIELDS: list[RowField[Cell]] = [
    *plain("chroma", "hue", "lightness"),
    RowField("lab", attrgetter("lab"), list),
    *plain("counts", "hole"),
    RowField("alone", attrgetter("alone"), stack_data),
    *plain("alone_delta_E"),
    RowField("layered", attrgetter("layered"), lambda laid: laid and stack_data(laid)),
    *plain("layered_delta_E"),
]


def _then_near(hole: Hole) -> str:
    aim = FreeColour("", hole.cell.lab)
    now, then = nearness_of_each([aim, aim], [hole.cell.reached, LaidStack.of(hole.fill)])
    return f"{now} → {then}"


_HOLE_FIELDS: list[RowField[Hole]] = [
    only_shown("#", lambda hole: f"#{hole.number}", number=True),
    only_shown("chip", hole_chip),
    only_shown(
        "shown then",
        lambda hole: f"{hole.cell.delta_E:.1f} → {hole.then:.1f}",
        Figures("ΔE00"),
        number=True,
    ),
    only_shown("near", _then_near, HOW_NEAR),
    only_shown("name", hole_name, "colour, and what fills it"),
    *plain("number"),
    RowField("hue", attrgetter("cell.hue")),
    RowField("lightness", attrgetter("cell.lightness")),
    RowField("chroma", attrgetter("cell.chroma")),
    RowField("delta_E", attrgetter("cell.delta_E")),
    RowField("fill", attrgetter("fill"), swatch_data, _FILL_CELLS),
    RowField("price", attrgetter("fill.price")),
    *plain("then", "nearer", "cells"),
]
