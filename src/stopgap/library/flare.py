"""Flare and gain between two measurements: from pairs that are named, or without any.

Named pairs are fitted by least squares of ΔE00, linearised at the second colour (the prior of flare
and gain is weak, so that five pairs suffice); from ten on the rest is taken out by a ridge
regression in Lab whose strength generalised cross-validation chooses (A. E. Hoerl and R. W. Kennard
1970, Technometrics 12(1), 55-67; scikit-learn's RidgeCV). How far pairs that were left out lie off
becomes the uncertainty of what is corrected: the half by which leaving out matters is shared by all
of them, the rest is each colour's own.

Without pairs the mutual nearest stand for them, found anew after each robust fit (P. J. Besl and
N. D. McKay 1992, IEEE Transactions on Pattern Analysis and Machine Intelligence 14(2), 239-256),
from several starts, and the best is kept. It always finds something; so a fit to one half of the
colours has to bring the other half nearer, by the logarithm of their median difference, and
fits to different halves have to agree, before it is believed. Most ranges are told apart from that
at a glance: where no flare and gain of a coarse grid bring even the colours themselves so much
nearer, or what serves one half of them best serves the other not at all, nothing is fitted.
"""

from typing import NamedTuple

import numpy as np

from stopgap.arrays import Booleans, Floats, Integers, median
from stopgap.colorimetry.cielab import lab_of, relative_tristimulus
from stopgap.difference import metric_tensor
from stopgap.swatches.correction import RangeCorrection

FEWEST_FOR_AFFINE = 10
"""Pairs from which on the affine part is fitted."""
GATE = -0.1
"""Mean log ratio of the median nearest difference that a fit without pairs has to fall below."""
FEWEST_UNPAIRED = 20
"""Colours of each side below which nothing is sought without pairs."""
_KNEE = 6.0 / 29.0
_LAB_OF_ROOTS = np.array([[0.0, 116.0, 0.0], [500.0, -500.0, 0.0], [0.0, 200.0, -200.0]])
_LEAST_LIGHT = 1e-8  # of the white
_PRIOR = np.array([0.05, 0.2])  # standard deviations of flare and gain
_NOISE = 2.0  # ΔE00 that a pair is taken to be off by, against the prior
_STARTS = np.array([(0.0, 0.0), (-0.03, 0.0), (0.03, 0.0), (0.0, -0.12), (0.0, 0.12)])
_ROUNDS, _SPLITS = 10, 2
_FURTHEST = np.array([0.06, 0.2])  # flare and gain that surfaces and instruments bring about
_GRID = np.array([(b / 100, a / 100) for b in (-4, -2, -1, 0, 1, 2, 4) for a in range(-12, 13, 6)])
_GLANCE, _FITTED = 72, 240  # colours that are looked at there, and that a fit is judged by
_MOST = 2_000_000  # differences at a time; larger sets are not sought in
_CHOSEN = 0.07  # log ratio by which the grid may fall short of a fit
_HALF_WITHIN = 1.538  # standard deviations of three numbers, half of whose lengths are less
_NEAR = 0.3  # a median below it is as good as none
_AGREE = np.array([0.02, 0.08])  # how far fits to halves of the colours may lie apart


def fit_pairs(ours: Floats, theirs: Floats) -> RangeCorrection:
    """What makes of `ours` (n, 3) the Lab of `theirs` (n, 3), with its uncertainties."""
    every = np.arange(len(ours))
    fitted = _fit(ours, theirs)
    roots = _roots(theirs)
    inside = _lengths(fitted, ours, theirs, roots)
    left_out = [
        _lengths(_fit(ours[every != row], theirs[every != row]), ours, theirs, roots)[row]
        for row in every
    ]
    outer, inner = float(np.mean(np.square(left_out))), float(np.mean(inside**2))
    shared = max(0.0, (outer - inner) / 2.0)
    return fitted._replace(
        own=float(np.sqrt(max(0.0, outer - shared) / 3.0)), shared=float(np.sqrt(shared / 3.0))
    )


def _lengths(found: RangeCorrection, ours: Floats, theirs: Floats, roots: Floats) -> Floats:
    off = np.einsum("nij,nj->ni", roots, found.lab(ours) - theirs)
    return np.asarray(np.linalg.norm(off, axis=1))


def _roots(labs: Floats) -> Floats:
    """R (n, 3, 3) at each colour: the length of R d is ΔE00 of a small step d."""
    return np.asarray(np.linalg.cholesky(metric_tensor(labs)).transpose(0, 2, 1))


def _fit(ours: Floats, theirs: Floats) -> RangeCorrection:
    flare, gain = _flare_and_gain(ours, theirs, np.zeros(2), _roots(theirs)).tolist()
    plain = RangeCorrection(flare, gain)
    if len(ours) < FEWEST_FOR_AFFINE:
        return plain
    from sklearn.linear_model import RidgeCV  # only here, and slow to import

    moved = plain.lab(ours)
    scale = np.array([15.0, 20.0, 20.0])
    found = RidgeCV(alphas=np.logspace(-1, 4, 11)).fit(moved / scale, theirs - moved)
    rows = np.column_stack([found.coef_ / scale, found.intercept_]).tolist()
    return plain._replace(affine=tuple((L, a, b, one) for L, a, b, one in rows))


def _flare_and_gain(
    ours: Floats, theirs: Floats, start: Floats, roots: Floats, weights: Floats | None = None
) -> Floats:
    """Gauss and Newton's steps to the least squares."""
    ratio = relative_tristimulus(ours)
    found, weigh = start.copy(), np.ones(len(ours)) if weights is None else weights
    # Lab is linear in the cube roots of what is relative to the white, of which slopes are known
    whole = np.sqrt(weigh)[:, None, None] * (roots @ _LAB_OF_ROOTS)
    target = _cube_roots(relative_tristimulus(theirs))[0]
    for _ in range(6):
        light = np.maximum(found[0] + (1.0 + found[1]) * ratio, _LEAST_LIGHT)
        reached, rising = _cube_roots(light)
        parts = np.stack([reached - target, rising, rising * ratio], axis=-1)
        here, *by = (whole @ parts).reshape(-1, 3).T
        slope = np.stack(by, axis=1)
        normal = slope.T @ slope + np.diag((_NOISE / _PRIOR) ** 2)
        step = np.linalg.solve(normal, slope.T @ here + found * (_NOISE / _PRIOR) ** 2)
        found = np.clip(found - step, [-0.3, -0.7], [0.3, 2.0])
        if np.abs(step).max() < 1e-5:
            break
    return found


def _cube_roots(relative: Floats) -> tuple[Floats, Floats]:
    """What L*, a*, b* are linear in (CIE 15, equation 8.4, its f), and its slope."""
    root = np.cbrt(relative)
    dark = relative <= _KNEE**3
    line = 1.0 / (3.0 * _KNEE**2)
    reached = np.where(dark, line * relative + 4.0 / 29.0, root)
    return reached, np.where(dark, line, 1.0 / (3.0 * np.maximum(root, _KNEE) ** 2))


def find_unpaired(ours: Floats, theirs: Floats) -> RangeCorrection | None:
    """What makes of `ours` (n, 3) colours like `theirs` (m, 3); None where nothing is believed.

    The sets need not be of the same pencils, but to hold enough of the same colours. What it makes
    is as unsure as those that are then the nearest of each other are apart.
    """
    if min(len(ours), len(theirs)) < FEWEST_UNPAIRED or len(ours) * len(theirs) > _MOST:
        return None
    goal = _Goal(theirs, _even(theirs), _roots(theirs))
    if _at_a_glance(ours, goal) >= GATE:
        return None
    some = ours[:: -(-len(ours) // _FITTED)]
    draw = np.random.default_rng(101)
    ratios, fits = [], []
    for _ in range(_SPLITS):
        mixed = draw.permutation(len(some))
        for fitted, judged in (np.array_split(mixed, 2), np.array_split(mixed, 2)[::-1]):
            found = _settled(some[fitted], goal, _STARTS)
            before = _median_nearest(some[judged], goal)
            ratios.append(np.log(_median_nearest(found.lab(some[judged]), goal) / before))
            fits.append((found.flare, found.gain))
            if (np.ptp(fits, axis=0) > _AGREE).any():
                return None
    if np.mean(ratios) >= GATE:
        return None
    found = _settled(ours, goal, np.mean(fits, axis=0, keepdims=True))
    if not (np.abs((found.flare, found.gain)) < _FURTHEST).all():
        return None
    rows, _, mutual = _mutual(found.lab(ours), goal)
    pairs = rows[mutual]
    off = _lengths(found, ours[mutual], goal.labs[pairs], goal.roots[pairs])
    return found._replace(own=float(median(off)) / _HALF_WITHIN)


def _at_a_glance(ours: Floats, goal: "_Goal") -> float:
    """The log ratio of the median nearest difference that a coarse grid of flare and gain brings:
    the least there is, and no less than what is least for one half of them brings the other half,
    and a little more, since what is chosen there is not the best.
    """
    some = relative_tristimulus(ours[:: -(-len(ours) // _GLANCE)])
    flare, gain = _GRID.T[:, :, np.newaxis, np.newaxis]
    tried = np.maximum(flare + (1.0 + gain) * some, _LEAST_LIGHT)
    nearest = _nearest_at_a_glance(lab_of(tried), goal)
    halves = [np.maximum(median(nearest[:, at::2]), _NEAR) for at in (0, 1)]
    every = np.maximum(median(nearest), _NEAR)
    here = len(_GRID) // 2
    across = [
        np.log(judged[fitted.argmin()] / judged[here]) for fitted, judged in (halves, halves[::-1])
    ]
    least = float(np.log(every.min() / every[here]))
    return max(least, float(np.mean(across)) - _CHOSEN)


def _nearest_at_a_glance(labs: Floats, goal: "_Goal") -> Floats:
    """The nearest difference of each colour (..., 3), to a few parts in a thousand."""
    ours, theirs = _even(labs).astype(np.float32), goal.even.astype(np.float32)
    half = (theirs**2).sum(axis=1) / 2.0 - ours.reshape(-1, 3) @ theirs.T
    squared = (ours**2).sum(axis=-1) + 2.0 * half.min(axis=1).reshape(ours.shape[:-1])
    return np.asarray(np.sqrt(np.maximum(squared, 0.0)), dtype=np.float64)


class _Goal(NamedTuple):
    """The colours to be like: Lab, even coordinates, and the roots of ΔE00 at each."""

    labs: Floats
    even: Floats
    roots: Floats


def _settled(ours: Floats, goal: _Goal, starts: Floats) -> RangeCorrection:
    """From each start, pairs and fit in turn; the one that leaves the least median."""
    tried = []
    for start in starts:
        found = start
        for _ in range(_ROUNDS):
            rows, near, mutual = _mutual(RangeCorrection(*found).lab(ours), goal)
            if mutual.sum() < FEWEST_UNPAIRED // 4:
                break
            far, pairs = near[mutual], rows[mutual]
            weights = 1.0 / (1.0 + (far / (median(far) + 1e-9)) ** 2)  # Cauchy's
            fitted = _flare_and_gain(
                ours[mutual], goal.labs[pairs], found, goal.roots[pairs], weights
            )
            settled = np.abs(fitted - found).max() < 1e-3
            found = fitted
            if settled:
                break
        correction = RangeCorrection(float(found[0]), float(found[1]))
        tried.append((_median_nearest(correction.lab(ours), goal), correction))
    return min(tried, key=lambda each: each[0])[1]


def _even(labs: Floats) -> Floats:
    """Coordinates about as even as ΔE00: chroma compressed as in DIN 6176."""
    chroma = np.hypot(labs[..., 1], labs[..., 2])
    scale = np.log1p(0.045 * chroma) / (0.045 * np.maximum(chroma, 1e-9))
    return np.stack([labs[..., 0], labs[..., 1] * scale, labs[..., 2] * scale], axis=-1)


def _distances(labs: Floats, goal: _Goal) -> Floats:
    ours = _even(labs)
    squared = (ours**2).sum(1)[:, None] + (goal.even**2).sum(1) - 2.0 * ours @ goal.even.T
    return np.asarray(np.sqrt(np.maximum(squared, 0.0)))


def _mutual(labs: Floats, goal: _Goal) -> tuple[Integers, Floats, Booleans]:
    away = _distances(labs, goal)
    rows = away.argmin(axis=1)
    return rows, away.min(axis=1), away.argmin(axis=0)[rows] == np.arange(len(labs))


def _median_nearest(labs: Floats, goal: _Goal) -> float:
    return max(_NEAR, float(median(_distances(labs, goal).min(axis=1))))
