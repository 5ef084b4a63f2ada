"""`stopgap arrangement`: new, list, use, copy, remove, export, apply."""

from pathlib import Path
from typing import TYPE_CHECKING

import click

from stopgap.cli.arrange.family import not_a_command
from stopgap.cli.options.common import (
    WorkingCommand,
    arrangement_option,
    library_options,
    output_options,
    overwrite_option,
)
from stopgap.cli.options.kinds import ArrangementName, Kind, StepText
from stopgap.cli.program import LazyGroup
from stopgap.cli.remedies import note_words
from stopgap.cli.session import session

if TYPE_CHECKING:
    from stopgap.library import Library
    from stopgap.swatches import Arrangement

_HERE = "arrange.arrangement"
ARRANGEMENT_COMMANDS = {
    "new": (f"{_HERE}:new", "Begin an arrangement, which comes into use."),
    "list": (f"{_HERE}:list_command", "Your arrangements, and which is in use."),
    "use": (f"{_HERE}:use", "Show families by an arrangement."),
    "copy": (f"{_HERE}:copy", "Copy an arrangement under another name."),
    "remove": (f"{_HERE}:remove", "Take an arrangement away."),
    "export": (f"{_HERE}:export", "Write an arrangement as a spreadsheet."),
    "apply": (f"{_HERE}:apply", "File pencils as a spreadsheet says."),
}
_SECTION = "section"


class NewArrangementName(Kind):
    """A name for an arrangement, in any language."""

    name = "name"

    def read(self, text: str) -> str:
        """The name."""
        from stopgap.swatches import plain_name

        return plain_name(text, "arrangement")


@click.group("arrangement", cls=LazyGroup, table=ARRANGEMENT_COMMANDS, no_args_is_help=True)
@library_options
def arrangement_group() -> None:
    """Your own families and their order, as many arrangements as you like side by side.

    One is in use wherever families are shown, charted or looked through; --arrangement names
    another. 'stopgap family' puts pencils and families where you want them.

    \b
    Example:
      stopgap arrangement list
    """


@click.command(cls=WorkingCommand)
@click.argument("name", type=NewArrangementName())
@click.option(
    "--from",
    "source",
    metavar="proposal|FILE|section",
    help="The tool's proposal, a spreadsheet with family and place, or the headings of the "
    "ranges' own files; empty where not given.",
)
@library_options
def new(name: str, source: str | None) -> None:
    """Begin an arrangement called NAME, which comes into use.

    What it starts with keeps its order from then on; a pencil that comes later takes its cheapest
    place and moves nobody. An empty one waits for you: pencils stand under 'not filed yet'.

    \b
    Examples:
      stopgap arrangement new 'By shelf' --from proposal
      stopgap arrangement new Lesson
    """
    from stopgap.errors import InputError
    from stopgap.library import keep_arrangement, stored_arrangements
    from stopgap.planner import proposed_arrangement
    from stopgap.swatches import PROPOSAL, Arrangement, key_of

    current = session()
    with current.open() as library:
        taken = [key_of(one.arrangement.name) for one in stored_arrangements(library)]
        if key_of(name) in taken:
            raise InputError(f"An arrangement called {name!r} is there already.")
        if source is None:
            found = Arrangement(name, fills=False)
        elif source == PROPOSAL:
            found = proposed_arrangement(library, name)
        elif source == _SECTION:
            found = _by_heading(library, name)
        else:
            found = _applied(library, Arrangement(name), Path(source))
        keep_arrangement(library, found, f"the arrangement {name}")
    current.say(f"{_told(found)} It is in use.")


@click.command("list", cls=WorkingCommand)
@output_options
@library_options
def list_command() -> None:
    """Show your arrangements, and which is in use.

    \b
    Example:
      stopgap arrangement list
    """
    from stopgap.library import stored_arrangements
    from stopgap.reports.answers import arrangements_report

    current = session()
    with current.open(read_only=True) as library:
        kept = stored_arrangements(library)
    current.answer(arrangements_report(kept, note_words))


@click.command(cls=WorkingCommand)
@click.argument("name", type=ArrangementName())
@click.option(
    "--fill/--wait",
    "fills",
    default=None,
    help="From now on new pencils take their cheapest place in it, or wait for you.",
)
@click.option(
    "--step",
    type=StepText(),
    metavar="ΔE",
    help="From now on its blends melt by this step: a number, soft (7), usual (12) or bold (16); 0 "
    "forgets it.",
)
@library_options
def use(name: str, fills: bool | None, step: float | None) -> None:
    """Show families by the arrangement NAME from now on, or by the tool's 'proposal'.

    \b
    Examples:
      stopgap arrangement copy proposal Skies
      stopgap arrangement use Skies --step soft
      stopgap arrangement use proposal
    """
    from stopgap.errors import InputError
    from stopgap.library import fill_places, use_arrangement

    if step is not None and not 0.0 <= step < float("inf"):
        raise InputError(f"--step: expected 0 or more, found {step:g}.")
    current = session()
    with current.open() as library:
        known = use_arrangement(library, name, fills=fills, step=step)
        if fills:
            from stopgap.blends import complete

            fill_places(library, complete)
    current.say(f"Families are shown by the arrangement {known} now.")


@click.command(cls=WorkingCommand)
@click.argument("name", type=ArrangementName())
@click.argument("new_name", type=NewArrangementName(), metavar="NEW")
@library_options
def copy(name: str, new_name: str) -> None:
    """Copy the arrangement NAME as NEW, which comes into use.

    \b
    Example:
      stopgap arrangement copy proposal 'By lesson'
    """
    from stopgap.errors import InputError
    from stopgap.library import keep_arrangement, stored_arrangements
    from stopgap.planner import proposed_arrangement, user_filing
    from stopgap.swatches import key_of

    current = session()
    with current.open() as library:
        taken = [key_of(one.arrangement.name) for one in stored_arrangements(library)]
        if key_of(new_name) in taken:
            raise InputError(f"An arrangement called {new_name!r} is there already.")
        found = user_filing(library, name) or proposed_arrangement(library, new_name)
        found = found._replace(name=new_name)
        keep_arrangement(library, found, f"the arrangement {new_name}")
    current.say(f"{_told(found)} It is in use.")


@click.command(cls=WorkingCommand)
@click.argument("name", type=ArrangementName())
@library_options
def remove(name: str) -> None:
    """Take the arrangement NAME away; pencils stay. 'stopgap undo' brings it back.

    \b
    Example:
      stopgap arrangement new Scraps
      stopgap arrangement remove Scraps
    """
    from stopgap.library import remove_arrangement

    current = session()
    with current.open() as library:
        gone = remove_arrangement(library, name)
    current.say(f"Removed the arrangement {gone}. 'stopgap undo' brings it back.")


@click.command(cls=WorkingCommand)
@click.argument("file", metavar="FILE", type=click.Path(path_type=Path))
@arrangement_option
@overwrite_option
@library_options
def export(file: Path, arrangement: str | None, overwrite: bool) -> None:
    """Write the arrangement in use to FILE, .csv or .xlsx, which 'apply' reads; - is the output.

    A row for each pencil with its family and place; change them and apply the file again.

    \b
    Example:
      stopgap arrangement export my-families.csv
    """
    from stopgap.library import filing_table, format_of_name, write_whole
    from stopgap.planner import proposed_arrangement, user_filing

    current = session()
    current.out = file
    with current.open(read_only=True) as library:
        found = user_filing(library, arrangement) or proposed_arrangement(library, "proposal")
        pencils = [pencil.first for pencil in library.pencils()]
    data = filing_table(found, pencils, format_of_name(file))
    write_whole(file, data, overwrite=overwrite)
    current.say(f"Wrote {current.out_name}. {_told(found)}")


@click.command(cls=WorkingCommand)
@click.argument("file", metavar="FILE", type=click.Path(path_type=Path))
@arrangement_option
@library_options
def apply(file: Path, arrangement: str | None) -> None:
    """File pencils as FILE says: its columns 'pencil' (RANGE:CODE), 'family' and 'place'.

    Families that are not there yet are made. Pencils that FILE does not name keep their places;
    where it names every family, their order is that of the file. A row whose place is 'also' lets
    a pencil serve a second family. 'section', 'family_note' and 'yours' may stand beside.

    \b
    Example:
      stopgap arrangement export families.xlsx
      stopgap arrangement apply families.xlsx
    """
    from stopgap.planner import change_arrangement

    current = session()
    with current.open() as library:
        found = change_arrangement(
            library,
            arrangement,
            lambda before, _: _applied(library, before, file),
            f"filing pencils by {file.name}",
        )
    current.say(_told(found))


def _applied(library: "Library", arrangement: "Arrangement", file: Path) -> "Arrangement":
    from stopgap.library import apply_filing, read_filing, stored_arrangements
    from stopgap.swatches import key_of

    kept = [arrangement, *(one.arrangement for one in stored_arrangements(library))]
    placed = {key for one in kept for key in one.by_pencil()}
    placed |= {key_of(also) for one in kept for family in one.families for also in family.also}
    known = [pencil.first for pencil in library.pencils()]
    rows = read_filing(file, known, placed)
    for row in rows:
        not_a_command(row.family)
    return apply_filing(arrangement, rows)


def _by_heading(library: "Library", name: str) -> "Arrangement":
    from stopgap.errors import NothingFoundError
    from stopgap.library import by_heading

    found = by_heading(name, [pencil.first for pencil in library.pencils()])
    if not found.families:
        raise NothingFoundError("No pencil of the library stood under a heading of its file.")
    for family in found.families:
        not_a_command(family.name)
    return found


def _told(found: "Arrangement") -> str:
    placed = sum(len(family.places) for family in found.families)
    families = len(found.families)
    return (
        f"{found.name} has {families} {'family' if families == 1 else 'families'} and "
        f"{placed} {'pencil' if placed == 1 else 'pencils'}."
    )
