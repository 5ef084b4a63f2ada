"""What known colours on the page say about the device: learning with few, some wrong.

Ridge regression on what the prior leaves over is Bayesian regression with that prior. Huber's loss
finds anchors that fit no others; they are named and left out (P. J. Huber (1964), Annals of
Mathematical Statistics 35, 73-101). How much the device may differ from the simulated ones is
what makes the anchors likeliest, where there are enough of them.
"""

import warnings
from collections.abc import Sequence
from types import MappingProxyType

import numpy as np

from stopgap.arrays import Booleans, Floats
from stopgap.difference import delta_E, metric_tensor
from stopgap.scanning.colour import (
    Anchor,
    Correction,
    FromAnchors,
    Prior,
    expected,
    features,
    whitened,
)

HAND = 0.15
"""How far one hand's layer lies from another's, as a share of the way from the paper."""
_ENOUGH_FOR_ROBUST, _ENOUGH_FOR_CHOICE, _FEWEST_LEFT_OUT = 8, 8, 3
_STRENGTHS = MappingProxyType({1.0: 0.0, 0.5: -0.5, 0.2: -1.5})
"""Of the prior, 1 as simulated, less for a stranger device; how likely before, as a logarithm."""
_AS_MEASURED = 0.4  # ΔE00, of a box read by an instrument
_FREEDOM = 8.0
"""Degrees of freedom of what is believed of a device's variances before its anchors are seen."""
_DOUBTED, _DOUBTED_TIMES = 6.0, 4.0  # ΔE00, and times the median
_ENOUGH_TO_JUDGE, _WORSE = 6, 1.05


def learn(anchors: Sequence[Anchor], prior: Prior, paper: Floats) -> FromAnchors:
    """The correction from anchors and what was expected; at least one anchor."""
    design, target, _ = whitened(anchors, prior, paper, HAND)
    doubted = _doubted(anchors, design, target, prior, paper)
    kept = ~doubted
    names = tuple(anchor.name for anchor, out in zip(anchors, doubted, strict=True) if out)
    trusted = [anchor for anchor, out in zip(anchors, doubted, strict=True) if not out]
    before = expected(prior, paper)
    if not trusted:
        return FromAnchors(before, None, names, used=False)
    rows = np.repeat(kept, 3)
    strength = _strength(design[rows], target[rows])
    z, covariance, left_out = _posterior(design[rows], target[rows], strength)
    times = _times(design[rows] / np.sqrt(strength), target[rows])
    factors = np.sqrt(times) * np.linalg.cholesky(covariance).T @ prior.factors
    weights = prior.mean + z @ prior.factors
    correction = Correction(paper, weights, factors, times * prior.misfit)
    if len(trusted) < _FEWEST_LEFT_OUT:
        return FromAnchors(correction, None, names, used=True)
    read, _ = _arrays(trusted)
    terms = features(read, paper)
    predicted = read + np.stack(
        [
            row @ (prior.mean + apart @ prior.factors).reshape(terms.shape[1], 3)
            for row, apart in zip(terms, left_out, strict=True)
        ]
    )
    residual = _off(predicted, trusted, paper)
    without = _off(before.corrected(read), trusted, paper)
    if len(trusted) >= _ENOUGH_TO_JUDGE and residual > _WORSE * without:
        return FromAnchors(before, residual, names, used=False)
    return FromAnchors(correction, residual, names, used=True)


def evidence(anchors: Sequence[Anchor], prior: Prior, paper: Floats) -> float:
    """Logarithm of how probable the anchors are for a class of devices, save a constant."""
    design, target, determinant = whitened(anchors, prior, paper, HAND)
    return determinant + _evidence(design, target)


def worth_measuring(
    read: Floats, prior: Prior, paper: Floats, count: int
) -> tuple[tuple[int, ...], float]:
    """Which of balanced readings (n, 3) to measure, and what all would then share in doubt [ΔE00].

    One by one, whichever leaves the least mean doubt over all of them: a greedy A-optimal design
    (A. C. Atkinson, A. N. Donev and R. D. Tobias (2007), "Optimum Experimental Designs", ch. 10).
    """
    as_known = [Anchor("", (L, a, b), (L, a, b), _AS_MEASURED, same_layer=True) for L, a, b in read]
    design = whitened(as_known, prior, paper, HAND)[0].reshape(len(read), 3, -1)
    before = expected(prior, paper)
    half = np.linalg.cholesky(metric_tensor(read)).transpose(0, 2, 1)
    moved = half @ np.moveaxis(before.moved(read), 0, -1)  # (n, 3, k), of length ΔE00
    spread, chosen = np.eye(moved.shape[2]), list[int]()
    for _ in range(min(count, len(read))):
        seen = design @ spread
        gained = np.linalg.inv(np.eye(3) + seen @ design.transpose(0, 2, 1))
        both = np.einsum("iak,mck->imac", seen, moved)
        less = ((gained[:, np.newaxis] @ both) * both).sum(axis=(2, 3))
        open_still = np.einsum("mck,kl,mcl->m", moved, spread, moved)
        left = np.sqrt(np.maximum(open_still - less, 0.0)).mean(axis=1)
        left[chosen] = np.inf
        best = int(np.argmin(left))
        chosen.append(best)
        spread = spread - seen[best].T @ gained[best] @ seen[best]
    factors = np.linalg.cholesky((spread + spread.T) / 2.0).T @ prior.factors
    return tuple(chosen), float(before._replace(factors=factors).shared(read).mean())


def _off(predicted: Floats, anchors: Sequence[Anchor], paper: Floats) -> float:
    """Mean ΔE00 of predictions (n, 3); of another hand only what no load of it explains."""
    _, known = _arrays(anchors)
    along = known - paper
    along /= np.maximum(np.linalg.norm(along, axis=1, keepdims=True), 1e-9)
    other_hand = np.array([not anchor.same_layer for anchor in anchors])[:, np.newaxis]
    share = ((predicted - known) * along).sum(axis=1, keepdims=True)
    return float(delta_E(predicted, known + other_hand * share * along).mean())


def _arrays(anchors: Sequence[Anchor]) -> tuple[Floats, Floats]:
    return np.array([one.read for one in anchors]), np.array([one.known for one in anchors])


def _doubted(
    anchors: Sequence[Anchor], design: Floats, target: Floats, prior: Prior, paper: Floats
) -> Booleans:
    """Which anchors (n,) lie far off what the rest, robustly fitted, says."""
    if len(anchors) < _ENOUGH_FOR_ROBUST:
        return np.zeros(len(anchors), dtype=np.bool_)
    from sklearn.linear_model import HuberRegressor

    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # that it stopped early does not harm what is only compared
        fitted = HuberRegressor(alpha=1.0, fit_intercept=False, max_iter=300).fit(design, target)
    weights = prior.mean + fitted.coef_ @ prior.factors
    robust = Correction(paper, weights, prior.factors, prior.misfit)
    read, known = _arrays(anchors)
    off = delta_E(robust.corrected(read), known)
    return np.asarray(off > max(_DOUBTED, _DOUBTED_TIMES * float(np.median(off))))


def _strength(design: Floats, target: Floats) -> float:
    """How much the prior is believed, 1 as simulated: what makes enough anchors likeliest.

    D. J. C. MacKay (1992), "Bayesian interpolation", Neural Computation 4(3), 415-447.
    """
    if len(target) < 3 * _ENOUGH_FOR_CHOICE:
        return 1.0
    likely = {
        strength: _evidence(design / np.sqrt(strength), target) + before
        for strength, before in _STRENGTHS.items()
    }
    return max(likely, key=likely.__getitem__)


def _times(design: Floats, target: Floats) -> float:
    """By how much this device's variances are larger than those of the simulated, at least 1.

    The middle of an inverse chi-squared of `_FREEDOM` degrees about 1 after the anchors are seen:
    A. Gelman and others (2013), "Bayesian Data Analysis", section 14.2.
    """
    spread, off = _spread(design, target)
    return max(1.0, (_FREEDOM + off) / (_FREEDOM + len(spread)))


def _evidence(design: Floats, target: Floats) -> float:
    """Logarithm of the probability of whitened targets, save a constant."""
    spread, off = _spread(design, target)
    return float(-0.5 * (np.linalg.slogdet(spread)[1] + off))


def _spread(design: Floats, target: Floats) -> tuple[Floats, float]:
    """The covariance of whitened targets before anything is known, and their squared distance."""
    spread = design @ design.T + np.eye(len(target))
    return spread, float(target @ np.linalg.solve(spread, target))


def _posterior(design: Floats, target: Floats, strength: float) -> tuple[Floats, Floats, Floats]:
    """Z (k,), its covariance (k, k), and z (n, k) with each anchor's three rows left out."""
    from sklearn.linear_model import Ridge

    def ridge(rows: Booleans) -> Floats:
        model = Ridge(alpha=strength, fit_intercept=False, solver="svd")
        return np.asarray(model.fit(design[rows], target[rows]).coef_, dtype=np.float64)

    everything = np.ones(len(target), dtype=np.bool_)
    z = ridge(everything)
    precision = design.T @ design + strength * np.eye(design.shape[1])
    apart = []
    for start in range(0, len(target), 3):
        rows = everything.copy()
        rows[start : start + 3] = False
        apart.append(ridge(rows) if rows.any() else np.zeros_like(z))
    covariance = np.linalg.inv(precision)
    return z, (covariance + covariance.T) / 2.0, np.array(apart)
