"""`stopgap family`: show, move, release."""

from collections.abc import Iterable
from typing import TYPE_CHECKING

import click

from stopgap.cli.options.common import library_options, output_options
from stopgap.cli.options.kinds import Kind, TargetText
from stopgap.cli.options.paper import on_option
from stopgap.cli.options.selection import Chosen, selection_options
from stopgap.cli.program import LazyGroup
from stopgap.cli.remedies import note_words
from stopgap.cli.session import session

if TYPE_CHECKING:
    pass

_HERE = "arrange.family"
FAMILY_COMMANDS = {
    "show": (f"{_HERE}:show", "Families, or the swatches of one, light to dark."),
    "move": (f"{_HERE}:move", "File a swatch where you see it."),
    "release": (f"{_HERE}:release", "Let the colour file a swatch again."),
}


class FamilyGroup(LazyGroup):
    """A group that shows families where no command is named: `stopgap family roses`."""

    def parse_args(self, ctx: click.Context, args: list[str]) -> list[str]:
        """Put `show` before arguments that name no command."""
        if not args or (args[0] not in self.table and args[0] not in ctx.help_option_names):
            args = ["show", *args]
        return super().parse_args(ctx, args)


class FamilyName(Kind):
    """A family, completed by its name."""

    name = "family"

    def known(self, ctx: click.Context) -> Iterable[tuple[str, str]]:
        """Every family."""
        del ctx
        from stopgap.blends import FAMILIES

        return ((name, "") for name in FAMILIES)


@click.group("family", cls=FamilyGroup, table=FAMILY_COMMANDS)
@library_options
def family_group() -> None:
    """Families of hues, each from light to dark, and where you file a swatch.

    Without a command, 'stopgap family' sums up every family and 'stopgap family NAME' shows one.

    \b
    Examples:
      stopgap family
      stopgap family 'muted roses'
    """


@click.command()
@click.argument("name", required=False, type=FamilyName())
@selection_options()
@on_option
@output_options
@library_options
def show(name: str | None, chosen: Chosen, on: str | None) -> None:
    """Sum up every family, or show the swatches of NAME from light to dark.

    Every swatch is filed by its colour, whatever it is called, special finishes and discontinued
    shades included; --owned, --range and the like narrow it down.

    \b
    Example:
      stopgap family show 'muted roses' --range Fennmoor
    """
    from stopgap.blends import families_named
    from stopgap.planner import ground_of, user_filing
    from stopgap.reports.answers import families_report

    current = session()
    with current.open(read_only=True) as library:
        ground = ground_of(library, on)
        swatches = chosen.wide_selection(library).of(ground.swatches)
        pins = user_filing(library)
    found = families_named(swatches, [] if name is None else [name], pins)
    whole = name is not None or current.page is not None
    current.answer(families_report(found, note_words, whole=whole), on=ground)


@click.command()
@click.argument("swatch", type=TargetText())
@click.argument("family", type=FamilyName())
@click.option(
    "--after", type=TargetText(), metavar="SWATCH", help="Straight after this one of the family."
)
@library_options
def move(swatch: str, family: str, after: str | None) -> None:
    """File SWATCH (RANGE:CODE) under FAMILY, against the tool's own filing.

    Your filing is kept in the library and outlives a new import of the range.

    \b
    Example:
      stopgap family move Fennmoor:FM024 wines
    """
    from stopgap.blends import family_name
    from stopgap.library import find_swatch, pin_swatch

    wanted = family_name(family)
    current = session()
    with current.open() as library:
        swatches = library.swatches()
        moved = find_swatch(swatch, swatches)
        pin_swatch(library, moved, wanted, find_swatch(after, swatches) if after else None)
    current.say(f"Filed {moved.address} under {wanted}.")


@click.command()
@click.argument("swatch", type=TargetText())
@library_options
def release(swatch: str) -> None:
    """Let the colour of SWATCH file it again.

    \b
    Example:
      stopgap family move Fennmoor:FM020 sands
      stopgap family release Fennmoor:FM020
    """
    from stopgap.library import find_swatch, unpin_swatch

    current = session()
    with current.open() as library:
        released = find_swatch(swatch, library.swatches())
        unpin_swatch(library, released)
    current.say(f"{released.address} is filed by its colour again.")
