"""`stopgap chart`."""

from pathlib import Path

import click

from stopgap import defaults
from stopgap.cli.arrange.family import FamilyName
from stopgap.cli.options.common import library_options
from stopgap.cli.options.drawing import check_form, drawing_options, write_drawing
from stopgap.cli.options.renamed import Renamed
from stopgap.cli.options.selection import Chosen, selection_options
from stopgap.cli.session import session
from stopgap.errors import NothingFoundError, Remedy


@click.command()
@drawing_options
@click.option(
    "--family",
    "names",
    multiple=True,
    type=FamilyName(),
    metavar="FAMILY",
    help="Only this family; may be repeated.",
)
@click.option(
    "--sheet-size",
    cls=Renamed,
    earlier="--paper",
    default=defaults.CHART_PAPER,
    show_default=True,
    metavar="SIZE",
    help="Size of the sheets, A4 or Letter.",
)
@click.option("--title", help="Title of the pages; by default the names of the ranges.")
@selection_options()
@library_options
def chart(
    out: Path,
    overwrite: bool,
    names: tuple[str, ...],
    sheet_size: str,
    title: str | None,
    chosen: Chosen,
) -> None:
    """Draw pages to print and colour in: a box for every pencil, light to dark.

    OUT ends in .pdf, or in .svg for a file a page. Every swatch is on them, special finishes and
    discontinued shades included; --owned, --range, --family and the like narrow it down. Boxes are
    34 by 12 mm: print at 100 % and check the bar at the foot of the page.

    \b
    Examples:
      stopgap chart pencils.pdf --owned
      stopgap chart blues.svg --family blues --range Fennmoor --sheet-size Letter
    """
    from stopgap.blends import families_named, family_name
    from stopgap.planner import user_filing
    from stopgap.reports.drawing.chart_layout import paper_size
    from stopgap.reports.drawing.charts import swatch_chart

    check_form(out, (".pdf", ".svg"), overwrite=overwrite)
    paper_size(sheet_size)
    current = session()
    with current.open(read_only=True) as library:
        known = library.swatches()
        swatches = chosen.wide_selection(library).of(known)
        pins = user_filing(library)
    if not known:
        raise NothingFoundError("The library holds no swatch yet.", remedy=Remedy.IMPORT_RANGE)
    found = families_named(swatches, names, pins)
    for name in sorted({*map(family_name, names)} - {family.name for family in found}):
        current.say(f"Nothing is filed under {name}.")
    current.progress(f"Drawing {sum(len(family.filed) for family in found)} boxes")
    ranges = dict.fromkeys(swatch.range for swatch in swatches)
    drawing = swatch_chart(found, paper=sheet_size, title=title or ", ".join(ranges))
    write_drawing(current, drawing, out, overwrite=overwrite)
