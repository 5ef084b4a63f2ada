"""The options that say which paper is drawn on, and the hand they make."""

from collections.abc import Callable
from typing import TYPE_CHECKING, Any, TypeVar

import click

from stopgap.errors import UsageError

if TYPE_CHECKING:
    from stopgap.library import Library
    from stopgap.swatches import Hand

Function = TypeVar("Function", bound=Callable[..., Any])

PAPERS = ("smooth", "drawing", "rough")


def paper_options(function: Function) -> Function:
    """Add `--paper` and `--paper-colour`."""
    function = click.option(
        "--paper-colour",
        metavar="COLOUR",
        help="Colour of the paper drawn on, #rrggbb or 'lab(L a b)'; white where not given.",
    )(function)
    return click.option(
        "--paper",
        type=click.Choice(PAPERS, case_sensitive=False),
        help="Tooth of the paper, instead of what was learnt or drawing paper.",
    )(function)


def hand_of(library: "Library | None", paper: str | None, paper_colour: str | None) -> "Hand":
    """The hand that was learnt, else the estimates, on the paper that the options name.

    Without a library it is the estimates, and the swatches lie on the paper named.
    """
    from dataclasses import replace

    from stopgap.colorimetry import parse_colour
    from stopgap.layering import TOOTH, TOOTH_SPREAD
    from stopgap.library import stored_hand
    from stopgap.planner import estimated_hand

    hand = (stored_hand(library) if library is not None else None) or estimated_hand()
    if paper is not None:
        hand = replace(hand, tooth=TOOTH[paper.lower()], tooth_spread=TOOTH_SPREAD)
    if paper_colour is not None:
        lab = parse_colour(paper_colour)
        if lab is None:
            raise UsageError(f"--paper-colour {paper_colour!r}: expected #rrggbb or lab(L a b).")
        L, a, b = (float(value) for value in lab)
        hand = replace(hand, paper=(L, a, b))
        if library is None:
            hand = replace(hand, swatch_paper=(L, a, b))
    return hand
