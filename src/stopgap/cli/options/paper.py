"""The options that say which paper is drawn on, and the laying conditions on it."""

from collections.abc import Callable
from typing import TYPE_CHECKING, Any, TypeVar

import click

from stopgap.cli.options.kinds import words
from stopgap.errors import UsageError
from stopgap.swatches import Tooth

if TYPE_CHECKING:
    from stopgap.library import Library
    from stopgap.swatches import LayingConditions

Function = TypeVar("Function", bound=Callable[..., Any])


def paper_options(function: Function) -> Function:
    """Add `--paper` and `--paper-colour`."""
    function = click.option(
        "--paper-colour",
        metavar="COLOUR",
        help="Colour of the paper drawn on, #rrggbb or 'lab(L a b)'; white where not given.",
    )(function)
    return click.option(
        "--paper",
        type=words(Tooth),
        help="Tooth of the paper, instead of what was learnt or drawing paper.",
    )(function)


def conditions_of(
    library: "Library | None", paper: str | None, paper_colour: str | None
) -> "LayingConditions":
    """The laying conditions that the library knows, else the estimates, on the paper stated."""
    from stopgap.library import stored_calibration
    from stopgap.planner import conditions_on

    learnt = None if library is None else stored_calibration(library)
    return conditions_on(paper, paper_lab(paper_colour), learnt=learnt)


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
