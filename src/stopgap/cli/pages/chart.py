"""`stopgap chart`: pages to colour in and to read back."""

from pathlib import Path
from typing import TYPE_CHECKING

import click

from stopgap import defaults
from stopgap.cli.options.common import WorkingCommand, arrangement_option, library_options
from stopgap.cli.options.kinds import FamilyName, Renamed, TargetText
from stopgap.cli.options.paper import PaperName
from stopgap.cli.options.selection import Chosen, selection_options
from stopgap.cli.pages.drawings import drawing_options, ready_to_draw, write_drawing
from stopgap.cli.session import Session, session
from stopgap.errors import NothingFoundError, UsageError

if TYPE_CHECKING:
    from stopgap.library import Library
    from stopgap.reports.drawing.charted import ChartContent
    from stopgap.scanning import BoxSection
    from stopgap.swatches import ChartPage, Edition


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
    ready_to_draw(out, (".pdf", ".svg"), overwrite=overwrite, axes=False)
    from stopgap.reports.drawing.charted import chart_of, keep_chart
    from stopgap.reports.drawing.charts import edition_chart

    if on is not None and number is not None:
        raise UsageError("--on goes with a new chart; one that was printed keeps its paper.")
    current = session()
    if cards or card_list is not None:
        if number is not None or layers:
            raise UsageError("--card makes a chart of its own, without --edition and --layers.")
        content = _card(current, cards, card_list, on)
        title = title or "Trial card"
    else:
        with current.open(read_only=True) as library:
            selection = chosen.wide_selection(library)
            content = chart_of(library, selection, names, arrangement, code_order=code_order)
        for name in content.missing:
            current.say(f"Nothing is filed under {name}.")
    with current.open() as library:
        if number is None:
            edition = keep_chart(
                library,
                content,
                anchors,
                sheet_size,
                thirds=fields == "3",
                layers=layers,
                on=on,
            )
            pages = edition.pages
        else:
            edition, pages = _grown(current, library, number, content.sections)
    current.progress(f"Drawing {sum(len(page.boxes) for page in pages)} boxes")
    title = title or ", ".join([content.title, *([f"on {edition.paper}"] if edition.paper else [])])
    drawing = edition_chart(edition, content.filed, title=title, pages=pages)
    write_drawing(current, drawing, out, overwrite=overwrite)
    current.say(f"It is edition {edition.number}; the library keeps where its boxes stand.")


def _card(
    current: Session, cards: tuple[tuple[str, str], ...], card_list: Path | None, on: str | None
) -> "ChartContent":
    """Pairs of pencils to be tried: those named, and those laid for the colours of a list."""
    from stopgap.library import find_swatch, known_rows, read_list
    from stopgap.planner import ground_of, pairs_laid
    from stopgap.reports.drawing.charted import card_of

    with current.open(read_only=True) as library:
        ground = ground_of(library, on)
    known = ground.answering
    pairs = [(find_swatch(one, known), find_swatch(other, known)) for one, other in cards]
    if card_list is not None:
        rows, unknown = known_rows(read_list(card_list), known)
        pairs += pairs_laid(rows, ground, cache=current.recipe_cache)
        if unknown is not None:
            current.tell(unknown)
    if not pairs:
        raise NothingFoundError("For no colour of that list would two pencils be laid.")
    return card_of(pairs, known.swatches)


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
