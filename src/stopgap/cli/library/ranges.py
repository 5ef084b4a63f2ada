"""`stopgap range`: import, list, show, check, export, remove."""

from pathlib import Path
from typing import TYPE_CHECKING

import click

from stopgap.cli.options.common import library_options, output_options
from stopgap.cli.options.kinds import RangeName, Renamed, words
from stopgap.cli.options.paper import on_option
from stopgap.cli.program import LazyGroup
from stopgap.cli.remedies import note_words
from stopgap.cli.session import session
from stopgap.defaults import ADAPTATION
from stopgap.swatches import CONDITIONS, FIELDS, WRITTEN_FORMATS, MeasurementMode, Pressure, Source

if TYPE_CHECKING:
    from stopgap.colorimetry import AdaptationMethod
    from stopgap.swatches import ColourRange

_HERE = "library.ranges"
RANGE_COMMANDS = {
    "import": (f"{_HERE}:import_command", "Bring in a range from a file."),
    "list": (f"{_HERE}:list_command", "The ranges of the library."),
    "show": (f"{_HERE}:show", "The swatches of a range."),
    "check": (f"{_HERE}:check", "Probable mistakes in a range."),
    "export": (f"{_HERE}:export", "Write a range as CSV, XLSX, CGATS or CxF."),
    "shift": ("measure.shift:shift", "How two ranges' measurements differ."),
    "remove": (f"{_HERE}:remove", "Take a range out of the library."),
}


@click.group("range", cls=LazyGroup, table=RANGE_COMMANDS, no_args_is_help=True)
@library_options
def range_group() -> None:
    """Import, show, check and export ranges.

    \b
    Example:
      stopgap range import my-pencils.csv --name 'My pencils'
    """


_OTHER_COLUMNS = ", ".join(
    title
    for row in FIELDS.values()
    if row.formats and row.name not in ("code", "lab")
    for title in row.titles
)
_IMPORT_HELP = f"""Bring in a range from FILE: CSV, XLSX, ODS, CGATS or CxF, one row a pencil.

The first row names the columns: 'code' and a colour (L, a, b or X, Y, Z or hex or nm400, nm410, …),
and if you like {_OTHER_COLUMNS}. Delimiter, decimal mark and encoding are found out. Either the
whole file lands or nothing does.

White and observer are taken from the file where it states them, and so is how it was measured
(columns {", ".join(CONDITIONS)}). An option that contradicts the file is refused.

\b
Example:
  stopgap range import my-pencils.csv --name 'My pencils' --source scanned
"""


@click.command("import", help=_IMPORT_HELP)
@click.argument("file", type=click.Path(path_type=Path))
@click.option("--name", required=True, metavar="NAME", help="What to call the range.")
@click.option("--white", metavar="ILLUMINANT", help="White of Lab and XYZ: D50 (default), D65, …")
@click.option("--observer", type=click.Choice(["2", "10"]), help="Observer in degrees (default 2).")
@click.option("--source", type=words(Source), help="How the colours were had.")
@click.option(
    "--laid", type=words(Pressure), help="How hard the swatches were laid, where no row says it."
)
@click.option(
    "--adaptation",
    type=click.Choice(["Bradford", "CAT16"]),
    default=ADAPTATION,
    show_default=True,
    help="How another white is brought to D50.",
)
@click.option(
    "--accept-observer",
    is_flag=True,
    help="Take 10 degree Lab or XYZ without spectra, at a larger uncertainty.",
)
@click.option("--mode", type=words(MeasurementMode), help="Measurement mode of ISO 13655.")
@click.option(
    "--repeats", is_flag=True, help="Rows of one code are readings of one pencil; take their mean."
)
@click.option(
    "--bare-paper",
    cls=Renamed,
    earlier="--paper",
    metavar="COLOUR",
    help="Bare paper: 'lab(L a b)', or the code of its row.",
)
@click.option(
    "--correct-bandpass", is_flag=True, help="Undo the blur of the instrument in the spectra."
)
@click.option("--replace", is_flag=True, help="Renew a range that is there; your decisions stay.")
@output_options
@library_options
def import_command(
    file: Path,
    name: str,
    white: str | None,
    observer: str | None,
    source: str | None,
    laid: str | None,
    adaptation: "AdaptationMethod",
    accept_observer: bool,
    mode: str | None,
    repeats: bool,
    bare_paper: str | None,
    correct_bandpass: bool,
    replace: bool,
) -> None:
    from stopgap.library import Convention, import_range, read_range
    from stopgap.reports.answers import import_report

    convention = Convention(
        stated_white=white,
        stated_observer=int(observer) if observer else None,
        source=Source(source.lower()) if source else None,
        adaptation=adaptation,
        accept_observer=accept_observer,
        mode=MeasurementMode(mode.upper()) if mode else None,
        correct_bandpass=correct_bandpass,
        laid=Pressure(laid.lower()) if laid else None,
    )
    current = session()
    current.progress(f"Reading {file.name}")
    draft = read_range(file, name, convention, repeats=repeats, bare_paper=bare_paper)
    current.progress(f"Checking and storing {len(draft.swatches)} swatches")
    with current.open() as library:
        report = import_range(library, draft, renew=replace)
    if not current.quiet or current.form != "terminal":
        current.answer(import_report(report, note_words))


@click.command("list")
@output_options
@library_options
def list_command() -> None:
    """List the ranges of the library.

    \b
    Example:
      stopgap range list
    """
    from stopgap.reports.answers import ranges_report

    current = session()
    with current.open(read_only=True) as library:
        found = library.ranges()
    current.answer(ranges_report(found, current.library_path, note_words))


@click.command()
@click.argument("range_name", metavar="NAME", type=RangeName())
@click.option("--measurement", is_flag=True, help="How each swatch was measured instead.")
@on_option
@output_options
@library_options
def show(range_name: str, measurement: bool, on: str | None) -> None:
    """Show the swatches of a range as you decided them, and each pencil's colour on a paper.

    \b
    Examples:
      stopgap range show Fennmoor
      stopgap range show Brindlewick --measurement
    """
    if measurement:
        from stopgap.reports.answers import measurement_report

        session().answer(measurement_report(_range(range_name)))
        return
    from stopgap.planner import ground_of
    from stopgap.reports.answers import range_report

    with session().open(read_only=True) as library:
        found, ground = library.colour_range(range_name), ground_of(library, on)
    session().answer(range_report(found, ground), on=ground, key="on")


@click.command()
@click.argument("range_name", metavar="NAME", type=RangeName())
@output_options
@library_options
def check(range_name: str) -> None:
    """Look for probable mistakes in a range; the colours themselves are not changed.

    \b
    Example:
      stopgap range check Fennmoor
    """
    from stopgap.library import check_range
    from stopgap.reports.answers import check_report

    session().answer(check_report(check_range(_range(range_name)), note_words))


@click.command()
@click.argument("range_name", metavar="NAME", type=RangeName())
@click.argument("file", type=click.Path(path_type=Path))
@click.option(
    "--format",
    "form",
    type=click.Choice(WRITTEN_FORMATS, case_sensitive=False),
    help="Format (else by the ending: .xlsx, .cgats, .cxf, otherwise CSV).",
)
@click.option("--overwrite", is_flag=True, help="Replace FILE if it exists.")
@library_options
def export(range_name: str, file: Path, form: str | None, overwrite: bool) -> None:
    """Write a range to FILE, which 'range import' reads back; - is standard output.

    \b
    Examples:
      stopgap range export Fennmoor fennmoor.xlsx
      stopgap range export Brindlewick brindlewick.cxf
    """
    from stopgap.library import export_range, format_of_name, write_whole

    current = session()
    current.out = file
    chosen = form or format_of_name(file)
    found = _range(range_name)
    written = found.every_swatch
    write_whole(file, export_range(written, chosen), overwrite=overwrite)
    current.say(f"Wrote {len(written)} swatches of {found.name} to {current.out_name} as {chosen}.")


@click.command()
@click.argument("range_name", metavar="NAME", type=RangeName())
@library_options
def remove(range_name: str) -> None:
    """Take a range and what you decided about it out of the library; 'stopgap undo' brings it back.

    \b
    Example:
      stopgap range remove Fennmoor
    """
    current = session()
    with current.open() as library:
        known = library.known_range(range_name)
        library.remove_range(known, f"removal of {known}")
    current.say(f"Removed {known}. 'stopgap undo' brings it back.")


def _range(name: str) -> "ColourRange":
    with session().open(read_only=True) as library:
        return library.colour_range(name)
