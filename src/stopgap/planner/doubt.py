"""How sure a ranking is: the uncertainty of each difference, and which candidate may be nearest.

Colours are taken as normally distributed about what was measured, each with its own covariance in
Lab and independently of the others. A difference is propagated linearly (GUM, JCGM 100:2008,
5.1.2). Which one is the smallest is asked of draws (JCGM 101:2008) of the steps from the target to
the candidates, in coordinates in which ΔE00 is a length; the target's own error moves all of them
together, and squared lengths keep the mean that was measured.
"""

import math
from collections.abc import Sequence
from random import Random
from typing import NamedTuple

import numpy as np

from stopgap.arrays import Booleans, Floats
from stopgap.difference import (
    delta_E_ciede2000,
    difference_uncertainty,
    even_covariance,
    metric_tensor,
)
from stopgap.swatches import Covariance, LaidStack, Swatch, Target

COVERED = 0.95
"""Probability with which the nearest is among those marked as tied."""

_DRAWS = 4096  # the standard error of a probability is below 0.8 per cent
_SEED = 101
_BLOCK = 2**18  # differences at a time
_SHORTEST = 1e-12  # ΔE00
_OUT_OF_REACH = 5.0  # standard deviations behind the nearest; a draw in a million comes so far


class Doubt(NamedTuple):
    """Differences (n,) in ΔE00 and their standard uncertainties (n,), and what they come from.

    `steps` (n, 3) lead from the target to each swatch in coordinates in which ΔE00 is the length;
    `own` and `shared` (n, 3, 3) turn three independent standard deviations of the swatch, and of
    the target, into the same coordinates.
    """

    differences: Floats
    sigmas: Floats
    steps: Floats
    own: Floats
    shared: Floats


Laid = Swatch | LaidStack
"""A colour with its uncertainty: a pencil's, or what is laid."""


def covariances(colours: Sequence[Laid]) -> Floats:
    """Covariance of each colour in L*, a*, b* (n, 3, 3)."""
    lab = np.array([colour.lab for colour in colours], dtype=np.float64).reshape(-1, 3)
    found = even_covariance(lab, [colour.uncertainty for colour in colours])
    for row, colour in enumerate(colours):
        measured = _measured_covariance(colour)
        if measured is not None:
            found[row] = measured
    return found


def _measured_covariance(colour: Laid) -> Covariance | None:
    if isinstance(colour, LaidStack):
        return None if colour.recipe else colour.swatches[0].covariance
    return colour.covariance


def target_covariance(target: Target) -> Floats:
    """Covariance (3, 3); a free colour is the question itself and has none."""
    return covariances([target])[0] if isinstance(target, Swatch) else np.zeros((3, 3))


def doubt_of(target: Target, colours: Sequence[Laid]) -> Doubt:
    """The differences of colours to a target with their uncertainties."""
    lab = np.array([colour.lab for colour in colours], dtype=np.float64).reshape(-1, 3)
    asked = np.asarray(target.lab, dtype=np.float64)
    of_target, of_colours = target_covariance(target), covariances(colours)
    differences = delta_E_ciede2000(asked, lab)
    to_lengths = np.swapaxes(np.linalg.cholesky(metric_tensor((asked + lab) / 2.0)), -1, -2)
    steps = np.einsum("nij,nj->ni", to_lengths, lab - asked)
    length = np.linalg.norm(steps, axis=-1, keepdims=True)
    scale = np.divide(
        differences[:, np.newaxis], length, out=np.zeros_like(length), where=length > 0.0
    )
    sigmas = difference_uncertainty(asked, of_target, lab, of_colours)
    own, shared = to_lengths @ _roots(of_colours), to_lengths @ _roots(of_target)
    stretch = _matching(sigmas, steps / np.maximum(length, _SHORTEST), own, shared)
    return Doubt(differences, sigmas, steps * scale, own * stretch, shared * stretch)


def _matching(sigmas: Floats, directions: Floats, own: Floats, shared: Floats) -> Floats:
    """Factors (n, 1, 1) that give the scatter along each step the uncertainty that is stated."""
    along = [np.einsum("ni,nij->nj", directions, roots) for roots in (own, shared)]
    scatter = np.sqrt(np.sum(np.concatenate(along, axis=-1) ** 2, axis=-1))
    factors = np.divide(sigmas, scatter, out=np.ones_like(sigmas), where=scatter > 0.0)
    shaped: Floats = factors[:, np.newaxis, np.newaxis]
    return shaped


def nearest_probabilities(doubt: Doubt) -> Floats:
    """Probability (n,) of each swatch to be the nearest to the target in ΔE00.

    By 4096 antithetic draws with a fixed seed, so the same question has the same answer.
    """
    behind = doubt.differences - doubt.differences.min()
    nearest = int(doubt.differences.argmin())
    reach = _OUT_OF_REACH * np.hypot(doubt.sigmas, doubt.sigmas[nearest])
    able = np.flatnonzero(behind <= reach)
    probabilities = np.zeros(len(doubt.differences))
    own, shared = doubt.own[able], doubt.shared[able]
    steps = doubt.steps[able][:, :, np.newaxis]
    # scatter lengthens every step; without this the vaguest colour could never be the nearest
    lengthened = np.sum(own**2 + shared**2, axis=(-2, -1))[:, np.newaxis]
    size = max(1, min(_DRAWS, _BLOCK // len(able)) // 2)
    generator = Random(_SEED)  # noqa: S311 - no secret hangs on it
    for _ in range(blocks := -(-_DRAWS // (2 * size))):
        normal = _normal(generator, (1 + len(able), 3, size))
        moved = own @ normal[1:] - shared @ normal[0]
        drawn = np.concatenate([steps + moved, steps - moved], axis=-1)
        squared = np.sum(drawn**2, axis=1) - lengthened
        is_nearest = squared == squared.min(axis=0)
        share = is_nearest / is_nearest.sum(axis=0)
        probabilities[able] += share.mean(axis=1) / blocks
    return probabilities


def _normal(generator: Random, shape: tuple[int, int, int]) -> Floats:
    """Standard normal numbers by G. E. P. Box and M. E. Muller (1958), Annals of Mathematical
    Statistics 29(2), 610-611, from the standard library: numpy.random takes 10 ms to import.
    """
    pairs = -(-math.prod(shape) // 2)
    whole = np.frombuffer(generator.randbytes(16 * pairs), dtype="<u8") >> np.uint64(11)
    radius, angle = ((whole + 0.5) * 2.0**-53).reshape(2, pairs)  # above 0 and below 1
    radius, angle = np.sqrt(-2.0 * np.log(radius)), 2.0 * np.pi * angle
    both = np.concatenate([radius * np.cos(angle), radius * np.sin(angle)])
    return both[: math.prod(shape)].reshape(shape)


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


def tied_colours(target: Target, colours: Sequence[Laid]) -> Booleans:
    """Which of the colours cannot be told apart in their nearness to the target: the rule of ≈."""
    return tied_group(nearest_probabilities(doubt_of(target, colours)))


def _roots(matrices: Floats) -> Floats:
    """R (..., 3, 3) with R R' the covariance; also where some direction has none."""
    values, vectors = np.linalg.eigh(matrices)
    roots: Floats = vectors * np.sqrt(values.clip(0.0))[..., np.newaxis, :]
    return roots
