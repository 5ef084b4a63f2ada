"""A group that knows its commands by name and short help, and loads one only to run it."""

from collections.abc import Mapping
from importlib import import_module
from typing import Any

import click


class LazyGroup(click.Group):
    """A click group; its `table` maps a command to (`module:attribute` in `stopgap.cli`, help)."""

    def __init__(
        self,
        name: str | None = None,
        *,
        table: Mapping[str, tuple[str, str]] | None = None,
        **attributes: Any,
    ) -> None:
        super().__init__(name, **attributes)
        self.table = table or {}

    def list_commands(self, ctx: click.Context) -> list[str]:
        """The commands in the order of the table."""
        del ctx
        return list(self.table)

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:
        """Load one command."""
        del ctx
        if cmd_name not in self.table:
            return None
        module, _, attribute = self.table[cmd_name][0].partition(":")
        command: click.Command = getattr(import_module(f"stopgap.cli.{module}"), attribute)
        return command

    def resolve_command(
        self, ctx: click.Context, args: list[str]
    ) -> tuple[str | None, click.Command | None, list[str]]:
        """Find the command, naming the nearest spellings where there is none."""
        if args and args[0] not in self.table and not args[0].startswith("-"):
            from stopgap.swatches.target import nearest_spellings

            hint = nearest_spellings(args[0], self.table)
            ctx.fail(f"There is no command {args[0]!r}.{hint}")
        return super().resolve_command(ctx, args)

    def format_commands(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        """List the commands without loading them."""
        del ctx
        with formatter.section("Commands"):
            formatter.write_dl([(name, help_) for name, (_, help_) in self.table.items()])
