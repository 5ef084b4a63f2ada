"""`stopgap range import`: what was guessed of a file is agreed on first."""

import sys
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from stopgap.cli.options.common import (
    WorkingCommand,
    library_options,
    output_options,
    overwrite_option,
    white_options,
)
from stopgap.cli.options.kinds import Renamed, words
from stopgap.cli.remedies import note_words
from stopgap.cli.session import session
from stopgap.defaults import ADAPTATION
from stopgap.errors import InputError, ProblemsInFile, Remedy, UsageError
from stopgap.swatches import CONDITIONS, FIELDS, MeasurementMode, Pressure, Source

if TYPE_CHECKING:
    from stopgap.colorimetry import AdaptationMethod
    from stopgap.library import ColumnMapping, Proposal
    from stopgap.library.ranges.draft import RangeDraft

_OTHER_COLUMNS = ", ".join(
    title
    for row in FIELDS.values()
    if row.formats and row.name not in ("code", "lab")
    for title in row.titles
)
_IMPORT_HELP = f"""Bring in a range from each FILE: CSV, XLSX, ODS, CGATS or CxF, one row a pencil.

A row names the columns: 'code' and a colour (L, a, b or X, Y, Z or hex or nm400, nm410, …), and if
you like {_OTHER_COLUMNS}. Delimiter, decimal mark and encoding are found out.

Headings, words and units may also be your own, in English, German, French, Spanish, Italian or
Dutch; what is then guessed, mended or left out is shown, and lands once you agree. What was agreed
on is kept with the range, and holds for its next file.

Several files land together or not at all, each as a range called like its file.

White and observer are taken from the file where it states them, and so is how it was measured
(columns {", ".join(CONDITIONS)}). An option that contradicts the file is refused.

\b
Example:
  stopgap range import my-pencils.csv --name 'My pencils' --source scanned
  stopgap range import brindlewick.csv quillet.csv --replace
"""


@click.command("import", cls=WorkingCommand, help=_IMPORT_HELP)
@click.argument(
    "files", metavar="FILE...", type=click.Path(path_type=Path), nargs=-1, required=True
)
@click.option(
    "--name", metavar="NAME", help="What to call the range; else as its file, without the ending."
)
@white_options
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
@click.option("--drop", is_flag=True, help="Let the range lose more than a quarter of its pencils.")
@click.option("--yes", "-y", is_flag=True, help="Agree to what was guessed, mended or left out.")
@click.option(
    "--mapping",
    "mapping_file",
    type=click.Path(path_type=Path),
    metavar="FILE",
    help="A table of what columns hold: 'column' and 'means'.",
)
@click.option("--strict", is_flag=True, help="Guess nothing: every heading and cell as it must be.")
@click.option("--all", "every", is_flag=True, help="Show each cell that was guessed or mended.")
@output_options
@library_options
def import_command(
    files: tuple[Path, ...],
    name: str | None,
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
    drop: bool,
    yes: bool,
    mapping_file: Path | None,
    strict: bool,
    every: bool,
) -> None:
    from stopgap.library import (
        Convention,
        called,
        import_proposal,
        import_range,
        propose_range,
        read_range,
    )
    from stopgap.library.ranges.draft import RangeDraft
    from stopgap.library.ranges.importing import MOST_GONE
    from stopgap.reports.answers import import_report, imports_report

    if strict and mapping_file is not None:
        raise UsageError("--strict and --mapping: choose one of them.")
    named = _named(files, name)
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
    read: dict[str, Any] = {"repeats": repeats, "bare_paper": bare_paper}

    def proposed(file: Path, name: str) -> "Proposal | RangeDraft":
        current.progress(f"Reading {called(file)}")
        if strict:
            try:
                return read_range(file, name, convention, **read)
            except ProblemsInFile as error:
                raise _in_full(error) if every else error from error
        agreed = _agreed(name, mapping_file, replace=replace)
        proposal = propose_range(file, name, convention, agreed, **read)
        _agree(file, proposal, agreed, yes=yes, every=every)
        return proposal

    proposals = [proposed(file, its) for its, file in named.items()]
    how: dict[str, Any] = {"renew": replace, "most_gone": 1.0 if drop else MOST_GONE}
    with current.open() as library:
        done = [
            import_range(library, one, **how)
            if isinstance(one, RangeDraft)
            else import_proposal(library, one, **how)
            for one in proposals
        ]
    if not current.quiet or current.form != "terminal":
        told = imports_report(done, note_words) if done[1:] else import_report(done[0], note_words)
        current.answer(told)


def _named(files: Sequence[Path], name: str | None) -> dict[str, Path]:
    """The files by what their ranges are to be called."""
    if name is not None and len(files) > 1:
        raise UsageError("--name names one range: leave it out, and each is called as its file.")
    named: dict[str, Path] = {}
    for file in files:
        its = file.stem if name is None else name
        if name is None and str(file) == "-":
            raise UsageError("What is read from standard input needs a --name.")
        if named.setdefault(its, file) is not file:
            raise UsageError(f"{named[its]} and {file} would both be called {its!r}.")
    return named


def at_terminal() -> bool:
    """Whether somebody is there to be asked."""
    return sys.stdin.isatty() and sys.stderr.isatty()


def _in_full(error: ProblemsInFile) -> InputError:
    """The error with each of its problems."""
    return InputError(error.in_full, remedy=error.remedy)


def _agreed(name: str, file: Path | None, *, replace: bool) -> "ColumnMapping":
    """What was agreed on before: in a mapping file, else with the range that is to be renewed."""
    from stopgap.library import ColumnMapping, called, mapping_in, read_table, stored_mapping

    agreed = ColumnMapping()
    if replace:
        with session().open(read_only=True) as library:
            agreed = stored_mapping(library, name)
    if file is None:
        return agreed
    stated = mapping_in(read_table(file), called(file))
    return ColumnMapping({**agreed.columns, **stated.columns}, agreed.accepted)


def _agree(
    file: Path, proposal: "Proposal", agreed: "ColumnMapping", *, yes: bool, every: bool
) -> None:
    """Have the user agree to what was not agreed on before: asked at a terminal, else by option.

    Raises
    ------
    InputError
        If nobody agreed.
    """
    open_ = proposal.unconfirmed(agreed)
    if not open_ or (yes and not every):
        return
    from stopgap.library import called
    from stopgap.reports.answers import understood_report
    from stopgap.reports.render.console import make_console
    from stopgap.reports.render.terminal import render_terminal

    count = len(proposal.draft.pencils)
    report = understood_report(called(file), open_, count, note_words, every=every)
    session().rest()
    sys.stderr.write(render_terminal(report, make_console(sys.stderr)))
    if yes:
        return
    if at_terminal():
        if click.confirm("Take it so?", err=True):
            return
        raise InputError(f"{called(file)}: nothing was stored.")
    raise InputError(f"{called(file)}: nothing was stored yet.", remedy=Remedy.CONFIRM)


@click.command("template", cls=WorkingCommand)
@click.argument("file", type=click.Path(path_type=Path))
@overwrite_option
@library_options
def template_command(file: Path, overwrite: bool) -> None:
    """Write an empty sheet to FILE, XLSX or CSV: the columns, and below each what it takes.

    \b
    Example:
      stopgap range template my-pencils.xlsx
    """
    from stopgap.library import format_of_name, template, write_whole

    current = session()
    current.out = file
    write_whole(file, template(format_of_name(file)), overwrite=overwrite)
    current.say(f"Wrote {current.out_name}. Fill in a row for each pencil; most columns may go.")
