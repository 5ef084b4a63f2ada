"""How sure a ranking is: the uncertainty of each difference, and which candidate may be nearest.

Colours are taken as normally distributed about what was measured, each with its own covariance in
Lab and independently of the others. Differences are propagated linearly (GUM, JCGM 100:2008, 5.1.2
and, since the target's own error moves all of them together, 5.2.2); which one is the smallest is
asked of draws from their joint distribution. Where a difference is smaller than its uncertainty
the distribution is no longer normal, and the probabilities are a guide.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from stopgap.arrays import Booleans, Floats
from stopgap.difference import (
    delta_E_ciede2000,
    difference_gradient,
    difference_uncertainty,
    even_covariance,
)
from stopgap.swatches import Swatch, Target

CONFIDENCE = 1.645
"""Standard deviations of a one-sided bound that holds in 95 of 100 cases."""

COVERED = 0.95
"""Probability with which the nearest is among those marked as tied."""

_DRAWS = 4096  # the standard error of a probability is below 0.8 per cent
_SEED = 101
_BLOCK = 2**18  # differences at a time
_OUT_OF_REACH = 8.0  # standard deviations behind the nearest; no draw comes that far


@dataclass(frozen=True, slots=True)
class Doubt:
    """Differences (n,) in ΔE00, their standard uncertainties (n,), and how they hang together.

    `shared` (n, 3) is how each difference moves with one standard deviation of the target along
    three independent directions.
    """

    differences: Floats
    sigmas: Floats
    shared: Floats

    @property
    def alone(self) -> Floats:
        """The standard uncertainty (n,) that each difference has from its own swatch."""
        rest = self.sigmas**2 - np.sum(self.shared**2, axis=-1)
        alone: Floats = np.sqrt(rest.clip(0.0))
        return alone


def covariances(swatches: Sequence[Swatch]) -> Floats:
    """Covariance of each colour in L*, a*, b* (n, 3, 3)."""
    lab = np.array([swatch.lab for swatch in swatches], dtype=np.float64).reshape(-1, 3)
    found = even_covariance(lab, [swatch.uncertainty for swatch in swatches])
    for row, swatch in enumerate(swatches):
        if swatch.covariance is not None:
            found[row] = swatch.covariance
    return found


def target_covariance(target: Target) -> Floats:
    """Covariance (3, 3); a free colour is the question itself and has none."""
    return covariances([target])[0] if isinstance(target, Swatch) else np.zeros((3, 3))


def doubt_of(target: Target, swatches: Sequence[Swatch]) -> Doubt:
    """The differences of swatches to a target with their uncertainties."""
    lab = np.array([swatch.lab for swatch in swatches], dtype=np.float64).reshape(-1, 3)
    own, theirs = target_covariance(target), covariances(swatches)
    sigmas = difference_uncertainty(target.lab, own, lab, theirs)
    by_target, _ = difference_gradient(target.lab, lab)
    return Doubt(delta_E_ciede2000(target.lab, lab), sigmas, by_target @ _root(own))


def nearest_probabilities(doubt: Doubt) -> Floats:
    """Probability (n,) of each swatch to be the nearest to the target in ΔE00.

    By 4096 antithetic draws with a fixed seed, so the same question has the same answer.
    """
    behind = doubt.differences - doubt.differences.min()
    nearest = int(doubt.differences.argmin())
    reach = _OUT_OF_REACH * np.hypot(doubt.sigmas, doubt.sigmas[nearest])
    able = np.flatnonzero(behind <= reach)
    probabilities = np.zeros(len(doubt.differences))
    shared, alone = doubt.shared[able], doubt.alone[able]
    size = max(1, min(_DRAWS, _BLOCK // len(able)) // 2)
    generator = np.random.default_rng(_SEED)
    for _ in range(blocks := -(-_DRAWS // (2 * size))):
        normal = generator.standard_normal((size, 3 + len(able)))
        moved = normal[:, :3] @ shared.T + normal[:, 3:] * alone
        drawn = doubt.differences[able] + np.concatenate([moved, -moved])
        is_nearest = drawn == drawn.min(axis=1, keepdims=True)
        share = is_nearest / is_nearest.sum(axis=1, keepdims=True)
        probabilities[able] += share.mean(axis=0) / blocks
    return probabilities


def tied_group(probabilities: Floats) -> Booleans:
    """The fewest candidates that hold the nearest with the probability COVERED; none if one does.

    For two candidates that is: their differences lie within 1.645 standard deviations.
    """
    order = np.argsort(-probabilities, kind="stable")
    reached = np.cumsum(probabilities[order])
    count = int(np.searchsorted(reached, COVERED - 1e-12)) + 1
    tied = np.zeros(len(probabilities), dtype=np.bool_)
    if count > 1:
        tied[order[:count]] = True
    return tied


def _root(matrix: Floats) -> Floats:
    """R (3, 3) with R R' the covariance; also where some direction has none."""
    values, vectors = np.linalg.eigh(matrix)
    root: Floats = vectors * np.sqrt(values.clip(0.0))
    return root
