"""What a new chart holds, and how one that was printed takes new pencils.

What was printed never moves: a new pencil gets a spare box of its own family or of none, to be
named by hand, or a place on a page that is printed besides.
"""

from collections.abc import Iterable, Sequence
from dataclasses import replace
from itertools import combinations
from typing import NamedTuple

import numpy as np

from stopgap.blends import Family
from stopgap.difference import delta_E_ciede2000
from stopgap.neighbours import choose_medians
from stopgap.scanning.layout import FOLD, LAYERS, SPARE, BoxSection, lay_out_edition
from stopgap.swatches import Box, ChartPage, Edition, Swatch

TEACHERS = 12
"""How many pencils get three fields: this project's choice, an hour's colouring at most."""

LAYERED = 5
"""How many pencils are laid over each other in pairs, each pair once: ten boxes."""


class Placed(NamedTuple):
    """A pencil in a spare box: its page, and its row and column there, counted from 1."""

    pencil: str
    page: int
    row: int
    column: int


class Growth(NamedTuple):
    """An edition with its new pencils: which got spare boxes, and which pages are new."""

    edition: Edition
    placed: tuple[Placed, ...]
    pages: tuple[ChartPage, ...]


def spread_out(swatches: Sequence[Swatch], count: int) -> tuple[Swatch, ...]:
    """At most `count` swatches that stand for all: each is near some of them (p-median, ΔE00)."""
    if len(swatches) <= count:
        return tuple(swatches)
    lab = np.array([swatch.lab for swatch in swatches])
    apart = delta_E_ciede2000(lab[:, np.newaxis], lab)
    return tuple(swatches[place] for place in choose_medians(apart, np.ones(len(lab)), count))


def _spaced(swatches: Sequence[Swatch], count: int) -> tuple[Swatch, ...]:
    """At most `count` of pencils whose colours nobody knows, evenly from their order."""
    return tuple(swatches[:: -(-len(swatches) // count)]) if swatches else ()


def layer_pairs(swatches: Sequence[Swatch]) -> tuple[tuple[str, str], ...]:
    """Pairs of addresses, first layer first, of few pencils that stand for all of them.

    Now the lighter, now the darker one lies below, so that both orders teach.
    """
    chosen = sorted(spread_out(swatches, LAYERED), key=lambda swatch: -swatch.lab[0])
    pairs = combinations([swatch.address for swatch in chosen], 2)
    return tuple(
        (one, other) if place % 2 else (other, one) for place, (one, other) in enumerate(pairs)
    )


def family_sections(families: Iterable[Family]) -> list[BoxSection]:
    """Family by family, each from light to dark."""
    return [BoxSection(family.name, _boxes_of(family)) for family in families]


def arranged_sections(families: Iterable[Family]) -> list[BoxSection]:
    """The user's own families in their order, each whole and with spare boxes at its end.

    A section of the arrangement has pages of its own.
    """
    return [
        BoxSection(family.name, _boxes_of(family), family.section, own_spare=True)
        for family in families
    ]


def _boxes_of(family: Family) -> list[tuple[str, ...]]:
    return [(filed.swatch.address,) for filed in (*family.filed, *family.names)]


def name_sections(names: Iterable[Swatch]) -> list[BoxSection]:
    """Range by range the pencils without a colour, in the order in which they are given."""
    return [
        section._replace(words=f"{section.words}: no colour yet")
        for section in code_sections(names)
    ]


def code_sections(swatches: Iterable[Swatch]) -> list[BoxSection]:
    """Range by range, in the order in which the swatches are given."""
    by_range: dict[str, list[tuple[str, ...]]] = {}
    for swatch in swatches:
        by_range.setdefault(swatch.range, []).append((swatch.address,))
    return [BoxSection(name, addresses) for name, addresses in by_range.items()]


def card_sections(pairs: Iterable[tuple[Swatch, Swatch]]) -> list[BoxSection]:
    """A trial card: of each pair both pencils alone, both orders, and these again along a fold.

    Every box at three pressures. A pencil alone has one box on the card, however often it occurs.
    """
    sections: list[BoxSection] = []
    alone: set[str] = set()
    for first, second in pairs:
        one, other = first.address, second.address
        single = [(each,) for each in (one, other) if each not in alone]
        alone |= {one, other}
        orders = [(one, other), (other, one)]
        title = f"{first.code} and {second.code}"
        sections.append(BoxSection(title, [*single, *orders], thirds=True))
        sections.append(BoxSection(FOLD, orders, thirds=True))
    return sections


def new_edition(
    sections: Sequence[BoxSection],
    swatches: Sequence[Swatch],
    size: tuple[float, float],
    *,
    anchors: Sequence[Swatch] = (),
    thirds: bool = False,
    layers: bool = False,
) -> Edition:
    """A chart of the sections, which are of the swatches, not yet numbered.

    With `thirds`, the boxes of TEACHERS pencils that stand for all have three fields; with
    `layers`, a section of pairs of pencils whose colour is known follows. Raises as
    `lay_out_edition` does.
    """
    coloured = [swatch for swatch in swatches if swatch.coloured]
    teachers = (spread_out(coloured, TEACHERS) or _spaced(swatches, TEACHERS)) if thirds else ()
    pairs = [BoxSection(LAYERS, layer_pairs(coloured))] if layers and len(coloured) > 1 else []
    return lay_out_edition(
        "0" * 6,
        [*sections, *pairs],
        size,
        anchors=[swatch.address for swatch in anchors],
        thirds={swatch.address for swatch in teachers},
    )


def known_edition(fresh: Edition, kept: Iterable[Edition]) -> Edition | None:
    """The edition among `kept` that is the same chart, whatever its number, or None."""
    return next((each for each in kept if replace(each, number=fresh.number) == fresh), None)


def grow(edition: Edition, sections: Sequence[BoxSection]) -> Growth:
    """The edition with those pencils of the sections that it lacks."""
    there = {box.pencils for _, box in edition.boxes() if not box.anchor}
    placed: list[Placed] = []
    left: list[BoxSection] = []
    for section in sections:
        waiting = [pencils for pencils in section.pencils if pencils not in there]
        while waiting and (found := _into_spare(edition, waiting[0][0], section.words)) is not None:
            edition = found.edition
            placed += found.placed
            del waiting[0]
        left += [section._replace(pencils=waiting)] if waiting else []
    if not left:
        return Growth(edition, tuple(placed), ())
    supplement = lay_out_edition(
        edition.number,
        left,
        edition.size,
        anchors=[box.pencils[0] for box in edition.pages[0].boxes if box.anchor],
        first_page=edition.pages[-1].number + 1,
    )
    grown = replace(edition, pages=(*edition.pages, *supplement.pages))
    return Growth(grown, tuple(placed), supplement.pages)


def _into_spare(edition: Edition, pencil: str, words: str) -> Growth | None:
    """The edition with the pencil in the first spare box under those words, or else under none's.

    None where there is no such box.
    """
    taken = edition.with_spare(pencil, words) or edition.with_spare(pencil, SPARE)
    if taken is None:
        return None
    own = ((page, box) for page, box in taken.boxes() if not box.anchor)
    page, box = next(each for each in own if each[1].pencils == (pencil,))
    return Growth(taken, (Placed(pencil, page.number, *place_of(page, box)),), ())


def place_of(page: ChartPage, box: Box) -> tuple[int, int]:
    """Row and column of a box on its page, counted from 1."""
    rows = sorted({other.outline.y for other in page.boxes})
    row = sorted(other.outline.x for other in page.boxes if other.outline.y == box.outline.y)
    return rows.index(box.outline.y) + 1, row.index(box.outline.x) + 1
