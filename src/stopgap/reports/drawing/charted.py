"""What a chart of a library holds, and the edition that is kept of it."""

from collections.abc import Iterable, Sequence
from dataclasses import replace
from typing import NamedTuple

from stopgap.blends import Filed, families_named, family_name, file_swatches
from stopgap.defaults import CHART_PAPER
from stopgap.errors import NothingFoundError, Remedy
from stopgap.library import (
    Library,
    find_swatch,
    keep_edition,
    known_paper,
    stored_editions,
    stored_papers,
)
from stopgap.planner import user_filing
from stopgap.scanning import (
    BoxSection,
    arranged_sections,
    card_sections,
    code_sections,
    family_sections,
    known_edition,
    name_sections,
    new_edition,
    sheet_size,
)
from stopgap.swatches import Arrangement, Edition, Selection, Swatch, without_colour


class ChartContent(NamedTuple):
    """What a chart is to hold: its pencils, under which headings, and all of the library filed.

    `filing` is the arrangement that they are by, if they are by one; `missing` are families that
    were named and hold nothing.
    """

    swatches: list[Swatch]
    sections: list[BoxSection]
    filed: dict[str, Filed]
    filing: Arrangement | None = None
    missing: tuple[str, ...] = ()

    @property
    def title(self) -> str:
        """The arrangement's name, else those of the ranges."""
        ranges = ", ".join(dict.fromkeys(swatch.range for swatch in self.swatches))
        return (self.filing and self.filing.name) or ranges


def chart_of(
    library: Library,
    selection: Selection,
    names: Sequence[str] = (),
    arrangement: str | None = None,
    *,
    code_order: bool = False,
) -> ChartContent:
    """Pencils by family, light to dark, and those without a colour behind them; else by code.

    `names` are families, every one where none is named.

    Raises
    ------
    NothingFoundError
        If there is no pencil, or none in those families.
    UnknownSwatchError
        If a family or arrangement is not known.
    """
    pencils, filing = library.pencils(), user_filing(library, arrangement)
    if not pencils:
        raise NothingFoundError("The library holds no pencil yet.", remedy=Remedy.IMPORT_RANGE)
    known = [swatch for pencil in pencils if (swatch := pencil.colour()) is not None]
    waiting = selection.of(without_colour(pencils))
    filed = {swatch.address: Filed(swatch) for swatch in waiting}
    filed |= {each.swatch.address: each for each in file_swatches(known, filing)}
    sections, missing = _sections(selection.of(known), names, filing, waiting)
    members = {address for section in sections for (address,) in section.pencils}
    swatches = [each.colour() or each.first for each in pencils if each.first.address in members]
    if code_order:
        return ChartContent(swatches, code_sections(swatches), filed, missing=missing)
    return ChartContent(swatches, sections, filed, filing, missing)


def card_of(pairs: Iterable[tuple[Swatch, Swatch]], known: Sequence[Swatch]) -> ChartContent:
    """A trial card of pairs of pencils, each pair once; `known` are all of the library."""
    once = list({frozenset(one.address for one in pair): pair for pair in pairs}.values())
    swatches = list({one.address: one for pair in once for one in pair}.values())
    filed = {each.swatch.address: each for each in file_swatches(known)}
    return ChartContent(swatches, card_sections(once), filed)


def _sections(
    swatches: Sequence[Swatch],
    names: Sequence[str],
    filing: Arrangement | None,
    waiting: Sequence[Swatch],
) -> tuple[list[BoxSection], tuple[str, ...]]:
    """The families of those names, where none is named all, and what waits for its colour; and
    which of them hold nothing.
    """
    if waiting and not (swatches or names or filing):
        return name_sections(waiting), ()
    found = families_named(swatches, names, filing, waiting)
    missing = sorted({family_name(name, filing) for name in names} - {one.name for one in found})
    there = {each.swatch.address for family in found for each in family.names}
    unfiled = [] if names else [each for each in waiting if each.address not in there]
    sections = family_sections(found) if filing is None else arranged_sections(found)
    return [*sections, *name_sections(unfiled)], tuple(missing)


def keep_chart(
    library: Library,
    content: ChartContent,
    anchors: Sequence[str] = (),
    size: str = CHART_PAPER,
    *,
    thirds: bool = False,
    layers: bool = False,
    on: str | None = None,
) -> Edition:
    """The same chart as before keeps its edition; else it is a new one, which the library keeps.

    `anchors` are pencils of measured colour, `thirds` parts boxes into three pressures, `on` is a
    paper of the drawer.
    """
    fresh = new_edition(
        content.sections,
        content.swatches,
        sheet_size(size),
        anchors=[find_swatch(text, library.swatches()) for text in anchors],
        thirds=thirds,
        layers=layers,
    )
    if on is not None:
        fresh = replace(fresh, paper=known_paper(on, stored_papers(library)).name)
    return known_edition(fresh, stored_editions(library)) or keep_edition(library, fresh)
