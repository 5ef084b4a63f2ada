"""The options that say which paper is drawn on, and the laying conditions on it."""

from collections.abc import Callable, Mapping
from types import MappingProxyType
from typing import TYPE_CHECKING, Any, TypeVar

import click

from stopgap.cli.options.kinds import Renamed
from stopgap.errors import UsageError
from stopgap.swatches import Tooth

if TYPE_CHECKING:
    from stopgap.library import Library
    from stopgap.swatches import LayingConditions

Function = TypeVar("Function", bound=Callable[..., Any])


GRAINS: Mapping[str, Tooth] = MappingProxyType(
    {"fine": Tooth.SMOOTH, "medium": Tooth.DRAWING, "rough": Tooth.ROUGH}
)
"""The tooth of a paper by the word that papers are sold under (common practice, no source)."""


class GrainWord(click.Choice[str]):
    """A word of GRAINS to the name of its tooth, which is read as well."""

    def __init__(self) -> None:
        super().__init__(list(GRAINS), case_sensitive=False)

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> str:
        """The name of the tooth."""
        if str(value).casefold() in list(Tooth):
            return str(value).casefold()
        return str(GRAINS[super().convert(value, param, ctx)])


def paper_options(function: Function) -> Function:
    """Add `--grain` and `--paper-colour`."""
    function = click.option(
        "--paper-colour",
        metavar="COLOUR",
        help="Colour of the paper drawn on, #rrggbb or 'lab(L a b)'; white where not given.",
    )(function)
    return click.option(
        "--grain",
        "paper",
        cls=Renamed,
        earlier="--paper",
        type=GrainWord(),
        help="Grain of the paper, instead of what was learnt or medium.",
    )(function)


heavy_first_option = click.option(
    "--heavy-first",
    is_flag=True,
    help="Let recipes lay the first of two pencils heavy too, which leaves the next little tooth.",
)


def conditions_of(
    library: "Library | None",
    paper: str | None,
    paper_colour: str | None,
    *,
    heavy_first: bool = False,
) -> "LayingConditions":
    """The laying conditions that the library knows, else the estimates, on the paper stated."""
    from dataclasses import replace

    from stopgap.library import stored_calibration
    from stopgap.planner import conditions_on

    learnt = None if library is None else stored_calibration(library)
    conditions = conditions_on(paper, paper_lab(paper_colour), learnt=learnt)
    return replace(conditions, heavy_first=heavy_first) if heavy_first else conditions


def paper_lab(text: str | None) -> tuple[float, float, float] | None:
    """The colour that `--paper-colour` states."""
    if text is None:
        return None
    from stopgap.colorimetry import parse_colour

    lab = parse_colour(text)
    if lab is None:
        raise UsageError(f"--paper-colour {text!r}: expected #rrggbb or lab(L a b).")
    L, a, b = (float(value) for value in lab)
    return L, a, b
