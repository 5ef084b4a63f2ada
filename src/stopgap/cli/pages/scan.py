"""`stopgap scan`."""

from pathlib import Path

import click

from stopgap.cli.options.common import WorkingCommand, library_options, output_options
from stopgap.cli.options.kinds import TargetText
from stopgap.cli.options.paper import on_option
from stopgap.cli.remedies import note_words
from stopgap.cli.session import session


@click.command(cls=WorkingCommand)
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
    help="What took the pictures; else a phone where they state an exposure or show a page aslant.",
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
    from stopgap.library import check_free, write_whole
    from stopgap.reports.answers import scan_report
    from stopgap.scanning import read_chart, store_scan

    if preview is not None:
        check_free(preview, overwrite=overwrite)
    current = session()
    current.progress(f"Reading {len(files)} pictures")
    with current.open(read_only=True) as library:
        found = read_chart(
            library,
            files,
            device=device,
            light=light,
            anchors=anchors,
            target=target,
            on=on,
            replace_measured=replace_measured,
        )
    if preview is not None:
        from stopgap.reports.scan_preview import render_preview

        write_whole(preview, render_preview(found), overwrite=overwrite)
    if not dry_run:
        with current.open() as library:
            found = store_scan(library, found)
    current.answer(scan_report(found, note_words))
