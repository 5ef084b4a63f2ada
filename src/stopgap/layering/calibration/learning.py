"""Learn the paper, the hand and the pencils from a few layered swatches of the user's own.

Fitted are the paper's n and κ, the load of every pressure below the heaviest, and S of every strong
pencil that would have to cover in a sample; and then S of such pale ones. Each is held by a prior,
so that three samples move them only as far as three samples can, and a sample far from all the
others counts less the farther it is (soft L1 loss of the sample's whole difference;
`least_squares` beside it).
"""

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from types import MappingProxyType

import numpy as np

from stopgap.arrays import Booleans, Floats, FloatsLike, distinct, median
from stopgap.difference import delta_E
from stopgap.errors import InputError
from stopgap.layering.calibration.fit import CONTRADICTION, Fit, LayeredSample, check_repeats
from stopgap.layering.calibration.least_squares import least_squares
from stopgap.layering.estimates import (
    DEFAULT_TOOTH,
    PRESSURES,
    TRAPPING,
    loads_of,
    opacities_of,
    swatch_loads,
)
from stopgap.layering.intervals import Uncertainty, uncertainty
from stopgap.layering.models import DEFAULT_MODEL, Model, ModelFunction, model_of
from stopgap.layering.optics import measured_spectra
from stopgap.swatches import Scattering, Spreads

FEWEST = 3
"""Samples without which nothing can be learnt."""

HAND = 2.0
"""Root mean square error (ΔE00) of a layered swatch laid and measured once; an estimate."""

_STEP = 1e-3  # of a knob

_DIRECTIONS = 3  # of a difference, in each of which the error is as large

_AS_EXPECTED = 0.72
"""Root mean square of how far off samples are, over what is expected of each, where intervals hold:
deep layers, as samples mostly are, are less far off than they say. Chosen on the overprints of the
four presses that TOOTH was fitted to, from six samples of each."""
_AGAIN = 1.0  # ΔE00 by which a layer laid again differs; an estimate
_COUNTS_AS = 1  # samples, that layers err as is expected
_MOST_MISFIT = 2.0  # beyond it samples are wrong rather than the model; an estimate


@dataclass(frozen=True, slots=True)
class Calibration:
    """What the samples taught.

    `tooth`, `trapping`, `pressures` and `opacity` (S by address) are arguments of `palette_of`,
    `spreads` of `uncertainty`. `before` and `after` are the ΔE00 of every
    sample with the defaults and with these; `residual` is the root mean square of `after` without
    `outliers`, the samples (from 0) that the others contradict.
    """

    tooth: float
    trapping: float
    spreads: Spreads
    pressures: Mapping[str, float]
    opacity: Mapping[str, Scattering]
    before: tuple[float, ...]
    after: tuple[float, ...]
    residual: float
    outliers: tuple[int, ...]


def calibrate(
    samples: Sequence[LayeredSample],
    paper_lab: FloatsLike,
    *,
    swatch_paper_lab: FloatsLike | None = None,
    model: str | Model | ModelFunction = DEFAULT_MODEL,
    tooth: str | float = DEFAULT_TOOTH,
    trapping: float = TRAPPING,
    pressures: Mapping[str, float] = PRESSURES,
    hand: float = HAND,
) -> Calibration:
    """Fit tooth, trapping, loads and opacity to `samples`, starting from and held by those given.

    Parameters
    ----------
    samples
        At least FEWEST; those with a pale pencil second or over black tell of opacity.
    paper_lab, swatch_paper_lab
        Colours (3,) of the paper drawn on, and of that the single swatches were made on.
    hand
        Root mean square error of one sample, ΔE00.

    Raises
    ------
    InputError
        For too few samples, samples that contradict each other, and as `predict` does.
    """
    if len(samples) < FEWEST:
        raise InputError(
            f"{len(samples)} of at least {FEWEST} layered swatches, too few to learn from; lay "
            "more, of different pencils and pressures.",
            argument="samples",
        )
    check_repeats(samples)
    row = model_of(model)
    fit = Fit.of(samples, paper_lab, swatch_paper_lab, row, tooth, trapping, pressures)
    knobs, covariance, laid, doubt = _in_two_steps(fit, hand)
    after = delta_E(fit.colours(knobs, laid), fit.measured)
    if median(after) > CONTRADICTION:
        raise InputError(
            f"half of them stay more than {CONTRADICTION:g} (ΔE00) from anything these pencils can "
            "give; check the codes, the pressures and the paper.",
            argument="samples",
        )
    far = after > np.maximum(3.0 * median(after), 2.0 * hand)
    n, kappa, loads = fit.settings(knobs)
    fitted = dict(zip(fit.pressures, loads.tolist()))
    learnt = {name: fitted[name] for name in pressures}
    opacity, spreads = fit.learnt(laid, doubt), fit.spreads(knobs, covariance)

    def expected(those: Sequence[LayeredSample]) -> Uncertainty:
        """Of what is laid there, as many layers in each (m,), their S being as was learnt."""
        each = [sample.stack.swatches for sample in those]
        swatched = np.array([swatch_loads(one, learnt) for one in each])
        papers = (sample.paper_lab for sample in those)
        return uncertainty(
            np.array([paper_lab if one is None else one for one in papers]),
            [[swatch.lab for swatch in one] for one in each],
            loads_of([sample.stack.pressures for sample in those], learnt) / swatched,
            sigma=[[swatch.total_uncertainty for swatch in one] for one in each],
            model=row,
            tooth=n,
            trapping=kappa,
            opacity=np.array([opacities_of(one, opacity).middle for one in each]) * swatched,
            swatch_paper_lab=paper_lab if swatch_paper_lab is None else swatch_paper_lab,
            spectra=np.array([measured_spectra(one) for one in each]),
            spreads=spreads,
        )

    layers = np.array([len(sample.stack) for sample in samples])
    laying, swatches = np.zeros((2, len(samples)))
    teaching = ~far & ~fit.covers
    for count in distinct(layers[teaching]):
        rows = np.flatnonzero(teaching & (layers == count))
        laid_so = expected([samples[each] for each in rows.tolist()])
        laying[rows], swatches[rows] = laid_so.laying, laid_so.swatches
    misfit = _misfit(after[teaching], laying[teaching], swatches[teaching])
    return Calibration(
        tooth=n,
        trapping=kappa,
        spreads=spreads._replace(misfit=misfit),
        pressures=MappingProxyType(learnt),
        opacity=MappingProxyType(opacity),
        before=tuple(delta_E(fit.colours(np.zeros_like(knobs)), fit.measured).tolist()),
        after=tuple(after.tolist()),
        residual=float(np.sqrt(np.mean(after[~far] ** 2))),
        outliers=tuple(np.flatnonzero(far).tolist()),
    )


def _misfit(off: Floats, laying: Floats, swatches: Floats) -> float:
    """How many times as far off layers are to be expected, by samples that are so far `off` (m,).

    Each counts by how much of what is expected is neither its swatches' own nor the hand's; one
    more is counted that errs as is expected.
    """
    squares = laying**2 + _AGAIN**2
    counts = (laying**2 - swatches**2) / squares
    found = float(np.sum(counts * off**2 / (squares * _AS_EXPECTED**2)))
    return min(math.sqrt((_COUNTS_AS + found) / (_COUNTS_AS + counts.sum())), _MOST_MISFIT)


def _in_two_steps(fit: Fit, hand: float) -> tuple[Floats, Floats, Floats, Floats]:
    """Knobs of paper and loads with their covariance, and those (q,) of S with theirs."""
    of_paper, of_opacity = fit.bounds, fit.opacity_bounds
    strong, of_pale_ones = fit.strong[fit.covering], fit.covers
    count = len(of_paper[0])
    opacity = np.zeros(len(strong))

    def lacking(samples: Booleans, knobs: Floats, which: Booleans, S: Floats) -> Floats:
        all_S = opacity.copy()
        all_S[which] = S
        found = fit.differences(knobs, all_S)[samples] / hand
        return found * math.sqrt(_DIRECTIONS)

    first, doubt = _fitted(
        lambda knobs: lacking(~of_pale_ones, knobs[:count], strong, knobs[count:]),
        *(np.append(ends, of_S[strong]) for ends, of_S in zip(of_paper, of_opacity)),
    )
    knobs, opacity[strong] = first[:count], first[count:]
    opacity[~strong], of_pale = _fitted(
        lambda S: lacking(of_pale_ones, knobs, ~strong, S), *(ends[~strong] for ends in of_opacity)
    )
    of_S = np.zeros((len(strong), len(strong)))
    of_S[np.ix_(strong, strong)] = doubt[count:, count:]
    of_S[np.ix_(~strong, ~strong)] = of_pale
    return knobs, doubt[:count, :count], opacity, of_S


def _fitted(
    lacking: Callable[[Floats], Floats], lowest: Floats, highest: Floats
) -> tuple[Floats, Floats]:
    """Knobs (k,) that leave little `lacking` (m, 3), and their covariance (k, k).

    Both are in standard deviations of the priors, which are 0 and 1.
    """
    if not len(lowest):
        return np.zeros(0), np.zeros((0, 0))

    def residuals(knobs: Floats) -> Floats:
        off = lacking(knobs)
        far = np.sqrt(1.0 + (off**2).sum(axis=1, keepdims=True))
        return np.concatenate([(off * np.sqrt(2.0 / (1.0 + far))).ravel(), knobs])

    def slopes(knobs: Floats) -> Floats:
        # steps far above what an absorption that is found by trial is off
        there = residuals(knobs)
        moved = [residuals(knobs + _STEP * one) - there for one in np.eye(len(knobs))]
        found: Floats = np.stack(moved, axis=1) / _STEP
        return found

    start = np.maximum(lowest + 1.0, 0.0)  # on a bound the search would not leave it
    found, jacobian = least_squares(residuals, slopes, start, lowest, highest)
    # the priors keep it regular
    return found, np.asarray(np.linalg.inv(jacobian.T @ jacobian), dtype=np.float64)
