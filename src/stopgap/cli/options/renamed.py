"""An option that is still read under the name it had before, which help no longer tells."""

from collections.abc import Sequence
from typing import Any

import click


class Renamed(click.Option):
    """An option of `declarations` that is also read as `earlier`."""

    def __init__(self, declarations: Sequence[str], earlier: str = "", **attributes: Any) -> None:
        super().__init__([*declarations, earlier], **attributes)
        self.earlier = earlier

    def get_help_record(self, ctx: click.Context) -> tuple[str, str] | None:
        """As of the option without its earlier name."""
        every, self.opts = self.opts, [name for name in self.opts if name != self.earlier]
        try:
            return super().get_help_record(ctx)
        finally:
            self.opts = every

    def get_error_hint(self, ctx: click.Context | None) -> str:
        """The name it has now."""
        del ctx
        return f"'{self.opts[0]}'"
