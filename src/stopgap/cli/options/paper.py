"""The options that say which paper is drawn on, and the laying conditions on it."""

from collections.abc import Callable, Iterable
from typing import TYPE_CHECKING, Any, TypeVar

import click

from stopgap.cli.options.kinds import Kind, Renamed, in_library
from stopgap.swatches import GRAINS, PAPER_COLOURS, Tooth

if TYPE_CHECKING:
    from stopgap.swatches import Paper

Function = TypeVar("Function", bound=Callable[..., Any])


class GrainWord(click.Choice[str]):
    """A word of GRAINS to the name of its tooth, which is read as well."""

    def __init__(self) -> None:
        super().__init__([str(grain) for grain in GRAINS], case_sensitive=False)

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> str:
        """The name of the tooth."""
        if str(value).casefold() in list(Tooth):
            return str(value).casefold()
        return str(GRAINS[super().convert(value, param, ctx)])


class PaperName(Kind):
    """A paper of the drawer, completed by its name; words for colours where `words` says so."""

    name = "paper"

    def __init__(self, *, words: bool = True) -> None:
        self.words = words

    def known(self, ctx: click.Context) -> Iterable[tuple[str, str]]:
        """Every paper of the drawer, and the words."""
        return (*((paper.name, "") for paper in _papers(ctx)), *((word, "") for word in self._more))

    @property
    def _more(self) -> tuple[str, ...]:
        return tuple(PAPER_COLOURS) if self.words else ()


def on_option(function: Function) -> Function:
    """Add `--on`."""
    return click.option(
        "--on",
        "on",
        cls=Renamed,
        earlier="--paper-colour",
        setting="paper",
        type=PaperName(),
        metavar="PAPER",
        help="The paper drawn on: one of yours, white, cream, tan, grey, black, or a colour, "
        "#rrggbb or 'lab(L a b)'; your default where not given.",
    )(function)


def paper_options(function: Function) -> Function:
    """Add `--on` and `--grain`."""
    function = click.option(
        "--grain",
        "grain",
        cls=Renamed,
        earlier="--paper",
        type=GrainWord(),
        help="Grain of the paper, instead of its own, of what was learnt, or of medium.",
    )(function)
    return on_option(function)


heavy_first_option = click.option(
    "--heavy-first",
    is_flag=True,
    help="Let recipes lay the first of two pencils heavy too, which leaves the next little tooth.",
)


def _papers(ctx: click.Context) -> "tuple[Paper, ...]":
    from stopgap.library import stored_papers

    return in_library(ctx, stored_papers) or ()
