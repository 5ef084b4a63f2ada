"""Learn the paper, the hand and the pencils from a few layered swatches of the user's own.

Fitted are the paper's n and the load of every pressure below the heaviest, and then S of every
pencil that would have to cover in a sample. Each is held by a prior, so that three samples move
them only as far as three samples can, and a sample far from all the others counts less the farther
it is (soft L1 loss of the sample's whole difference; scipy.optimize.least_squares).
"""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from types import MappingProxyType

import numpy as np

from stopgap.arrays import Floats, FloatsLike
from stopgap.difference import delta_E
from stopgap.errors import InputError
from stopgap.layering.calibration.fit import CONTRADICTION, Fit, LayeredSample, check_repeats
from stopgap.layering.estimates import DEFAULT_TOOTH, PRESSURES, TOOTH_SPREAD
from stopgap.layering.models import DEFAULT_MODEL, Model, ModelFunction, model_of
from stopgap.swatches import Scattering

FEWEST = 3
"""Samples without which nothing can be learnt."""

HAND = 2.0
"""Standard deviation (ΔE00) taken for a layered swatch laid and measured once; an estimate."""

_MOST_KNOB = 4.0  # standard deviations


@dataclass(frozen=True, slots=True)
class Calibration:
    """What the samples taught.

    `tooth`, `pressures` and `opacity` (S by address) are arguments of `palette_of`,
    `tooth_spread` and `load_spread` of `uncertainty`. `before` and `after` are the ΔE00 of every
    sample with the defaults and with these; `residual` is the root mean square of `after` without
    `outliers`, the samples (from 0) that the others contradict.
    """

    tooth: float
    tooth_spread: float
    load_spread: float
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
    pressures: Mapping[str, float] = PRESSURES,
    hand: float = HAND,
) -> Calibration:
    """Fit tooth, loads and opacity to `samples`, starting from and held by `tooth`, `pressures`.

    Parameters
    ----------
    samples
        At least FEWEST; those with a pale pencil second or over black tell of opacity.
    paper_lab, swatch_paper_lab
        Colours (3,) of the paper drawn on, and of that the single swatches were made on.
    hand
        Standard deviation of one sample, ΔE00.

    Raises
    ------
    InputError
        For too few samples, samples that contradict each other, and as `predict` does.
    """
    if len(samples) < FEWEST:
        raise InputError(
            f"{len(samples)} layered swatches are too few to learn from; lay at least "
            f"{FEWEST}, of different pencils and pressures.",
            argument="samples",
        )
    check_repeats(samples)
    fit = Fit.of(samples, paper_lab, swatch_paper_lab, model_of(model), tooth, pressures)
    plain, covering = fit.rows(~fit.covers), fit.rows(fit.covers)
    count = len(fit.pressures)
    most = np.full(count, _MOST_KNOB)
    knobs, covariance = _fitted(lambda knobs: plain.differences(knobs) / hand, -most, most)
    laid, doubt = _fitted(lambda S: covering.differences(knobs, S) / hand, *fit.opacity_bounds)
    after = delta_E(fit.colours(knobs, laid), fit.measured)
    if np.median(after) > CONTRADICTION:
        raise InputError(
            f"half of them stay more than {CONTRADICTION:g} (ΔE00) from anything these pencils can "
            "give; check the codes, the pressures and the paper.",
            argument="samples",
        )
    far = after > np.maximum(3.0 * np.median(after), 2.0 * hand)
    n, loads = fit.settings(knobs)
    fitted = dict(zip(fit.pressures, loads.tolist()))
    return Calibration(
        tooth=n,
        tooth_spread=float(np.sqrt(covariance[0, 0])) * TOOTH_SPREAD,
        load_spread=fit.load_spread(knobs, covariance),
        pressures=MappingProxyType({name: fitted[name] for name in pressures}),
        opacity=MappingProxyType(fit.learnt(laid, doubt)),
        before=tuple(delta_E(fit.colours(np.zeros(count)), fit.measured).tolist()),
        after=tuple(after.tolist()),
        residual=float(np.sqrt(np.mean(after[~far] ** 2))),
        outliers=tuple(np.flatnonzero(far).tolist()),
    )


def _fitted(
    lacking: Callable[[Floats], Floats], lowest: Floats, highest: Floats
) -> tuple[Floats, Floats]:
    """Knobs (k,) that leave little `lacking` (m, 3), and their covariance (k, k).

    Both are in standard deviations of the priors, which are 0 and 1.
    """
    from scipy.optimize import least_squares

    if not len(lowest):
        return np.zeros(0), np.zeros((0, 0))

    def residuals(knobs: Floats) -> Floats:
        off = lacking(knobs)
        far = np.sqrt(1.0 + (off**2).sum(axis=1, keepdims=True))
        return np.concatenate([(off * np.sqrt(2.0 / (1.0 + far))).ravel(), knobs])

    found = least_squares(residuals, np.zeros(len(lowest)), bounds=(lowest, highest))
    jacobian = np.asarray(found.jac)
    # the priors keep it regular
    return np.asarray(found.x), np.linalg.inv(jacobian.T @ jacobian)
