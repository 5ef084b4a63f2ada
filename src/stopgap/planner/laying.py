"""Layers as somebody lays them: under which conditions, what they look like, what samples teach."""

from collections.abc import Sequence
from dataclasses import replace
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from stopgap.layering.estimates import DEFAULT_TOOTH, PRESSURES, SPREADS, TOOTH, TRAPPING
from stopgap.swatches import LayingConditions, Stack, as_layered

if TYPE_CHECKING:
    from stopgap.layering import Calibration, Layered, LayeredSample
    from stopgap.library import LayeredRow

Lab = tuple[float, float, float]


class Learnt(NamedTuple):
    """What layered swatches taught: the laying conditions, how well they fit, and the swatches."""

    conditions: LayingConditions
    calibration: "Calibration"
    samples: "tuple[LayeredSample, ...]"


def estimated_conditions() -> LayingConditions:
    """Laying conditions before any calibration: this project's estimates on white drawing paper."""
    return LayingConditions(
        tooth=TOOTH[DEFAULT_TOOTH], trapping=TRAPPING, spreads=SPREADS, loads=PRESSURES
    )


def conditions_on(
    paper: str | None = None,
    paper_lab: Lab | None = None,
    *,
    learnt: LayingConditions | None = None,
    swatches_too: bool = False,
) -> LayingConditions:
    """The laying conditions that were learnt, else the estimates, on the paper named.

    `paper` is a row of TOOTH, in any case, instead of what was learnt of another's tooth and
    trapping; `paper_lab` is the colour of the paper drawn on, on which the swatches lie as well
    where `swatches_too`.
    """
    conditions = learnt or estimated_conditions()
    if paper is not None:
        spreads = SPREADS._replace(load=conditions.spreads.load)
        conditions = replace(
            conditions, tooth=TOOTH[paper.lower()], trapping=TRAPPING, spreads=spreads
        )
    if paper_lab is None:
        return conditions
    swatch_paper = paper_lab if swatches_too else conditions.swatch_paper
    return replace(conditions, paper=paper_lab, swatch_paper=swatch_paper)


def lay(stack: Stack, conditions: LayingConditions) -> "Layered":
    """What a stack looks like, laid under those conditions; raises as `layering.layered` does.

    One pencil laid as in its swatch has the colour that it has on that paper, as surely.
    """
    from stopgap.layering import PREDICTED, Uncertainty, layered

    found = layered(
        [as_layered(swatch) for swatch in stack.swatches],
        conditions.paper,
        stack.pressures,
        loads=conditions.loads,
        tooth=conditions.tooth,
        trapping=conditions.trapping,
        opacity=conditions.opacity,
        swatch_paper_lab=conditions.swatch_paper,
        spreads=conditions.spreads,
    )
    found = replace(found, stack=stack)
    alone = stack[0].swatch
    elsewhere = alone.layered_as is None and conditions.paper != conditions.swatch_paper
    if not stack.single or elsewhere:
        return found
    none = np.zeros(())
    sure = Uncertainty(np.array(alone.total_uncertainty), none, none, none, none, np.zeros(1))
    return replace(
        found,
        lab=alone.lab,
        reversed_lab=alone.lab,
        cautions=tuple(said for said in found.cautions if alone.layered_as or said != PREDICTED),
        typical=float(sure.typical),
        ninety=float(sure.ninety),
    )


def learn_conditions(rows: "Sequence[LayeredRow]", start: LayingConditions) -> Learnt:
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
        trapping=start.trapping,
        pressures=start.loads,
    )
    conditions = replace(
        start,
        tooth=found.tooth,
        trapping=found.trapping,
        spreads=found.spreads,
        loads=found.pressures,
        opacity=found.opacity,
        samples=len(samples),
    )
    return Learnt(conditions, found, samples)
