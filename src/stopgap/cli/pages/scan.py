"""`stopgap scan`."""

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

import click

from stopgap.cli.options.common import library_options, output_options
from stopgap.cli.options.kinds import TargetText
from stopgap.cli.options.paper import on_option
from stopgap.cli.remedies import note_words
from stopgap.cli.session import session
from stopgap.errors import InputError

if TYPE_CHECKING:
    from stopgap.library import Library
    from stopgap.scanning import KnownColour
    from stopgap.swatches import Edition, Paper, Pencil


@click.command()
@click.argument(
    "files",
    nargs=-1,
    required=True,
    metavar="FILE...",
    type=click.Path(path_type=Path),
)
@click.option(
    "--device",
    type=click.Choice(("flatbed", "flatbed-led", "phone")),
    help="What took the pictures; else a phone where they state an exposure.",
)
@click.option(
    "--light",
    type=click.Choice(("daylight", "led", "fluorescent", "tungsten")),
    help="The light of a phone's pictures (daylight).",
)
@click.option(
    "--anchor",
    "anchors",
    multiple=True,
    type=TargetText(),
    metavar="PENCIL",
    help="A pencil of measured colour on these pages to learn from; may be repeated.",
)
@click.option(
    "--target",
    type=click.Path(path_type=Path),
    metavar="FILE",
    help="A spreadsheet of patches of known colour that lie on the page: where, and their colours.",
)
@on_option
@click.option(
    "--preview",
    type=click.Path(path_type=Path),
    metavar="FILE",
    help="Also write a page (.html) with each box beside its colour, doubtful ones first.",
)
@click.option("--overwrite", is_flag=True, help="Replace the preview if it exists.")
@click.option("--dry-run", is_flag=True, help="Read and show, but store nothing.")
@click.option("--replace-measured", is_flag=True, help="Also where a colour was measured.")
@output_options
@library_options
def scan(
    files: tuple[Path, ...],
    device: str | None,
    light: str | None,
    anchors: tuple[str, ...],
    target: Path | None,
    on: str | None,
    preview: Path | None,
    overwrite: bool,
    dry_run: bool,
    replace_measured: bool,
) -> None:
    """Read coloured pages of a chart from scans or photographs.

    Each FILE is a JPEG, PNG or TIFF of a page that 'stopgap chart' drew, in any turn; several
    pictures of a page are averaged. White paper is taken as white. Each pencil gets a swatch of
    the source scanned; where a colour was measured it stays, unless --replace-measured. All pages
    are stored or none, and 'stopgap undo' takes them back.

    A colour target of yours may lie on the page: --target names a spreadsheet with the columns
    across and down (millimetres from the page's upper left to the middle of a patch), size, and a
    colour as in a range file. Boxes that you measured on this very sheet go into it by row and
    column instead.

    Near-white pencils by phone, metallics, fluorescents, mixed light, and dark blues and violets
    on a flatbed with three LEDs cannot be read well.

    \b
    Examples:
      stopgap scan page.png --dry-run --preview boxes.html
      stopgap scan page.png --device flatbed
      stopgap scan page.png --dry-run --target patches.csv
    """
    from datetime import UTC, datetime

    from stopgap.library import (
        check_free,
        keep_scan,
        read_patches,
        stored_editions,
        stored_papers,
        write_whole,
    )
    from stopgap.reports.answers import scan_report
    from stopgap.scanning import edition_read, plan_scan, read_pages

    if preview is not None:
        check_free(preview, overwrite=overwrite)
    current = session()
    patches = read_patches(target) if target is not None else ()
    with current.open(read_only=True) as library:
        editions = {edition.number: edition for edition in stored_editions(library)}
        pencils = {pencil.first.address: pencil for pencil in library.pencils()}
        papers = stored_papers(library)
        lying_on = _papers_of(editions, papers, on)
        known = _known(library, pencils, editions, anchors)
    current.progress(f"Reading {len(files)} pictures")
    reading = read_pages(
        files,
        editions,
        device=device,
        light=light,
        paper={number: one.lab for number, one in lying_on.items()},
        known=known,
        target=patches,
    )
    edition = edition_read(reading, editions)
    paper = lying_on[edition.number]
    found = plan_scan(
        reading,
        edition,
        pencils,
        paper=paper.name if paper in papers else "",
        date=datetime.now(UTC).date().isoformat(),
        replace_measured=replace_measured,
    )
    if preview is not None:
        from stopgap.reports.scan_preview import render_preview

        write_whole(preview, render_preview(found), overwrite=overwrite)
    if (found.kept or found.layers) and not dry_run:
        with current.open() as library:
            keep_scan(library, edition, found.kept, found.layers)
    current.answer(scan_report(found, note_words, stored=not dry_run))


def _papers_of(
    editions: "dict[str, Edition]", papers: "Sequence[Paper]", on: str | None
) -> "dict[str, Paper]":
    """What each chart was printed on: the paper asked for, else its own, else the default."""
    from stopgap.library import paper_called
    from stopgap.planner import paper_asked
    from stopgap.swatches import Paper

    asked = paper_asked(papers, on) or Paper()
    return {
        number: asked if on is not None else paper_called(one.paper, papers) or asked
        for number, one in editions.items()
    }


def _known(
    library: "Library",
    pencils: "dict[str, Pencil]",
    editions: "dict[str, Edition]",
    anchors: Sequence[str],
) -> "dict[str, KnownColour]":
    """Colours to learn from: of anchor boxes where they were measured, and of those named."""
    from stopgap.library import find_swatch
    from stopgap.scanning import known_colours

    swatches = library.swatches()
    named = {find_swatch(text, swatches).address for text in anchors}
    found = known_colours(pencils, named)
    typed = sorted(named - set(found))
    if typed:
        raise InputError(
            f"{', '.join(typed)}: its colour was not measured, so nothing can be learnt from it.",
            argument="anchor",
        )
    printed = {
        address
        for edition in editions.values()
        for _, box in edition.boxes()
        if box.anchor
        for address in box.pencils
    }
    return known_colours(pencils, printed) | found
