"""`stopgap family`: families made, renamed, joined, split, removed, sorted and tidied."""

import click

from stopgap.cli.arrange.family import NewFamilyName, addresses, called, keep_change
from stopgap.cli.options.common import (
    WorkingCommand,
    arrangement_option,
    library_options,
    output_options,
    step_option,
)
from stopgap.cli.options.kinds import FamilyName, TargetText
from stopgap.cli.options.selection import Chosen, selection_options
from stopgap.cli.remedies import note_words
from stopgap.cli.session import session
from stopgap.errors import UsageError

_section_option = click.option("--section", help="The page or box that it is in.")
_note_option = click.option("--note", help="A note in your own words.")
_before_option = click.option(
    "--before", type=FamilyName(), metavar="FAMILY", help="Before this family."
)


@click.command(cls=WorkingCommand)
@click.argument("name", type=NewFamilyName())
@_section_option
@_note_option
@_before_option
@arrangement_option
@library_options
def new(
    name: str, section: str | None, note: str | None, before: str | None, arrangement: str | None
) -> None:
    """Make a family called NAME, in any language; the last one, or before another.

    \b
    Example:
      stopgap family new 'Fjord blues' --section 'page 2' --before blues
    """
    from stopgap.swatches import add_family

    with session().open() as library:
        keep_change(
            library,
            arrangement,
            lambda found, _: add_family(
                found, name, section=section or "", note=note or "", before=before
            ),
            f"the family {name}",
        )
    session().say(f"{name} is a family now, without a pencil yet.")


@click.command(cls=WorkingCommand)
@click.argument("name", type=FamilyName())
@click.argument("new_name", required=False, type=NewFamilyName(), metavar="[NEW]")
@_section_option
@_note_option
@_before_option
@click.option("--last", is_flag=True, help="Behind all other families.")
@arrangement_option
@library_options
def rename(
    name: str,
    new_name: str | None,
    section: str | None,
    note: str | None,
    before: str | None,
    last: bool,
    arrangement: str | None,
) -> None:
    """Call the family NAME by NEW, or change its section, its note or its place among families.

    \b
    Examples:
      stopgap family rename olives Oliven --section 'page 1'
      stopgap family rename whites --before 'lemon yellows'
    """
    if before is not None and last:
        raise UsageError("--before and --last: choose one of them.")
    if not (new_name or last) and section is None and note is None and before is None:
        raise UsageError("Say what to change: a new name, --section, --note, --before or --last.")
    from stopgap.swatches import change_family

    with session().open() as library:
        keep_change(
            library,
            arrangement,
            lambda found, _: change_family(
                found,
                name,
                new_name=new_name,
                section=section,
                note=note,
                before=before,
                last=last,
            ),
            f"changing the family {name}",
        )
    session().say(f"Changed the family {new_name or name}.")


@click.command(cls=WorkingCommand)
@click.argument("names", nargs=-1, required=True, type=FamilyName(), metavar="NAME...")
@click.argument("into", type=FamilyName(), metavar="INTO")
@arrangement_option
@library_options
def join(names: tuple[str, ...], into: str, arrangement: str | None) -> None:
    """Put the pencils of each family NAME behind those of INTO, in the order they have.

    'stopgap family sort INTO' then orders them from light to dark.

    \b
    Example:
      stopgap family join 'cool earths' 'warm earths'
    """
    from stopgap.swatches import join_families

    with session().open() as library:
        keep_change(
            library,
            arrangement,
            lambda found, _: join_families(found, names, into),
            f"joining {', '.join(names):.60} to {into}",
        )
    session().say(f"Joined {', '.join(names)} to {into}.")


@click.command(cls=WorkingCommand)
@click.argument("name", type=FamilyName())
@click.argument("new_name", type=NewFamilyName(), metavar="NEW")
@click.argument("pencils", nargs=-1, required=True, type=TargetText(), metavar="PENCIL...")
@arrangement_option
@library_options
def split(name: str, new_name: str, pencils: tuple[str, ...], arrangement: str | None) -> None:
    """Part each PENCIL from the family NAME into NEW, straight behind it, in the order they had.

    \b
    Example:
      stopgap family split wines 'deep wines' Fennmoor:FM015
    """
    from stopgap.swatches import split_family

    with session().open() as library:
        parted = addresses(library, pencils)
        keep_change(
            library,
            arrangement,
            lambda found, _: split_family(found, name, new_name, parted),
            f"splitting the family {name}",
        )
    session().say(f"{new_name} holds {len(parted)} of {name}.")


@click.command(cls=WorkingCommand)
@click.argument("name", type=FamilyName())
@arrangement_option
@library_options
def remove(name: str, arrangement: str | None) -> None:
    """Take the family NAME away, which must be empty; join what it holds to another first.

    \b
    Example:
      stopgap family new Spare
      stopgap family remove Spare
    """
    from stopgap.swatches import remove_family

    with session().open() as library:
        keep_change(
            library,
            arrangement,
            lambda found, _: remove_family(found, name),
            f"removal of the family {name}",
        )
    session().say(f"Removed the family {name}.")


@click.command(cls=WorkingCommand)
@click.argument("names", nargs=-1, required=True, type=FamilyName(), metavar="NAME...")
@arrangement_option
@library_options
def sort(names: tuple[str, ...], arrangement: str | None) -> None:
    """Order each family NAME from light to dark anew, so that neighbours melt into each other.

    This moves pencils that you put in a place yourself, within their family; see 'family tidy'
    first for what it gains.

    \b
    Example:
      stopgap family sort wines
    """
    from stopgap.blends import sort_families

    with session().open() as library:
        keep_change(
            library,
            arrangement,
            lambda found, swatches: sort_families(found, swatches, names),
            f"sorting {', '.join(names):.60}",
        )
    session().say(f"Sorted {', '.join(names)} from light to dark.")


@click.command(cls=WorkingCommand)
@click.argument("names", nargs=-1, type=FamilyName(), metavar="[NAME]...")
@arrangement_option
@output_options
@library_options
def tidy(names: tuple[str, ...], arrangement: str | None) -> None:
    """Show what a new order from light to dark would gain in each family; change nothing.

    Where it is worth it, 'stopgap family sort NAME' takes it.

    \b
    Example:
      stopgap family tidy
    """
    from stopgap.blends import tidied
    from stopgap.planner import proposed_arrangement, user_filing
    from stopgap.reports.answers import tidy_report

    current = session()
    with current.open(read_only=True) as library:
        filing = user_filing(library, arrangement) or proposed_arrangement(library, "")
        swatches = library.swatches()
    current.answer(tidy_report(tidied(filing, swatches, names), note_words))


@click.command(cls=WorkingCommand)
@click.argument("names", nargs=-1, type=FamilyName(), metavar="[NAME]...")
@step_option
@arrangement_option
@selection_options()
@output_options
@library_options
def check(names: tuple[str, ...], step: float, arrangement: str | None, chosen: Chosen) -> None:
    """List what in families may want another look; change nothing.

    Pencils that another family may fit better, each with up to three places and the steps to its
    neighbours there; steps over the limit; lightness going back; labels that mislead; and families
    that at most two pencils which are not shown would join.

    \b
    Example:
      stopgap family check --owned
    """
    from stopgap.blends import check_filing, families_named
    from stopgap.planner import proposed_arrangement, user_filing
    from stopgap.reports.answers import filing_check_report

    current = session()
    with current.open(read_only=True) as library:
        swatches = library.swatches()
        shown = chosen.wide_selection(library).of(swatches)
        filing = user_filing(library, arrangement)
        everywhere = filing or proposed_arrangement(library, "")
    found = families_named(shown, names, filing)
    doubts = check_filing(found, everywhere, swatches, step)
    current.answer(filing_check_report(doubts, note_words))


@click.command(cls=WorkingCommand)
@click.argument("pencils", nargs=-1, required=True, type=TargetText(), metavar="PENCIL...")
@arrangement_option
@library_options
def release(pencils: tuple[str, ...], arrangement: str | None) -> None:
    """Put each PENCIL back where its colour has it, in its cheapest place.

    It no longer serves a second family either.

    \b
    Example:
      stopgap family move Fennmoor:FM020 sands
      stopgap family release Fennmoor:FM020
    """
    from stopgap.blends import let_go
    from stopgap.errors import NothingFoundError
    from stopgap.planner import user_filing
    from stopgap.swatches import key_of

    with session().open() as library:
        released = addresses(library, pencils)
        filing = user_filing(library, arrangement)
        placed = {} if filing is None else filing.by_pencil()
        also = () if filing is None else tuple(o for one in filing.families for o in one.also)
        second = {key_of(one) for one in also}
        for one in released:
            by_hand = key_of(one) in placed and placed[key_of(one)][1].by_hand
            if not by_hand and key_of(one) not in second:
                waits = filing is not None and not (filing.fills or key_of(one) in placed)
                state = "is not filed yet" if waits else "is filed by its colour already"
                raise NothingFoundError(f"{one} {state}.")
        what = f"letting the colour file {called(released):.60}"
        keep_change(library, arrangement, lambda one, known: let_go(one, known, released), what)
    verb = "is" if len(released) == 1 else "are"
    session().say(f"{called(released)} {verb} put back, filed by colour again.")
