"""A systematic difference between two ranges' measurements, from pencils that are the same.

The shift is the mean of the differences in L*, a*, b* over the pairs (GUM, JCGM 100:2008, 4.2); its
standard uncertainty is their standard deviation divided by the root of their number. It is told
from chance by Hotelling's T² (H. Hotelling 1931, "The generalization of Student's ratio", Annals of
Mathematical Statistics 2(3), 360-378), which needs five pairs to have any power.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from stopgap.difference import delta_E_ciede2000
from stopgap.errors import InputError
from stopgap.swatches import Swatch

FEWEST_PAIRS = 5
SIGNIFICANT = 0.05


@dataclass(frozen=True, slots=True)
class PairShift:
    """What has to be added to L*, a*, b* of the one range to agree with the other on average.

    `standard_errors` are of the three numbers; `chance` is the probability that pairs without any
    shift would differ as much; `before` and `after` are the root mean square ΔE00 over the pairs
    without and with the shift, which `after` was fitted to.
    """

    pairs: tuple[tuple[Swatch, Swatch], ...]
    offset: tuple[float, float, float]
    standard_errors: tuple[float, float, float]
    chance: float
    before: float
    after: float

    @property
    def significant(self) -> bool:
        """Whether chance alone is an unlikely reason."""
        return self.chance < SIGNIFICANT


def shift_of_pairs(pairs: Sequence[tuple[Swatch, Swatch]]) -> PairShift:
    """The shift from the first to the second swatch of each pair.

    Raises
    ------
    InputError
        For fewer than five pairs, or a swatch that is named twice.
    """
    if len(pairs) < FEWEST_PAIRS:
        raise InputError(
            f"{len(pairs)} are too few to tell a shift from chance; expected {FEWEST_PAIRS} or "
            "more pencils that both ranges measured.",
            argument="pairs",
        )
    for side in zip(*pairs, strict=True):
        codes = [swatch.address for swatch in side]
        repeated = next((code for code in codes if codes.count(code) > 1), None)
        if repeated:
            raise InputError(f"{repeated} is named twice. Name each swatch once.", argument="pairs")
    ours = np.array([one.lab for one, _ in pairs])
    theirs = np.array([other.lab for _, other in pairs])
    steps = theirs - ours
    mean = steps.mean(axis=0)
    errors = steps.std(axis=0, ddof=1) / np.sqrt(len(steps))

    def root_mean_square(moved: bool) -> float:
        lab = ours + mean if moved else ours
        return float(np.sqrt(np.mean(delta_E_ciede2000(lab, theirs) ** 2)))

    return PairShift(
        pairs=tuple(pairs),
        offset=_triple(mean),
        standard_errors=_triple(errors),
        chance=_chance(steps),
        before=root_mean_square(moved=False),
        after=root_mean_square(moved=True),
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
