"""`stopgap family`: families shown, and pencils and families put where the user sees them."""

from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING

import click

from stopgap.cli.options.common import (
    WorkingCommand,
    arrangement_option,
    library_options,
    output_options,
)
from stopgap.cli.options.kinds import FamilyName, Kind, TargetText
from stopgap.cli.options.paper import on_option
from stopgap.cli.options.selection import Chosen, selection_options
from stopgap.cli.program import LazyGroup
from stopgap.cli.remedies import note_words
from stopgap.cli.session import session
from stopgap.errors import InputError, UsageError

if TYPE_CHECKING:
    from stopgap.library import Library
    from stopgap.swatches import Arrangement, Swatch

    Change = Callable[[Arrangement, Sequence[Swatch]], Arrangement]

_HERE = "arrange.family"
_THERE = "arrange.families"
_MOST_NAMED = 5
FAMILY_COMMANDS = {
    "show": (f"{_HERE}:show", "Families, or the swatches of one, in their order."),
    "wall": (f"{_HERE}:wall", "All pencils as touching chips, a row a family."),
    "move": (f"{_HERE}:move", "File pencils where you see them."),
    "release": (f"{_THERE}:release", "Put pencils back where their colour has them."),
    "new": (f"{_THERE}:new", "Make a family of your own."),
    "rename": (f"{_THERE}:rename", "Another name, section, note or place for a family."),
    "join": (f"{_THERE}:join", "Put families together."),
    "split": (f"{_THERE}:split", "Part pencils from a family into a new one."),
    "remove": (f"{_THERE}:remove", "Take an empty family away."),
    "sort": (f"{_THERE}:sort", "Order families from light to dark anew."),
    "check": (f"{_THERE}:check", "What may want another look, and where it would fit."),
    "tidy": (f"{_THERE}:tidy", "What a new order would gain, before it is changed."),
}


class FamilyGroup(LazyGroup):
    """A group that shows families where no command is named: `stopgap family roses`."""

    def parse_args(self, ctx: click.Context, args: list[str]) -> list[str]:
        """Put `show` before arguments that name no command."""
        if not args or (args[0] not in self.table and args[0] not in ctx.help_option_names):
            args = ["show", *args]
        return super().parse_args(ctx, args)


class NewFamilyName(Kind):
    """A name for a family, in any language, that is no word of this command."""

    name = "name"

    def read(self, text: str) -> str:
        """The name."""
        from stopgap.swatches import plain_name

        return not_a_command(plain_name(text))


def not_a_command(name: str) -> str:
    """The name of a family; raises InputError where it is a word of `stopgap family`."""
    if name.casefold() in FAMILY_COMMANDS:
        raise InputError(f"{name!r} is a word of 'stopgap family'. Take another name.")
    return name


@click.group("family", cls=FamilyGroup, table=FAMILY_COMMANDS)
@library_options
def family_group() -> None:
    """Families, each in its order, and where you file a pencil.

    Without a command, 'stopgap family' sums up every family and 'stopgap family NAME' shows one.
    Families are the tool's proposal until you move a pencil or make an arrangement of your own.

    \b
    Examples:
      stopgap family
      stopgap family 'muted roses'
    """


@click.command(cls=WorkingCommand)
@click.argument("name", required=False, type=FamilyName())
@click.option(
    "--by-colour",
    is_flag=True,
    help="Instead, the pencils that may stand in for each other: groups of which no two are "
    "farther apart than --within.",
)
@click.option(
    "--within",
    type=click.FloatRange(min=0.0, min_open=True),
    metavar="ΔE",
    help="With --by-colour: how far apart they may be (default: where 'close' ends).",
)
@arrangement_option
@selection_options()
@on_option
@output_options
@library_options
def show(
    name: str | None,
    by_colour: bool,
    within: float | None,
    arrangement: str | None,
    chosen: Chosen,
    on: str | None,
) -> None:
    """Sum up every family, or show the swatches of NAME in their order.

    Every swatch is in a family, special finishes and discontinued shades included; --owned,
    --range and the like narrow it down. What you put somewhere yourself is marked.

    \b
    Example:
      stopgap family show 'muted roses' --range Fennmoor
      stopgap family show --by-colour --owned
    """
    if by_colour:
        if name is not None or arrangement is not None:
            raise UsageError("--by-colour makes groups anew; leave NAME and --arrangement out.")
        _answer_by_colour(chosen, on, within)
        return
    if within is not None:
        raise UsageError("--within goes with --by-colour.")
    _answer(
        arrangement, chosen, on, name=name, whole=name is not None or session().page is not None
    )


@click.command(cls=WorkingCommand)
@click.option("--lists", is_flag=True, help="The families one by one below it.")
@arrangement_option
@selection_options()
@on_option
@output_options
@library_options
def wall(lists: bool, arrangement: str | None, chosen: Chosen, on: str | None) -> None:
    """Show all pencils as chips that touch: a row a family, in its order.

    What you own rises above its row with a sharpened tip, what is no longer made lacks a corner,
    special finishes stand apart at the end. 'stopgap sheet OUT.html --for wall' is the same on a
    page, to print: chips of 8 mm with their codes.

    \b
    Example:
      stopgap family wall --owned
    """
    _answer(arrangement, chosen, on, whole=lists, wall=True)


def _answer_by_colour(chosen: Chosen, on: str | None, within: float | None) -> None:
    from stopgap.blends import INTERCHANGEABLE, families_by_colour
    from stopgap.planner import ground_of
    from stopgap.reports.answers import families_report

    current = session()
    with current.open(read_only=True) as library:
        ground = ground_of(library, on)
        selection = chosen.selection(library)
    found = families_by_colour(selection.of(ground.answering.swatches), within or INTERCHANGEABLE)
    current.answer(
        families_report(found, note_words, whole=True, figures=current.figures),
        on=ground.among(selection),
    )


def _answer(
    arrangement: str | None,
    chosen: Chosen,
    on: str | None,
    *,
    name: str | None = None,
    whole: bool,
    wall: bool = False,
) -> None:
    from stopgap.blends import families_named
    from stopgap.planner import ground_of, user_filing
    from stopgap.reports.answers import families_report

    current = session()
    with current.open(read_only=True) as library:
        ground = ground_of(library, on)
        selection = chosen.wide_selection(library)
        filing = user_filing(library, arrangement)
    ground = ground.among(selection)
    found = families_named(
        selection.of(ground.swatches), [] if name is None else [name], filing, ground.uncoloured
    )
    report = families_report(
        found, note_words, filing=filing, whole=whole, wall=wall, figures=current.figures
    )
    current.answer(report, on=ground)


@click.command(cls=WorkingCommand)
@click.argument("pencils", nargs=-1, required=True, type=TargetText(), metavar="PENCIL...")
@click.argument("family", type=FamilyName(), metavar="TO")
@click.option("--before", type=TargetText(), metavar="PENCIL", help="Straight before this one.")
@click.option("--after", type=TargetText(), metavar="PENCIL", help="Straight after this one.")
@click.option("--first", is_flag=True, help="At the head of the family.")
@click.option("--also", is_flag=True, help="Leave them where they are; they serve TO as well.")
@arrangement_option
@library_options
def move(
    pencils: tuple[str, ...],
    family: str,
    before: str | None,
    after: str | None,
    first: bool,
    also: bool,
    arrangement: str | None,
) -> None:
    """File each PENCIL (RANGE:CODE, a RANGE, RANGE:FIRST-LAST) in the family TO, where you see it.

    Where you do not say beside which, it goes between the two that it melts into best. Nobody else
    moves. Your filing is kept in the library and outlives a new import of the range.

    \b
    Examples:
      stopgap family move Fennmoor:FM024 wines
      stopgap family move Fennmoor:FM012 Quillet:Q4 reds --first
    """
    if sum((before is not None, after is not None, first, also)) > 1:
        raise UsageError("--before, --after, --first and --also: choose one of them.")
    from stopgap.blends import put
    from stopgap.library import find_addresses, find_swatch
    from stopgap.swatches import serve_also

    with session().open() as library:
        known = [pencil.first for pencil in library.pencils()]
        moved = find_addresses(pencils, known)
        beside = [find_swatch(text, known).address if text else None for text in (before, after)]
        names = called(moved)

        def change(found: "Arrangement", swatches: "Sequence[Swatch]") -> "Arrangement":
            if also:
                return serve_also(found, moved, family)
            return put(
                found, swatches, moved, family, before=beside[0], after=beside[1], first=first
            )

        found = keep_change(library, arrangement, change, f"filing {names:.60} under {family}")
    wanted = found.family(family)
    if also:
        session().say(f"{names} {'serves' if len(moved) == 1 else 'serve'} {wanted.name} too.")
        return
    session().say(f"Filed {names} under {wanted.name}{_between(found, family, moved)}.")


def addresses(library: "Library", pencils: "Sequence[str]") -> list[str]:
    """The addresses of pencils by what they are called; those without a colour too."""
    from stopgap.library import find_addresses

    return find_addresses(pencils, [pencil.first for pencil in library.pencils()])


def called(pencils: "Sequence[str]") -> str:
    """A few by their addresses, of many how many there are."""
    return ", ".join(pencils) if len(pencils) <= _MOST_NAMED else f"{len(pencils)} pencils"


def keep_change(library: "Library", name: str | None, change: "Change", what: str) -> "Arrangement":
    """Change the arrangement of that name or the one in use, and say so where it has just begun."""
    from stopgap.library import stored_arrangements
    from stopgap.planner import change_arrangement

    before = len(stored_arrangements(library))
    changed = change_arrangement(library, name, change, what)
    if len(stored_arrangements(library)) > before:
        began = f"Your families are now the arrangement {changed.name!r}, kept as you see it."
        library.when_landed(lambda: session().say(began))
    return changed


def _between(found: "Arrangement", family: str, moved: "Sequence[str]") -> str:
    """Beside whom a pencil that was moved alone now stands."""
    if len(moved) != 1:
        return ""
    pencils = [place.pencil for place in found.family(family).places]
    at = [pencil.casefold() for pencil in pencils].index(moved[0].casefold())
    if len(pencils) == 1:
        return ", alone"
    if at == 0:
        return f", before {pencils[1]}"
    if at == len(pencils) - 1:
        return f", after {pencils[at - 1]}"
    return f", between {pencils[at - 1]} and {pencils[at + 1]}"
