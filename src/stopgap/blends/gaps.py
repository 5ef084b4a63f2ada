"""Where a blend breaks, what could carry it across, and which pencils would close it."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from stopgap.arrays import Floats
from stopgap.blends.blending import Blend, Point
from stopgap.blends.chains import chain_within
from stopgap.blends.ways import between, way_through
from stopgap.difference import delta_E
from stopgap.difference.formulas.ciede2000 import weighted_components
from stopgap.naming import iscc_nbs
from stopgap.swatches import Swatch

Lab = tuple[float, float, float]

Middle = Callable[[Lab], tuple[Lab, float, object] | None]
"""A recipe for a colour: its predicted Lab, its ΔE00 from the colour asked for, and the recipe.

None where no recipe comes near enough.
"""

_LAYERED_HURTS = 0.5  # a gap that can be layered across hurts half as much: this project's choice
_WORTH_A_WORD = 0.3  # share of the squared step
_MOST_LAYERED = 4  # colours in a row that one would layer by hand
_PROGRESS = 1e-6


@dataclass(frozen=True, slots=True)
class Crossing:
    """A gap layered across: the recipes in order, their colours, and the ΔE00 steps over them."""

    recipes: tuple[object, ...]
    lab: tuple[Lab, ...]
    steps: tuple[float, ...]


@dataclass(frozen=True, slots=True)
class Filler:
    """One pencil in the gap: its two steps, and how many of them are still over the limit."""

    swatch: Swatch
    steps: tuple[float, float]
    remaining: int


@dataclass(frozen=True, slots=True)
class Gap:
    """A step over the limit between two neighbours of a blend.

    `place` counts the steps of the blend from 0. `missing` is the colour halfway across and
    `missing_name` its ISCC-NBS name; `words` say what kind of colour is missing. `crossing` is the
    way to layer across, or None. `fillers` are single pencils, best first; `closing` is the
    smallest set of pencils that leaves no step over the limit, or, where `remaining` is not 0, the
    set that leaves the smallest largest step. `hurt` is what gaps are sorted by.
    """

    blend: str
    place: int
    after: Point
    before: Point
    step: float
    limit: float
    missing: Lab
    missing_name: str
    words: str
    crossing: Crossing | None
    fillers: tuple[Filler, ...]
    closing: tuple[Swatch, ...]
    remaining: int

    @property
    def layered(self) -> bool:
        """Whether it can be layered across."""
        return self.crossing is not None

    @property
    def hurt(self) -> float:
        """How far the step is over the limit, halved where it can be layered across."""
        return (self.step - self.limit) * (_LAYERED_HURTS if self.layered else 1.0)


def find_gaps(
    blends: Sequence[Blend],
    candidates: Sequence[Swatch] = (),
    *,
    middle: Middle | None = None,
    most_fillers: int = 5,
) -> tuple[Gap, ...]:
    """Every step over its blend's limit, those that hurt most first.

    Parameters
    ----------
    blends
        Chains with their own limits, from `blend` or `blend_of_family`.
    candidates
        Pencils that could be bought; the caller leaves out what is owned or not to be offered.
    middle
        Recipes for colours, with what is owned; None to leave layering out.
    most_fillers
        How many single pencils to name for a gap.
    """
    gaps = [
        _gap(blend, place, candidates, middle, most_fillers)
        for blend in blends
        for place in blend.over_limit
    ]
    return tuple(sorted(gaps, key=lambda gap: -gap.hurt))


def direction_words(lab_1: Lab, lab_2: Lab) -> str:
    """What kind of colour is missing between two: by lightness, hue or chroma, the most first."""
    lightness, chroma, hue, _ = (float(part) for part in weighted_components(lab_1, lab_2))
    squares = np.array([lightness, hue, chroma]) ** 2
    words = ("a mid-tone", "a hue between", "a duller one" if chroma < 0 else "a more vivid one")
    shares = squares / max(squares.sum(), 1e-12)
    order = np.argsort(-shares, kind="stable")
    chosen = [words[row] for row in order if shares[row] >= _WORTH_A_WORD]
    return "missing " + " and ".join(chosen or [words[order[0]]])


def _gap(
    blend: Blend,
    place: int,
    candidates: Sequence[Swatch],
    middle: Middle | None,
    most_fillers: int,
) -> Gap:
    after, before = blend.points[place], blend.points[place + 1]
    missing = _halfway(after.lab, before.lab)
    used = {swatch.address for swatch in blend.swatches}
    unused = [swatch for swatch in candidates if swatch.address not in used]
    offered = _useful(after.lab, before.lab, unused)
    closing, remaining = _closing(after.lab, before.lab, offered, blend.limit)
    return Gap(
        blend=blend.name,
        place=place,
        after=after,
        before=before,
        step=blend.steps[place],
        limit=blend.limit,
        missing=missing,
        missing_name=str(iscc_nbs(missing)),
        words=direction_words(after.lab, before.lab),
        crossing=None if middle is None else _crossing(after.lab, before.lab, middle, blend.limit),
        fillers=_fillers(after.lab, before.lab, offered, blend.limit)[:most_fillers],
        closing=closing,
        remaining=remaining,
    )


def _halfway(lab_1: Lab, lab_2: Lab) -> Lab:
    L, a, b = between(lab_1, lab_2, [0.5])[0].tolist()
    return L, a, b


def _useful(after: Lab, before: Lab, candidates: Sequence[Swatch]) -> list[Swatch]:
    """The pencils nearer to either end of the gap than the ends are to each other."""
    if not candidates:
        return []
    lab = np.array([swatch.lab for swatch in candidates])
    largest = np.maximum(delta_E(after, lab), delta_E(lab, before))
    return [candidates[row] for row in np.flatnonzero(largest < delta_E(after, before)).tolist()]


def _fillers(
    after: Lab, before: Lab, offered: Sequence[Swatch], limit: float
) -> tuple[Filler, ...]:
    """Single pencils, those first that leave the smallest largest step."""
    fillers = []
    for swatch in offered:
        steps = (float(delta_E(after, swatch.lab)), float(delta_E(swatch.lab, before)))
        fillers.append(Filler(swatch, steps, sum(step > limit for step in steps)))
    return tuple(sorted(fillers, key=lambda filler: max(filler.steps)))


def _closing(
    after: Lab, before: Lab, offered: Sequence[Swatch], limit: float
) -> tuple[tuple[Swatch, ...], int]:
    """The fewest pencils that close the gap, else those that leave the smallest largest step."""
    if not offered:
        return (), 1
    progress, _ = way_through([after, before]).locate([swatch.lab for swatch in offered])
    inside = np.flatnonzero((progress > _PROGRESS) & (progress < 1.0 - _PROGRESS))
    rows = inside[np.argsort(progress[inside], kind="stable")]
    lab = np.array([after, *(offered[row].lab for row in rows.tolist()), before])
    along = np.concatenate([[0.0], progress[rows], [1.0]])
    ahead = along[None, :] - along[:, None] > _PROGRESS
    steps = np.where(ahead, delta_E(lab[:, None], lab[None, :]), np.inf)
    chain = chain_within(steps, limit)
    remaining = sum(bool(steps[link] > limit) for link in pairwise(chain))
    return tuple(offered[int(rows[place - 1])] for place in chain[1:-1]), remaining


def _crossing(after: Lab, before: Lab, middle: Middle, limit: float) -> Crossing | None:
    """Recipes that divide the gap into steps within the limit, as few as will do."""
    step = float(delta_E(after, before))
    fewest = max(int(np.ceil(step / limit)) - 1, 1)
    for count in range(fewest, max(fewest + 1, _MOST_LAYERED) + 1):
        targets: Floats = between(after, before, np.arange(1, count + 1) / (count + 1.0))
        found = [middle((L, a, b)) for L, a, b in targets.tolist()]
        mixed = [each for each in found if each is not None]
        if len(mixed) < count:
            continue
        colours = np.array([after, *(lab for lab, _, _ in mixed), before])
        steps = delta_E(colours[:-1], colours[1:])
        if (steps <= limit).all():
            return Crossing(
                tuple(recipe for _, _, recipe in mixed),
                tuple(lab for lab, _, _ in mixed),
                tuple(steps.tolist()),
            )
    return None
