"""Whether one range lies off another as a whole, and by how much.

Where somebody names pencils that are the same, flare and gain are fitted to the pairs
(`library.flare`). The mean of the differences in L*, a*, b* (GUM, JCGM 100:2008, 4.2) is
told beside them, its standard uncertainty being their standard deviation divided by the root of
their number. It is told from chance by Hotelling's T² (H. Hotelling 1931,
"The generalization of Student's ratio", Annals of Mathematical Statistics 2(3), 360-378), which
needs five pairs to have any power.

Where nobody does, colours that are the nearest of each other stand for them; what is found so is
kept with the library's ranges (`Library.shifts`), and found here only where there is no library. A
shift near the distance between neighbours of one set, or more, may pass unseen; sets that hold few
colours in common hide smaller ones.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from stopgap.arrays import Booleans, Floats, FloatsLike, Integers
from stopgap.defaults import JOBS
from stopgap.difference import (
    DEFAULT_METRIC,
    METRICS,
    DifferenceFunction,
    delta_E_ciede2000,
    difference_function,
)
from stopgap.errors import InputError, NothingFoundError, Remedy
from stopgap.library import StoredShift
from stopgap.library.flare import find_unpaired, fit_pairs
from stopgap.neighbours import SwatchIndex, nearest_in_batches
from stopgap.planner.materials import labs_of
from stopgap.swatches import RangeCorrection, Swatch, corrected

FEWEST_PAIRS = 5
"""Pairs that must be named to tell a shift from chance."""
SIGNIFICANT = 0.05
"""Chance of calling a shift where there is none, of pairs that were named."""


def nearest_both_ways(
    labs_1: Floats,
    labs_2: Floats,
    metric: str | DifferenceFunction,
    *,
    k: int = 1,
    jobs: int | None = JOBS,
) -> tuple[Floats, Integers, Booleans]:
    """For each of `labs_1` (n, 3) the `k` nearest of `labs_2`, and whether it is mutual.

    ΔE (n, k) and rows (n, k) of `labs_2`, nearest first, equally near ones by row; and (n,) whether
    the nearest of the nearest is the colour itself. `labs_1` are the standards both ways.
    """
    delta_E, rows = nearest_in_batches(SwatchIndex(labs_2, metric), labs_1, k, jobs=jobs)
    back_index = SwatchIndex(labs_1, _turned(metric))
    back = nearest_in_batches(back_index, labs_2, jobs=jobs)[1][:, 0]
    return delta_E, rows, back[rows[:, 0]] == np.arange(len(labs_1))


class _Turned:
    """A metric with its two colours exchanged; a class, so that it can be sent to a process."""

    def __init__(self, function: DifferenceFunction) -> None:
        self.function = function

    def __call__(self, lab_1: FloatsLike, lab_2: FloatsLike) -> Floats:
        return self.function(lab_2, lab_1)


def _turned(metric: str | DifferenceFunction) -> DifferenceFunction:
    function = difference_function(metric)
    symmetric = any(row.function is function and row.symmetric for row in METRICS.values())
    return function if symmetric else _Turned(function)


_CORRECTED = ("lab", "reflectance", "uncertainty", "shared_uncertainty")


@dataclass(frozen=True, slots=True)
class PairShift:
    """What makes the one range agree with the other.

    `offset` is the mean of what pairs differ by in L*, a*, b*, `standard_errors` are of the three
    numbers; `chance` is the probability that pairs without any shift would differ as much.
    `correction` is fitted to the pairs; `before` and `after` are the root mean square ΔE00 over
    them without and with it. Without pairs it is found by the colours nearest to each other, which
    stand in for them; `chance` is then None.
    """

    pairs: tuple[tuple[Swatch, Swatch], ...]
    offset: tuple[float, float, float]
    standard_errors: tuple[float, float, float]
    chance: float | None
    before: float
    after: float
    correction: RangeCorrection

    @property
    def significant(self) -> bool:
        """Whether chance alone is an unlikely reason."""
        return self.chance is None or self.chance < SIGNIFICANT

    @property
    def named(self) -> bool:
        """Whether somebody named the pairs."""
        return self.chance is not None


def shift_of_pairs(pairs: Sequence[tuple[Swatch, Swatch]]) -> PairShift:
    """The shift from the first to the second swatch of each pair.

    Raises
    ------
    InputError
        For fewer than five pairs, or a swatch that is named twice.
    """
    if len(pairs) < FEWEST_PAIRS:
        are = "is" if len(pairs) == 1 else "are"
        raise InputError(
            f"{len(pairs)} {are} too few to tell a shift from chance; expected {FEWEST_PAIRS} or "
            "more pencils that both ranges measured.",
            argument="pairs",
        )
    for side in zip(*pairs, strict=True):
        codes = [swatch.address for swatch in side]
        repeated = next((code for code in codes if codes.count(code) > 1), None)
        if repeated:
            raise InputError(f"{repeated} is named twice. Name each swatch once.", argument="pairs")
    ours, theirs = labs_of([one for one, _ in pairs]), labs_of([other for _, other in pairs])
    return _told(pairs, fit_pairs(ours, theirs), _chance(theirs - ours))


def shift_without_pairs(swatches: Sequence[Swatch], others: Sequence[Swatch]) -> PairShift:
    """The shift from the first to the second, found without anybody naming pairs.

    Raises
    ------
    NothingFoundError
        Where none is found that can be believed.
    """
    ours, theirs = labs_of(swatches), labs_of(others)
    found = find_unpaired(ours, theirs)
    if found is None:
        raise NothingFoundError(
            "Without pairs no shift is found that can be believed: there is none, or the two hold "
            "too few colours in common.",
            remedy=Remedy.NAME_PAIRS,
        )
    _, rows, mutual = nearest_both_ways(found.lab(ours), theirs, DEFAULT_METRIC)
    pairs = [(swatches[row], others[rows[row, 0]]) for row in np.flatnonzero(mutual).tolist()]
    return _told(pairs, found, None)


def lying_between(
    swatches: Sequence[Swatch], others: Sequence[Swatch], known: Sequence[StoredShift] | None
) -> RangeCorrection | None:
    """What makes of `swatches` colours measured as `others` are; None where none is believed.

    Where the library's findings are `known` they are believed, else it is sought here.
    """
    if known is None:
        return find_unpaired(labs_of(swatches), labs_of(others))
    return _known_between(swatches[0].range, others[0].range, known)


def _known_between(name: str, other: str, known: Sequence[StoredShift]) -> RangeCorrection | None:
    for shift in known:
        if (shift.range, shift.reference) == (name, other):
            return shift.correction
        if (shift.reference, shift.range) == (name, other):
            return shift.correction.reversed
    return None


def measured_as(
    swatches: Sequence[Swatch], reference: str, known: Sequence[StoredShift]
) -> tuple[Swatch, ...]:
    """The swatches with those corrected that are known to be measured otherwise than a range."""
    names = {swatch.range for swatch in swatches}
    between = {name: _known_between(name, reference, known) for name in names}
    return tuple(_corrected(swatch, between[swatch.range]) for swatch in swatches)


def measured_alike(
    swatches: Sequence[Swatch], correction: RangeCorrection | None
) -> tuple[Swatch, ...]:
    """The swatches corrected, with their spectra and their doubt."""
    return tuple(_corrected(swatch, correction) for swatch in swatches)


def _corrected(swatch: Swatch, correction: RangeCorrection | None) -> Swatch:
    if correction is None:
        return swatch
    stated = {name: getattr(swatch, name) for name in _CORRECTED}
    beneath = swatch.layered_as and _corrected(swatch.layered_as, correction)
    return replace(swatch, **corrected(stated, [correction]), layered_as=beneath)


def _told(
    pairs: Sequence[tuple[Swatch, Swatch]], correction: RangeCorrection, chance: float | None
) -> PairShift:
    ours, theirs = labs_of([one for one, _ in pairs]), labs_of([other for _, other in pairs])
    steps = theirs - ours

    def root_mean_square(labs: Floats) -> float:
        return float(np.sqrt(np.mean(delta_E_ciede2000(labs, theirs) ** 2)))

    return PairShift(
        pairs=tuple(pairs),
        offset=_triple(steps.mean(axis=0)),
        standard_errors=_triple(steps.std(axis=0, ddof=1) / np.sqrt(len(steps))),
        chance=chance,
        before=root_mean_square(ours),
        after=root_mean_square(correction.lab(ours)),
        correction=correction,
    )


def _chance(steps: np.ndarray) -> float:
    """Probability of such a mean under no shift: Hotelling's T² as an F of (3, n - 3) degrees."""
    from scipy.special import fdtrc  # only here, and slow to import

    count = len(steps)
    covariance = np.cov(steps, rowvar=False) + 1e-12 * np.eye(3)
    mean = steps.mean(axis=0)
    squared = count * mean @ np.linalg.solve(covariance, mean)
    return float(fdtrc(3, count - 3, squared * (count - 3) / (3 * (count - 1))))


def _triple(values: np.ndarray) -> tuple[float, float, float]:
    L, a, b = (float(value) for value in values)
    return (L, a, b)
