"""`stopgap range`: list, show, check, export, shift, remove."""

from pathlib import Path
from typing import TYPE_CHECKING

import click

from stopgap.cli.options.common import (
    WorkingCommand,
    library_options,
    output_options,
    overwrite_option,
)
from stopgap.cli.options.kinds import RangeName
from stopgap.cli.options.paper import on_option
from stopgap.cli.program import LazyGroup
from stopgap.cli.remedies import note_words
from stopgap.cli.session import session
from stopgap.errors import UsageError
from stopgap.swatches import WRITTEN_FORMATS

if TYPE_CHECKING:
    from stopgap.swatches import ColourRange


_HERE = "library.ranges"
RANGE_COMMANDS = {
    "import": ("library.importing:import_command", "Bring in a range from a file."),
    "template": ("library.importing:template_command", "An empty sheet, its columns explained."),
    "list": (f"{_HERE}:list_command", "The ranges of the library."),
    "show": (f"{_HERE}:show", "The swatches of a range."),
    "check": (f"{_HERE}:check", "Probable mistakes in a range."),
    "export": (f"{_HERE}:export", "Write a range as CSV, XLSX, CGATS or CxF."),
    "shift": (f"{_HERE}:shift", "How two ranges' measurements differ."),
    "remove": (f"{_HERE}:remove", "Take a range out of the library."),
}


@click.group("range", cls=LazyGroup, table=RANGE_COMMANDS, no_args_is_help=True)
@library_options
def range_group() -> None:
    """Import, show, check and export ranges.

    \b
    Example:
      stopgap range show Fennmoor
    """


@click.command("list", cls=WorkingCommand)
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


@click.command(cls=WorkingCommand)
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


@click.command(cls=WorkingCommand)
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


@click.command(cls=WorkingCommand)
@click.argument("range_name", metavar="NAME", type=RangeName())
@click.argument("file", type=click.Path(path_type=Path))
@click.option(
    "--format",
    "form",
    type=click.Choice(WRITTEN_FORMATS, case_sensitive=False),
    help="Format (else by the ending: .xlsx, .cgats, .cxf, otherwise CSV).",
)
@overwrite_option
@library_options
def export(range_name: str, file: Path, form: str | None, overwrite: bool) -> None:
    """Write a range to FILE, which 'range import' reads back; - is standard output.

    \b
    Examples:
      stopgap range export Fennmoor my-fennmoor.xlsx
      stopgap range export Brindlewick brindlewick.cxf
    """
    from stopgap.library import export_range, format_of_name, held, write_whole

    current = session()
    current.out = file
    chosen = form or format_of_name(file)
    found = _range(range_name)
    every = [swatch for pencil in found.pencils for swatch in pencil.swatches]
    written = held(every, chosen)
    write_whole(file, export_range(written, chosen), overwrite=overwrite)
    names = sum(not swatch.coloured for swatch in written)
    and_names = f" and {names} pencils without a colour" if names else ""
    left = len(every) - len(written)
    left_out = f" {left} without a colour were left out, which it cannot hold." if left else ""
    current.say(
        f"Wrote {len(written) - names} swatches{and_names} of {found.name} to {current.out_name} "
        f"as {chosen}.{left_out}"
    )


@click.command(cls=WorkingCommand)
@click.argument("range_name", metavar="NAME", type=RangeName())
@library_options
def remove(range_name: str) -> None:
    """Take a range and what you decided about it out of the library; 'stopgap undo' brings it back.

    \b
    Example:
      stopgap range import quillet.csv --name Tryout
      stopgap range remove Tryout
    """
    current = session()
    with current.open() as library:
        known = library.known_range(range_name)
        library.remove_range(known, f"removal of {known}")
    current.say(f"Removed {known}. 'stopgap undo' brings it back.")


def _range(name: str) -> "ColourRange":
    with session().open(read_only=True) as library:
        return library.colour_range(name)


@click.command(cls=WorkingCommand)
@click.argument("range_name", metavar="NAME", type=RangeName())
@click.argument("reference", metavar="REFERENCE", type=RangeName())
@click.option(
    "--pair",
    "pairs",
    multiple=True,
    metavar="CODE[=CODE]",
    help="A pencil of NAME and the same in REFERENCE; five or more, or none.",
)
@click.option("--correct", is_flag=True, help="Take the shift out of NAME.")
@click.option("--clear", is_flag=True, help="Take a correction of NAME away instead.")
@output_options
@library_options
def shift(
    range_name: str, reference: str, pairs: tuple[str, ...], correct: bool, clear: bool
) -> None:
    """Show how the measurements of two ranges differ, over pencils that are the same.

    Another surface or instrument adds the same light to all colours and scales the rest. Name
    pencils that both ranges measured, best ten or more, dark and vivid ones among them: what makes
    NAME agree with REFERENCE is shown, and how far it is off then. Without pairs it is sought among
    all colours, and told only where it can be believed. Nothing is changed unless you ask for it.

    Name each pair as in --pair FM003=BW01; a code that both ranges use stands alone.

    \b
    Example:
      stopgap range shift Fennmoor Brindlewick --clear
    """
    from stopgap.library import clear_correction, correct_range, find_swatch
    from stopgap.planner import shift_of_pairs, shift_without_pairs
    from stopgap.reports.answers import shift_report

    if clear and (pairs or correct):
        raise UsageError("--clear: leave --pair and --correct out.")
    current = session()
    with current.open(read_only=not (correct or clear)) as library:
        name, other = library.known_range(range_name), library.known_range(reference)
        if clear:
            had = clear_correction(library, name, f"clearing the correction of {name}")
            current.say(f"{name} is as its file states it{'' if had else ' already'}.")
            return
        swatches = library.swatches()
        named = [
            (find_swatch(f"{name}:{ours}", swatches), find_swatch(f"{other}:{theirs}", swatches))
            for ours, theirs in map(_codes, pairs)
        ]
        if named:
            found = shift_of_pairs(named)
        else:
            of = [[each for each in swatches if each.range == one] for one in (name, other)]
            found = shift_without_pairs(*of)
        if correct:
            correct_range(library, name, found.correction, f"correction of {name} by {other}")
    current.answer(shift_report(found, name, other, note_words, corrected=correct))


def _codes(pair: str) -> tuple[str, str]:
    ours, equals, theirs = pair.partition("=")
    if ours and not equals:
        return ours, ours
    if not (ours and theirs):
        raise UsageError(f"--pair {pair!r}: expected two codes, CODE=CODE.")
    return ours, theirs
