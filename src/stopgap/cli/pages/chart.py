"""`stopgap chart`: pages to colour in and to read back."""

from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple

import click

from stopgap import defaults
from stopgap.cli.options.arrangement import FamilyName, arrangement_option
from stopgap.cli.options.common import WorkingCommand, library_options
from stopgap.cli.options.kinds import Renamed, TargetText
from stopgap.cli.options.paper import PaperName
from stopgap.cli.options.selection import Chosen, selection_options
from stopgap.cli.pages.drawings import check_form, drawing_options, write_drawing
from stopgap.cli.session import Session, session
from stopgap.errors import NothingFoundError, Remedy, UsageError

if TYPE_CHECKING:
    from collections.abc import Sequence

    from stopgap.blends import Filed
    from stopgap.library import Library
    from stopgap.scanning import BoxSection
    from stopgap.swatches import Arrangement, ChartPage, Edition, Swatch


@click.command(cls=WorkingCommand)
@drawing_options
@click.option(
    "--family",
    "names",
    multiple=True,
    type=FamilyName(),
    metavar="FAMILY",
    help="Only this family; may be repeated.",
)
@arrangement_option
@click.option("--code-order", is_flag=True, help="Range by range in the order of the codes.")
@click.option(
    "--fields",
    type=click.Choice(("1", "3")),
    default="1",
    show_default=True,
    help="3 parts the boxes of a dozen pencils into light, medium and heavy.",
)
@click.option("--layers", is_flag=True, help="Also boxes of two pencils over each other.")
@click.option(
    "--anchor",
    "anchors",
    multiple=True,
    type=TargetText(),
    metavar="PENCIL",
    help="A box on every page for a pencil of measured colour; up to five.",
)
@click.option(
    "--card",
    "cards",
    multiple=True,
    nargs=2,
    type=TargetText(),
    metavar="FIRST SECOND",
    help="A trial card: these two alone and in both orders; may be repeated.",
)
@click.option(
    "--card-list",
    type=click.Path(path_type=Path),
    metavar="FILE",
    help="A trial card of the two pencils that you would lay over each other for each colour.",
)
@click.option("--edition", "number", metavar="NUMBER", help="Add to a chart that was printed.")
@click.option(
    "--sheet-size",
    cls=Renamed,
    earlier="--paper",
    default=defaults.CHART_PAPER,
    show_default=True,
    metavar="SIZE",
    help="Size of the sheets, A4 or Letter.",
)
@click.option(
    "--on",
    type=PaperName(words=False),
    metavar="PAPER",
    help="One of your papers, that it will be coloured in on: a scan's swatches lie on it.",
)
@click.option(
    "--title", help="Title of the pages; by default the names of the ranges, or of the arrangement."
)
@selection_options()
@library_options
def chart(
    out: Path,
    overwrite: bool,
    names: tuple[str, ...],
    arrangement: str | None,
    code_order: bool,
    fields: str,
    layers: bool,
    anchors: tuple[str, ...],
    cards: tuple[tuple[str, str], ...],
    card_list: Path | None,
    number: str | None,
    sheet_size: str,
    on: str | None,
    title: str | None,
    chosen: Chosen,
) -> None:
    """Draw pages to print, colour in and scan: a box for every pencil, light to dark.

    OUT ends in .pdf, or in .svg for a file a page. Every pencil is on them, special finishes,
    discontinued shades and names without a colour included; --owned, --range, --family and the
    like narrow it down. Print at 100 % and check the bar at the foot. The library keeps the chart
    as an edition, whose boxes never move: --edition draws its pages again, or a further page for
    pencils that it lacks. By an arrangement of yours, each of its sections has its own pages, no
    family is broken where a page can hold it, and new pencils go to spare boxes of their family.

    A trial card (--card) has few boxes, each at three pressures: lay them, fold the page back and
    lay the edge beside the original. Scanned, it teaches how your layers come out.

    \b
    Examples:
      stopgap chart my-pencils.pdf --owned --anchor Fennmoor:FM017 --layers
      stopgap chart card.pdf --card Fennmoor:FM012 Brindlewick:BW08
      stopgap chart blue.svg --family blues --range Fennmoor --sheet-size Letter
    """
    from stopgap.reports.drawing.charts import edition_chart

    check_form(out, (".pdf", ".svg"), overwrite=overwrite)
    if on is not None and number is not None:
        raise UsageError("--on goes with a new chart; one that was printed keeps its paper.")
    current = session()
    if cards or card_list is not None:
        if number is not None or layers:
            raise UsageError("--card makes a chart of its own, without --edition and --layers.")
        content = _card(current, cards, card_list, on)
        title = title or "Trial card"
    else:
        content = _content(current, names, chosen, arrangement, code_order=code_order)
    with current.open() as library:
        if number is None:
            edition = _new(library, content, anchors, sheet_size, fields == "3", layers, on)
            pages = edition.pages
        else:
            edition, pages = _grown(current, library, number, content.sections)
    current.progress(f"Drawing {sum(len(page.boxes) for page in pages)} boxes")
    title = title or ", ".join([content.title, *([f"on {edition.paper}"] if edition.paper else [])])
    drawing = edition_chart(edition, content.filed, title=title, pages=pages)
    write_drawing(current, drawing, out, overwrite=overwrite)
    current.say(f"It is edition {edition.number}; the library keeps where its boxes stand.")


class _Content(NamedTuple):
    """What a chart is to hold: its pencils, under which headings, and all of the library filed.

    `filing` is the arrangement that they are by, if they are by one.
    """

    swatches: "list[Swatch]"
    sections: "list[BoxSection]"
    filed: "dict[str, Filed]"
    filing: "Arrangement | None" = None

    @property
    def title(self) -> str:
        """The arrangement's name, else those of the ranges."""
        ranges = ", ".join(dict.fromkeys(swatch.range for swatch in self.swatches))
        return (self.filing and self.filing.name) or ranges


def _content(
    current: Session,
    names: tuple[str, ...],
    chosen: Chosen,
    arrangement: str | None,
    *,
    code_order: bool,
) -> _Content:
    """Pencils by family, light to dark, and those without a colour behind them; else by code."""
    from stopgap.blends import Filed, file_swatches
    from stopgap.planner import user_filing
    from stopgap.scanning import code_sections

    with current.open(read_only=True) as library:
        pencils = library.pencils()
        filing = user_filing(library, arrangement)
        selection = chosen.wide_selection(library)
    if not pencils:
        raise NothingFoundError("The library holds no pencil yet.", remedy=Remedy.IMPORT_RANGE)
    known = [swatch for pencil in pencils if (swatch := pencil.colour()) is not None]
    waiting = selection.of([pencil.first for pencil in pencils if pencil.colour() is None])
    filed = {swatch.address: Filed(swatch) for swatch in waiting}
    filed |= {each.swatch.address: each for each in file_swatches(known, filing)}
    sections = _sections(current, selection.of(known), names, filing, waiting)
    members = {address for section in sections for (address,) in section.pencils}
    swatches = [each.colour() or each.first for each in pencils if each.first.address in members]
    if code_order:
        return _Content(swatches, code_sections(swatches), filed)
    return _Content(swatches, sections, filed, filing)


def _card(
    current: Session, cards: tuple[tuple[str, str], ...], card_list: Path | None, on: str | None
) -> _Content:
    """Pairs of pencils to be tried: those named, and those laid for the colours of a list."""
    from stopgap.blends import file_swatches
    from stopgap.library import find_swatch, known_rows, read_list, spread
    from stopgap.planner import ground_of, pairs_laid
    from stopgap.scanning import card_sections

    with current.open(read_only=True) as library:
        ground = ground_of(library, on)
    known = ground.answering
    pairs = [(find_swatch(one, known), find_swatch(other, known)) for one, other in cards]
    if card_list is not None:
        rows, unknown = known_rows(spread(read_list(card_list), known), known)
        pairs += pairs_laid(rows, ground, cache=current.recipe_cache)
        if unknown is not None:
            current.tell(unknown)
    pairs = list({frozenset(one.address for one in pair): pair for pair in pairs}.values())
    if not pairs:
        raise NothingFoundError("For no colour of that list would two pencils be laid.")
    swatches = list({one.address: one for pair in pairs for one in pair}.values())
    filed = {each.swatch.address: each for each in file_swatches(known.swatches)}
    return _Content(swatches, card_sections(pairs), filed)


def _sections(
    current: Session,
    swatches: "Sequence[Swatch]",
    names: tuple[str, ...],
    filing: "Arrangement | None",
    waiting: "Sequence[Swatch]",
) -> "list[BoxSection]":
    """The families of those names; where none is named all, and what waits for its colour."""
    from stopgap.blends import families_named, family_name
    from stopgap.scanning import arranged_sections, family_sections, name_sections

    if waiting and not (swatches or names or filing):
        return name_sections(waiting)
    found = families_named(swatches, names, filing, waiting)
    for name in sorted({family_name(name, filing) for name in names} - {one.name for one in found}):
        current.say(f"Nothing is filed under {name}.")
    there = {each.swatch.address for family in found for each in family.names}
    unfiled = [] if names else [each for each in waiting if each.address not in there]
    sections = family_sections(found) if filing is None else arranged_sections(found)
    return [*sections, *name_sections(unfiled)]


def _new(
    library: "Library",
    content: _Content,
    anchors: tuple[str, ...],
    size: str,
    thirds: bool,
    layers: bool,
    on: str | None,
) -> "Edition":
    """The same chart as before keeps its edition; else it is a new one."""
    from stopgap.library import (
        find_swatch,
        keep_edition,
        known_paper,
        stored_editions,
        stored_papers,
    )
    from stopgap.scanning import known_edition, new_edition, sheet_size

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


def _grown(
    current: Session, library: "Library", number: str, sections: "list[BoxSection]"
) -> "tuple[Edition, tuple[ChartPage, ...]]":
    """The edition with what it lacked, and the pages to draw: new ones, else all of them."""
    from stopgap.library import keep_edition, stored_edition
    from stopgap.scanning import grow

    growth = grow(stored_edition(library, number), sections)
    if growth.placed or growth.pages:
        keep_edition(library, growth.edition)
    for placed in growth.placed:
        current.say(
            f"Page {placed.page}, row {placed.row}, box {placed.column} is now for "
            f"{placed.pencil}: write it there."
        )
    return growth.edition, growth.pages or growth.edition.pages
