"""Layers as somebody lays them: under which conditions, what they look like, what samples teach."""

from collections.abc import Sequence
from dataclasses import replace
from typing import TYPE_CHECKING, NamedTuple

from stopgap.layering.conditions import TOOTH, TOOTH_SPREAD
from stopgap.planner.recipes.conditions import estimated_hand
from stopgap.swatches import LayingConditions, Stack

if TYPE_CHECKING:
    from stopgap.layering import Calibration, Layered, LayeredSample
    from stopgap.library import LayeredRow

Lab = tuple[float, float, float]


class Learnt(NamedTuple):
    """What layered swatches taught: the hand with it, how well it fits, and the swatches."""

    hand: LayingConditions
    calibration: "Calibration"
    samples: "tuple[LayeredSample, ...]"


def hand_on(
    paper: str | None = None,
    paper_lab: Lab | None = None,
    *,
    learnt: LayingConditions | None = None,
    swatches_too: bool = False,
) -> LayingConditions:
    """The hand that was learnt, else the estimates, on the paper named.

    `paper` is a row of TOOTH, in any case, instead of the tooth that was learnt; `paper_lab` is the
    colour of the paper drawn on, on which the swatches lie as well where `swatches_too`.
    """
    hand = learnt or estimated_hand()
    if paper is not None:
        hand = replace(hand, tooth=TOOTH[paper.lower()], tooth_spread=TOOTH_SPREAD)
    if paper_lab is None:
        return hand
    swatch_paper = paper_lab if swatches_too else hand.swatch_paper
    return replace(hand, paper=paper_lab, swatch_paper=swatch_paper)


def lay(stack: Stack, hand: LayingConditions) -> "Layered":
    """What a stack looks like, laid by that hand; raises as `layering.layered` does."""
    from stopgap.layering import layered

    return layered(
        stack.swatches,
        hand.paper,
        stack.pressures,
        loads=hand.loads,
        tooth=hand.tooth,
        opacity=hand.opacity,
        swatch_paper_lab=hand.swatch_paper,
        tooth_spread=hand.tooth_spread,
        load_spread=hand.load_spread,
    )


def learn_hand(rows: "Sequence[LayeredRow]", start: LayingConditions) -> Learnt:
    """Tooth, pressures and opacity from layered swatches that were laid on the paper of `start`.

    Raises
    ------
    InputError
        As `layering.calibrate` does.
    """
    from stopgap.layering import LayeredSample, calibrate

    samples = tuple(LayeredSample(row.stack, row.lab, row.over) for row in rows)
    found = calibrate(
        samples,
        start.paper,
        swatch_paper_lab=start.swatch_paper,
        tooth=start.tooth,
        pressures=start.loads,
    )
    hand = replace(
        start,
        tooth=found.tooth,
        tooth_spread=found.tooth_spread,
        load_spread=found.load_spread,
        loads=found.pressures,
        opacity=found.opacity,
        samples=len(samples),
    )
    return Learnt(hand, found, samples)
