"""Arrangements and families as arguments and options."""

from collections.abc import Iterable

import click

from stopgap.cli.options.kinds import Kind, in_library


class ArrangementName(Kind):
    """An arrangement of the library, or the tool's proposal."""

    name = "arrangement"

    def known(self, ctx: click.Context) -> Iterable[tuple[str, str]]:
        """Every arrangement; only the proposal where the library cannot be read."""
        from stopgap.library import stored_arrangements
        from stopgap.swatches import PROPOSAL

        stored = in_library(ctx, stored_arrangements) or ()
        own = (PROPOSAL, "the tool's own families")
        return [own, *((one.arrangement.name, "") for one in stored)]


class FamilyName(Kind):
    """A family of the arrangement in use, completed by its name."""

    name = "family"

    def known(self, ctx: click.Context) -> Iterable[tuple[str, str]]:
        """Every family; the tool's own where no arrangement can be read."""
        from stopgap.blends import FAMILIES, FAMILY_WORDS
        from stopgap.library import arrangement_in_use

        found = in_library(ctx, arrangement_in_use)
        names = FAMILIES if found is None else [family.name for family in found.families]
        words = ((word, ", ".join(meant)) for word, meant in FAMILY_WORDS.items())
        return (*((name, "") for name in names), *words)


arrangement_option = click.option(
    "--arrangement",
    type=ArrangementName(),
    metavar="NAME",
    help="By this arrangement instead of the one in use; 'proposal' is the tool's own.",
)
