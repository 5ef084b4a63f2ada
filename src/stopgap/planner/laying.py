"""Layers as somebody lays them: on what and how, what they look like, what samples teach."""

from collections.abc import Mapping, Sequence
from dataclasses import replace
from functools import cached_property
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from stopgap.colorimetry import lab_text
from stopgap.difference import GRADES, delta_E
from stopgap.errors import Note, NothingFoundError, Remedy
from stopgap.layering.estimates import DEFAULT_TOOTH, PRESSURES, SPREADS, TOOTH, TRAPPING
from stopgap.library import NameIndex
from stopgap.swatches import (
    DEFAULT_PAPER_LAB,
    ColourRange,
    Lab,
    LayingConditions,
    Paper,
    Pencil,
    Selection,
    Stack,
    Swatch,
    as_layered,
    names_notes,
    used_up_notes,
)

if TYPE_CHECKING:
    from stopgap.layering import Calibration, Layered, LayeredSample
    from stopgap.library import LayeredRow


class _Ground(NamedTuple):
    conditions: LayingConditions
    swatches: tuple[Swatch, ...]
    paper: Paper | None = None
    predicted: frozenset[str] = frozenset()
    notes: tuple[Note, ...] = ()
    uncoloured: tuple[Swatch, ...] = ()


class Ground(_Ground):
    """The paper drawn on, how pencils are laid on it, and what each looks like there.

    `paper` is None where nobody named one. Of the pencils whose address is in `predicted` no swatch
    lies on it; `notes` say so. `uncoloured` are those that have no colour yet, or were never
    swatched dry: what they look like cannot be told.
    """

    @property
    def on(self) -> str:
        """What the paper is called, empty where none was named."""
        return "" if self.paper is None else self.paper.name

    def among(self, selection: Selection) -> "Ground":
        """The same for an answer about a selection: only those that it admits are missed without
        a colour, and it is told what its rule of lightfastness leaves out.
        """
        notes = (*self.notes, *selection.rule_notes(self.swatches))
        return self._replace(uncoloured=selection.of(self.uncoloured), notes=notes)

    def using(self, selection: Selection) -> "Ground":
        """The same for an answer that lays what is owned: it does without what is used up."""
        wide = selection._replace(owned=False, include_discontinued=True)
        gone = used_up_notes(wide.of(self.swatches))
        ruled = self.among(selection)
        return ruled._replace(notes=(*ruled.notes, *gone))

    @cached_property
    def known(self) -> NameIndex:
        """What pencils are called, those without a colour among them."""
        return NameIndex(self.swatches, self.uncoloured)

    @property
    def answering(self) -> NameIndex:
        """The same for a question; NothingFoundError where no pencil has a colour yet."""
        if self.uncoloured and not self.swatches:
            raise NothingFoundError("No pencil has a colour yet.", remedy=Remedy.GIVE_COLOURS)
        return self.known

    @property
    def remarks(self) -> tuple[Note, ...]:
        """What to say beside an answer: whose colour is predicted, and how many have none."""
        return (*self.notes, *names_notes(self.uncoloured))

    def range(self, found: ColourRange, selection: Selection | None = None) -> ColourRange:
        """A range of the same library, each pencil of one swatch, its colour on this paper; only
        those of `selection`, NothingFoundError where it leaves none.
        """
        its = tuple(swatch for swatch in self.swatches if swatch.range == found.name)
        left = its if selection is None else selection.of(its)
        if its and not left:
            raise NothingFoundError(f"No pencil of {found.name} is rated as asked. Ask for less.")
        return found._replace(pencils=tuple(Pencil((swatch,)) for swatch in left))


class Learnt(NamedTuple):
    """What layered swatches taught: the laying conditions, how well they fit, and the swatches."""

    conditions: LayingConditions
    calibration: "Calibration"
    samples: "tuple[LayeredSample, ...]"


def predicted_notes(paper: Paper, predicted: Sequence[str]) -> tuple[Note, ...]:
    """Whose colour on a paper is a prediction, and what the paper's own colour comes from."""
    if not predicted:
        return ()
    kept = f"{len(predicted)} pencils" if len(predicted) > 1 else predicted[0]
    of = "" if paper.measured else ", a value of stopgap's for the word"
    return (
        Note(
            f"Predicted for {kept}, never swatched on {paper.name} ({lab_text(paper.lab, 0)}"
            f"{of}): try them on a scrap of it.",
            plain=f"Predicted for {kept}, never swatched on {paper.name}: try them on a scrap of "
            "it.",
        ),
    )


def apart_notes(colours: Sequence[Swatch], bare: Mapping[str, Lab]) -> tuple[Note, ...]:
    """Which two ranges of them lie on papers that are no longer close, the farthest apart; `bare`
    are the bare papers of ranges. What nobody says is taken to be white.
    """
    if not bare:
        return ()
    ranges = dict.fromkeys(swatch.range for swatch in colours if not swatch.paper)
    its = {name: bare.get(name, DEFAULT_PAPER_LAB) for name in ranges}
    between = delta_E([*its.values()], np.array([*its.values()])[:, np.newaxis]) if its else None
    if between is None or between.max() <= GRADES["close"]:
        return ()
    row, column = sorted(divmod(int(between.argmax()), len(its)))
    one, other = ([*its][place] for place in (row, column))
    shown = [lab_text(its[name], 0) for name in (one, other)]
    said = "so that they do not look so beside each other."
    return (
        Note(
            f"{one} was swatched on {shown[0]}, {other} on {shown[1]}, {said}",
            remedy=Remedy.NAME_PAPER,
            plain=f"{one} was swatched on another paper than {other}, {said}",
        ),
    )


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
    found = found._replace(stack=stack)
    alone = stack[0].swatch
    elsewhere = alone.layered_as is None and conditions.paper != conditions.swatch_paper
    if not stack.single or elsewhere:
        return found
    none = np.zeros(())
    sigma, nothing = np.array(alone.total_uncertainty), (np.zeros(1), np.zeros((1, 3)))
    sure = Uncertainty(sigma, none, none, none, none, *nothing)
    return found._replace(
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
