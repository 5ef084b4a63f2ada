"""How sure a ranking is: the uncertainty of each difference, and which candidate may be nearest.

Colours are taken as normally distributed about what was measured, each with its own covariance in
Lab and independently of the others. What a target and a colour share, being of one scan or of one
range read in one manner, or predicted on one paper, drops out of their difference; between others
it counts with the rest. A difference is propagated linearly (GUM, JCGM 100:2008, 5.1.2). Which one
is the smallest is asked of draws (JCGM 101:2008) of the steps from the target to the candidates, in
coordinates in which ΔE00 is a length; the target's own error moves all of them together, and
squared lengths keep the mean that was measured.
"""

import math
from collections.abc import Sequence
from random import Random
from typing import NamedTuple

import numpy as np

from stopgap.arrays import Booleans, Floats, Integers
from stopgap.difference import (
    delta_E_ciede2000,
    difference_uncertainty,
    even_covariance,
    metric_tensor,
)
from stopgap.swatches import FreeColour, LaidStack, Swatch, Target

COVERED = 0.95
"""Probability with which the nearest is among those marked as tied."""

_DRAWS = 4096  # the standard error of a probability is below 0.8 per cent
_SEED = 101
_BLOCK = 2**18  # differences at a time
_SHORTEST = 1e-12  # ΔE00
_OUT_OF_REACH = 5.0  # standard deviations behind the nearest; a draw in a million comes so far


class Doubt(NamedTuple):
    """Differences (..., n) in ΔE00 and their standard uncertainties, and what they come from.

    `steps` (..., n, 3) lead from a target to each of its n colours in coordinates in which ΔE00 is
    the length; `own` and `shared` (..., n, 3, 3) turn three independent standard deviations of the
    colour, and of the target, into the same coordinates.
    """

    differences: Floats
    sigmas: Floats
    steps: Floats
    own: Floats
    shared: Floats

    def of(self, rows: Integers, columns: Integers) -> "Doubt":
        """That of the targets in `rows` (r, 1) about their colours in `columns` (r, k)."""
        return Doubt(*(each[rows, columns] for each in self))


Laid = Swatch | LaidStack
"""A colour with its uncertainty: a pencil's, or what is laid."""


class _Shared(NamedTuple):
    """Covariances (n, 3, 3) that each colour has in common with the others of its group."""

    covariances: Floats
    groups: Sequence[object]


class _Parts(NamedTuple):
    """Covariances (n, 3, 3) in L*, a*, b*: a colour's own, and what it shares in two groups."""

    own: Floats
    shared: tuple[_Shared, _Shared]


def _parts(colours: Sequence[Laid | FreeColour]) -> _Parts:
    """A free colour is the question itself and has no doubt; a recipe's is all its own."""
    lab = np.array([colour.lab for colour in colours], dtype=np.float64).reshape(-1, 3)
    pencils = [_pencil(colour) for colour in colours]
    own, measured, predicted = (
        even_covariance(lab, sizes)
        for sizes in zip(
            *(
                (pencil.uncertainty, pencil.shared_uncertainty, pencil.ground_uncertainty)
                if pencil
                else (0.0 if isinstance(colour, FreeColour) else colour.uncertainty, 0.0, 0.0)
                for colour, pencil in zip(colours, pencils, strict=True)
            ),
            strict=True,
        )
    )
    for row, pencil in enumerate(pencils):
        if pencil and pencil.covariance is not None:
            own[row] = pencil.covariance
    errors = _Shared(measured, [pencil and pencil.error_group for pencil in pencils])
    grounds = _Shared(predicted, [pencil and pencil.ground_group for pencil in pencils])
    return _Parts(own, (errors, grounds))


def _pencil(colour: Laid | FreeColour) -> Swatch | None:
    """The pencil as in its swatch, if it is one."""
    if isinstance(colour, LaidStack):
        return None if colour.recipe else colour.swatches[0]
    return colour if isinstance(colour, Swatch) else None


def doubt_of(target: Target, colours: Sequence[Laid]) -> Doubt:
    """The differences (n,) of colours to a target with their uncertainties."""
    return Doubt(*(each[0] for each in doubts_of([target], [colours])))


def doubts_of(targets: Sequence[Target], colours: Sequence[Sequence[Laid]]) -> Doubt:
    """The differences (m, n) of n colours of its own to each of m targets, one at least."""
    several = [colour for group in colours for colour in group]
    lab = np.array([colour.lab for colour in several], dtype=np.float64)
    lab = lab.reshape(len(targets), -1, 3)
    ours, theirs = _parts(several), _parts(targets)
    of_colours, of_targets = ours.own.reshape(*lab.shape, 3), theirs.own[:, np.newaxis]
    for of_ours, of_theirs in zip(ours.shared, theirs.shared, strict=True):
        apart = _of_other_groups(of_ours, of_theirs).reshape(lab.shape[:2])
        counted = apart[..., np.newaxis, np.newaxis]
        of_colours = of_colours + counted * of_ours.covariances.reshape(*lab.shape, 3)
        of_targets = of_targets + counted * of_theirs.covariances[:, np.newaxis]
    asked = np.array([target.lab for target in targets], dtype=np.float64)[:, np.newaxis]
    differences = delta_E_ciede2000(asked, lab)
    to_lengths = np.swapaxes(np.linalg.cholesky(metric_tensor((asked + lab) / 2.0)), -1, -2)
    steps = np.einsum("...ij,...j->...i", to_lengths, lab - asked)
    length = np.linalg.norm(steps, axis=-1, keepdims=True)
    scale = np.divide(
        differences[..., np.newaxis], length, out=np.zeros_like(length), where=length > 0.0
    )
    sigmas = difference_uncertainty(asked, of_targets, lab, of_colours)
    own, shared = to_lengths @ _roots(of_colours), to_lengths @ _roots(of_targets)
    stretch = _matching(sigmas, steps / np.maximum(length, _SHORTEST), own, shared)
    return Doubt(differences, sigmas, steps * scale, own * stretch, shared * stretch)


def _of_other_groups(ours: _Shared, theirs: _Shared) -> Booleans:
    """Whether each of our colours, in turn those of each target, lies in another group than it."""
    each = len(ours.groups) // max(1, len(theirs.groups))
    pairs = zip(ours.groups, (group for group in theirs.groups for _ in range(each)), strict=True)
    return np.array([one is None or one != other for one, other in pairs], dtype=np.bool_)


def _matching(sigmas: Floats, directions: Floats, own: Floats, shared: Floats) -> Floats:
    """Factors (..., 1, 1) that give the scatter along each step the uncertainty that is stated."""
    along = [np.einsum("...i,...ij->...j", directions, roots) for roots in (own, shared)]
    scatter = np.sqrt(np.sum(np.concatenate(along, axis=-1) ** 2, axis=-1))
    factors = np.divide(sigmas, scatter, out=np.ones_like(sigmas), where=scatter > 0.0)
    shaped: Floats = factors[..., np.newaxis, np.newaxis]
    return shaped


def nearest_probabilities(doubt: Doubt) -> Floats:
    """Probability (..., n) of each colour to be the nearest to its target in ΔE00.

    By 4096 antithetic draws with a fixed seed, the same for every target, so the same question has
    the same answer whatever is asked beside it. Where no other lies within reach of the nearest
    nothing is drawn.
    """
    if doubt.differences.ndim == 1:
        alone: Floats = nearest_probabilities(Doubt(*(each[np.newaxis] for each in doubt)))[0]
        return alone
    first = doubt.differences.argmin(axis=-1)[:, np.newaxis]
    behind = doubt.differences - np.take_along_axis(doubt.differences, first, -1)
    reach = _OUT_OF_REACH * np.hypot(doubt.sigmas, np.take_along_axis(doubt.sigmas, first, -1))
    able = behind <= reach
    rivals = able.sum(axis=-1)
    probabilities = able.astype(np.float64)
    for count in sorted(set(rivals[rivals > 1].tolist())):  # np.unique would import numpy.ma
        rows = np.flatnonzero(rivals == count)[:, np.newaxis]
        columns = np.nonzero(able[rows[:, 0]])[1].reshape(-1, count)
        probabilities[rows, columns] = _drawn_probabilities(doubt.of(rows, columns))
    return probabilities


def _drawn_probabilities(doubt: Doubt) -> Floats:
    """The same (m, n) where each of the n colours may be the nearest."""
    targets, count = doubt.differences.shape
    # scatter lengthens every step; without this the vaguest colour could never be the nearest
    lengthened = np.sum(doubt.own**2 + doubt.shared**2, axis=(-2, -1))
    size = max(1, min(_DRAWS, _BLOCK // count) // 2)
    at_once = max(1, _BLOCK // (2 * size * count))
    blocks = -(-_DRAWS // (2 * size))
    probabilities = np.zeros((targets, count))
    generator = Random(_SEED)  # noqa: S311 - no secret hangs on it
    for _ in range(blocks):
        normal = _normal(generator, (1 + count, 3, size))
        for begin in range(0, targets, at_once):
            some = slice(begin, begin + at_once)
            moved = doubt.own[some] @ normal[1:] - doubt.shared[some] @ normal[0]
            steps = doubt.steps[some, :, :, np.newaxis]
            drawn = np.concatenate([steps + moved, steps - moved], axis=-1)
            squared = np.sum(drawn**2, axis=-2) - lengthened[some, :, np.newaxis]
            is_nearest = squared == squared.min(axis=-2, keepdims=True)
            share = is_nearest / is_nearest.sum(axis=-2, keepdims=True)
            probabilities[some] += share.mean(axis=-1) / blocks
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
    """The fewest of (..., n) that hold the nearest with the probability COVERED; none if one does.

    For two candidates that is: their differences lie within 1.645 standard deviations.
    """
    order = np.argsort(-probabilities, axis=-1, kind="stable")
    reached = np.cumsum(np.take_along_axis(probabilities, order, -1), axis=-1)
    count = np.sum(reached < COVERED - 1e-12, axis=-1, keepdims=True) + 1
    tied = np.zeros(probabilities.shape, dtype=np.bool_)
    among = np.arange(probabilities.shape[-1]) < count
    np.put_along_axis(tied, order, among & (count > 1), -1)
    return tied


def tied_pairs(targets: Sequence[Target], pairs: Sequence[tuple[Laid, Laid]]) -> Booleans:
    """Whether (m,) the two colours beside each target cannot be told apart: the rule of ≈."""
    if not targets:
        return np.zeros(0, dtype=np.bool_)
    # tied are both or none
    return tied_group(nearest_probabilities(doubts_of(targets, pairs)))[:, 0]


def _roots(matrices: Floats) -> Floats:
    """R (..., 3, 3) with R R' the covariance; also where some direction has none."""
    values, vectors = np.linalg.eigh(matrices)
    roots: Floats = vectors * np.sqrt(values.clip(0.0))[..., np.newaxis, :]
    return roots
