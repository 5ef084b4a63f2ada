"""The options that say which pencils a command may use."""

from collections.abc import Callable
from functools import wraps
from typing import TYPE_CHECKING, Any, NamedTuple

import click

from stopgap.cli.options.kinds import LightfastnessText, RangeName, words
from stopgap.swatches import Finish, Selection

if TYPE_CHECKING:
    from stopgap.library import Library
    from stopgap.swatches import Lightfastness

_OPTIONS = (
    click.option(
        "--range",
        "ranges",
        multiple=True,
        type=RangeName(),
        metavar="NAME",
        help="Only this range; may be repeated.",
    ),
    click.option(
        "--min-lightfastness",
        type=LightfastnessText(),
        help="Only pencils rated at least so, such as 'ASTM II' or 'BWS 6'.",
    ),
    click.option(
        "--finish",
        "finishes",
        multiple=True,
        type=words(Finish),
        help="This finish instead of plain pencils; may be repeated.",
    ),
    click.option(
        "--include-discontinued", is_flag=True, help="Also discontinued shades you do not own."
    ),
)


for_laydown_option = click.option(
    "--for-laydown",
    is_flag=True,
    help="Without pencils that lay badly (1 or 2 of 5): what is asked for and does so is replaced "
    "by what is known to lay better, of the same core first.",
)


class Chosen(NamedTuple):
    """What the options say, before the names of ranges are looked up.

    `owned` is None where they do not say, and the command does not either.
    """

    owned: bool | None
    ranges: tuple[str, ...]
    min_lightfastness: "Lightfastness | None"
    finishes: tuple[str, ...]
    include_discontinued: bool

    def selection(self, library: "Library") -> Selection:
        """The selection, its ranges spelt as the library has them."""
        return Selection(
            owned=bool(self.owned),
            ranges=tuple(library.known_range(name) for name in self.ranges),
            finishes=tuple(map(Finish, self.finishes)) or (Finish.PLAIN,),
            include_discontinued=self.include_discontinued,
            min_lightfastness=self.min_lightfastness,
        )

    def wide_selection(self, library: "Library") -> Selection:
        """The same where nothing is offered or bought: every finish, discontinued shades too."""
        return self.selection(library)._replace(
            finishes=tuple(map(Finish, self.finishes)) or tuple(Finish),
            include_discontinued=True,
        )


def selection_options(
    *, owned: bool | None = False
) -> Callable[[Callable[..., Any]], Callable[..., Any]]:
    """Add the options, which reach the command together as `chosen`.

    With `owned`, only owned pencils are meant unless `--any` is given; with None the command
    decides where neither `--owned` nor `--any` is.
    """

    def decorate(function: Callable[..., Any]) -> Callable[..., Any]:
        @wraps(function)
        def collected(
            *arguments: Any,
            owned: bool | None,
            ranges: tuple[str, ...],
            min_lightfastness: "Lightfastness | None",
            finishes: tuple[str, ...],
            include_discontinued: bool,
            **rest: Any,
        ) -> Any:
            chosen = Chosen(owned, ranges, min_lightfastness, finishes, include_discontinued)
            return function(*arguments, chosen=chosen, **rest)

        if owned:
            first = click.option(
                "--owned/--any",
                "owned",
                default=True,
                help="Only pencils that you own (default), or any.",
            )
        elif owned is None:
            first = click.option(
                "--owned/--any",
                "owned",
                default=None,
                help="Only pencils that you own, as blends are by default, or any.",
            )
        else:
            first = click.option("--owned", is_flag=True, help="Only pencils that you own.")
        for option in reversed((first, *_OPTIONS)):
            collected = option(collected)
        return collected

    return decorate
