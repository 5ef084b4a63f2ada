"""Layered swatches of the user's own as arrays, and the colours a setting of the knobs gives."""

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import combinations
from typing import Any

import numpy as np

from stopgap.arrays import Booleans, Floats, FloatsLike, Integers, as_lab, distinct
from stopgap.difference import delta_E
from stopgap.difference.formulas.ciede2000 import weighted_components
from stopgap.errors import InputError
from stopgap.layering.estimates import (
    NOTHING_LEARNT,
    SPREADS,
    TO_COVER,
    TRAPPING_OF_PAIRS,
    TRAPPING_OF_PAPERS,
    Opacities,
    loads_of,
    opacities_of,
    tooth_value,
    trapping_value,
)
from stopgap.layering.models import Model
from stopgap.layering.optics import (
    attainable,
    check_attained,
    check_lightness,
    measured_spectra,
    paper_reflectance,
)
from stopgap.swatches import Layer, Scattering, Spreads, Stack, Swatch

CONTRADICTION = 10.0
"""ΔE00 by which two samples of the same layers may differ before one must be wrong."""

_MOST_LAYERS = 2
_EVEN = 3.0**0.5  # how far evenly spread values reach, in standard deviations
_PAPERS = 2  # knobs of the paper, which stand before those of the loads
_LOAD_SPREAD = 0.5  # of ln(-ln) of the ratio of one load to the next heavier
_MOST_OPACITY = 10.0  # S
_STRONG = 0.5  # of the light that a pencil takes in its darkest band
_MOST_KNOB = 4.0  # standard deviations
_ELSEWHERE = 0.15  # how far S is off on another ground, over S: the film model of bench_opacity.py


@dataclass(frozen=True, slots=True)
class LayeredSample:
    """One or two layers and their measured colour `lab`.

    `paper_lab` is the colour beneath where it is not the drawing paper: black, to see how well a
    pencil covers.
    """

    stack: Stack
    lab: tuple[float, float, float]
    paper_lab: tuple[float, float, float] | None = None


def check_repeats(samples: Sequence[LayeredSample]) -> None:
    """Refuse samples that show the same layers in different colours.

    Raises
    ------
    InputError
        Naming the two samples, by number from 1.
    """
    for (i, one), (j, other) in combinations(enumerate(samples, 1), 2):
        if (one.stack.key, one.paper_lab) != (other.stack.key, other.paper_lab):
            continue
        apart = float(delta_E(one.lab, other.lab))
        if apart > CONTRADICTION:
            raise InputError(
                f"samples {i} and {j} are the same layers, but {apart:.0f} (ΔE00) apart; "
                "measure them again or leave one out."
            )


@dataclass(frozen=True, slots=True)
class Fit:
    """Knobs are n, κ and the loads below the heaviest, or S of the pencils that show it.

    Both are in standard deviations of their priors, 0 being the default. A layer shows its S where
    it is so much lighter than what it lies on that it would have to cover. A pencil that is strong
    takes much light all the same, so that such a sample of it tells of paper and loads as well; one
    of a pale pencil teaches the S of that pencil and nothing else: white laid over black moves no
    other pencil.
    """

    model: Model
    layers: Floats  # (m, 2, k), a missing second layer being a second first at load 0
    seen_on: Floats
    ground: Floats  # (m, k)
    measured: Floats  # (m, 3)
    pressure: Integers  # (m, 2), rows of `pressures`, -1 where there is no layer
    pencil: Integers  # (m, 2), rows of `pencils`
    swatched: Integers  # (m, 2), rows of `pressures`, -1 for another
    passes: Integers  # (m, 2) of the swatches
    expected: Opacities  # (p,), before anything was learnt
    shows: Booleans  # (m, 2)
    strong: Booleans  # (p,)
    tooth: float
    trapping: float
    pressures: tuple[str, ...]  # heaviest first
    loads: Floats
    pencils: tuple[str, ...]  # addresses

    @classmethod
    def of(
        cls,
        samples: Sequence[LayeredSample],
        paper_lab: FloatsLike,
        swatch_paper_lab: FloatsLike | None,
        model: Model,
        tooth: str | float,
        trapping: float,
        pressures: Mapping[str, float],
    ) -> "Fit":
        paper = as_lab(paper_lab, "paper_lab")
        base = paper if swatch_paper_lab is None else as_lab(swatch_paper_lab, "swatch_paper_lab")
        names = tuple(sorted(pressures, key=lambda name: -pressures[name]))
        if min(pressures.values()) <= 0.0:
            raise InputError("pressures: every load must be above 0.")
        used = [_pair(sample.stack) for sample in samples]
        loads_of([name for sample in samples for name in sample.stack.pressures], pressures)
        swatches = {layer.swatch.address: layer.swatch for pair in used for layer in pair}
        seen_on = paper_reflectance(model.bands, base, "swatch_paper_lab")
        beneath = np.array([paper if s.paper_lab is None else s.paper_lab for s in samples])
        fit = cls(
            model=model,
            layers=_reflectances(used, base, model, brightest=float(seen_on.max())),
            seen_on=seen_on,
            ground=paper_reflectance(model.bands, as_lab(beneath, "paper_lab"), "paper_lab"),
            measured=as_lab([sample.lab for sample in samples], "samples"),
            pressure=_places(used, names, lambda layer: layer.pressure),
            pencil=_places(used, list(swatches), lambda layer: layer.swatch.address),
            swatched=_places(used, names, lambda layer: str(layer.swatch.pressure)),
            passes=_each(used, lambda swatch: swatch.passes),
            expected=opacities_of(list(swatches.values()), NOTHING_LEARNT),
            shows=np.zeros((len(samples), _MOST_LAYERS), dtype=bool),
            strong=np.zeros(len(swatches), dtype=bool),
            tooth=tooth_value(tooth),
            trapping=trapping_value(trapping),
            pressures=names,
            loads=np.array([pressures[name] for name in names]),
            pencils=tuple(swatches),
        )
        lightness = _each(used, lambda swatch: swatch.lab[0])
        taken = 1.0 - (fit.layers / seen_on).min(axis=-1)
        strong = np.zeros(len(swatches), dtype=bool)
        strong[fit.pencil[taken >= _STRONG]] = True
        return replace(fit, shows=fit._lighter(lightness), strong=strong)

    @property
    def covers(self) -> Booleans:
        """Which samples (m,) teach of the opacity of pale pencils alone."""
        return np.asarray((self.shows & ~self.strong[self.pencil]).any(axis=1))

    @property
    def covering(self) -> Integers:
        """The pencils (q,) that show their S, as rows of `pencils`."""
        return distinct(self.pencil[self.shows])

    @property
    def opacity_bounds(self) -> tuple[Floats, Floats]:
        """Least and greatest knobs (q,) of S."""
        middle, spread = self._prior()
        return -middle / spread, (_MOST_OPACITY - middle) / spread

    @property
    def bounds(self) -> tuple[Floats, Floats]:
        """Least and greatest knobs of paper and loads; κ is never below 0."""
        most = np.full(_PAPERS + len(self.pressures) - 1, _MOST_KNOB)
        least = -most
        least[1] = max(least[1], -self.trapping / TRAPPING_OF_PAPERS)
        return least, most

    def settings(self, knobs: Floats) -> tuple[float, float, Floats]:
        """Tooth, trapping, and loads in the order of `pressures`."""
        tooth, trapping, *harder = knobs
        steps = np.log(self.loads[:-1] / self.loads[1:]) * np.exp(np.multiply(_LOAD_SPREAD, harder))
        loads = self.loads[0] * np.exp(-np.concatenate([[0.0], np.cumsum(steps)]))
        return (
            float(self.tooth * np.exp(SPREADS.tooth * tooth)),
            max(float(self.trapping + TRAPPING_OF_PAPERS * trapping), 0.0),
            loads,
        )

    def opacities(self, knobs: Floats) -> Floats:
        """S (q,) of the pencils that show it."""
        middle, spread = self._prior()
        return np.maximum(middle + spread * knobs, 0.0)

    def learnt(self, knobs: Floats, covariance: Floats) -> dict[str, Scattering]:
        """S of these pencils by address, and between which it lies."""
        S = self.opacities(knobs)
        told = self._prior()[1] * np.sqrt(covariance.diagonal())
        reach = _EVEN * np.hypot(told, _ELSEWHERE * S)
        low = np.maximum(S - reach, 0.0)
        found = zip(self.covering, S.tolist(), low.tolist(), (S + reach).tolist(), strict=True)
        return {self.pencils[row]: Scattering(*between) for row, *between in found}

    def _prior(self) -> tuple[Floats, Floats]:
        """Mean and standard deviation (q,) of S of the pencils that show it."""
        of = self.expected.rows(self.covering)
        return (of.low + of.high) / 2.0, (of.high - of.low) / (2.0 * _EVEN)

    def _lighter(self, lightness: Floats) -> Booleans:
        """Which layers (m, 2) would have to cover, before anything was learnt."""
        beneath = [self.model.bands.lab(self.ground)[..., 0]]
        first = self.pressure.copy()
        first[:, 1] = -1
        beneath.append(self._laid(np.zeros_like(self.bounds[1]), None, first)[..., 0])
        return (lightness > np.stack(beneath, axis=-1) + TO_COVER) & (self.pressure >= 0)

    def spreads(self, knobs: Floats, covariance: Floats) -> Spreads:
        """Standard uncertainties of a covariance of the knobs; of ln load the largest. The misfit
        is not known from it.
        """
        tooth, trapping = np.sqrt(covariance.diagonal()[:_PAPERS]).tolist()
        loads = self.settings(knobs)[-1]
        steps = _LOAD_SPREAD * np.log(loads[1:] / loads[:-1])
        slopes = np.tril(np.tile(steps, (len(steps), 1)))
        of_loads = (slopes @ covariance[_PAPERS:, _PAPERS:] @ slopes.T).diagonal()
        return Spreads(
            tooth=tooth * SPREADS.tooth,
            trapping=math.hypot(trapping * TRAPPING_OF_PAPERS, TRAPPING_OF_PAIRS),
            load=float(np.sqrt(of_loads.max(initial=0.0))),
        )

    def colours(self, knobs: Floats, opacity: Floats | None = None) -> Floats:
        """Predicted colours (m, 3), with knobs (q,) of S where these are known."""
        return self._laid(knobs, opacity, self.pressure)

    def differences(self, knobs: Floats, opacity: Floats | None = None) -> Floats:
        """ΔL', ΔC', ΔH' over their weights (m, 3), whose length is nearly ΔE00."""
        found = self.colours(knobs, opacity)
        return np.stack(weighted_components(self.measured, found)[:3], axis=-1)

    def _laid(self, knobs: Floats, opacity: Floats | None, pressure: Integers) -> Floats:
        n, trapping, loads = self.settings(knobs)
        power = self.expected.middle.copy()
        if opacity is not None:
            power[self.covering] = self.opacities(opacity)
        swatched = np.append(loads, 1.0)[self.swatched] * self.passes
        reflectance = self.model.reflectance(
            self.layers,
            self.seen_on,
            np.append(loads, 0.0)[pressure] / swatched,
            tooth=n,
            trapping=trapping,
            opacity=power[self.pencil] * swatched,
            ground=self.ground,
        )
        return self.model.bands.lab(reflectance)


def _pair(stack: Stack) -> tuple[Layer, Layer]:
    """Its two layers; a missing second one is the first again, without a pressure."""
    if not 1 <= len(stack) <= _MOST_LAYERS:
        raise InputError("samples: each must be of one pencil or of two.")
    return stack[0], stack[1] if len(stack) > 1 else stack[0]._replace(pressure="")


def _each(
    used: Sequence[tuple[Layer, Layer]], of: Callable[[Swatch], float]
) -> "np.typing.NDArray[Any]":
    """A number of each layer's swatch (m, 2)."""
    return np.array([[of(layer.swatch) for layer in pair] for pair in used])


def _places(
    used: Sequence[tuple[Layer, Layer]], names: Sequence[str], name_of: Callable[[Layer], str]
) -> Integers:
    """Where in `names` each layer's (m, 2) stands, -1 where it is none of them."""
    place = {name: row for row, name in enumerate(names)}
    return np.array([[place.get(name_of(layer), -1) for layer in pair] for pair in used])


def _reflectances(
    used: Sequence[tuple[Layer, Layer]], base: Floats, model: Model, *, brightest: float
) -> Floats:
    """Of layers (m, 2, k), seen on a paper of colour `base` (3,)."""
    layers = as_lab([[layer.swatch.lab for layer in pair] for pair in used], "samples")
    check_lightness(layers, base)
    spectra = measured_spectra(layer.swatch for pair in used for layer in pair)
    spectra = spectra.reshape(len(used), _MOST_LAYERS, -1)
    reflectance, reached = attainable(model.bands, layers, spectra, brightest=brightest)
    check_attained(layers, reached, "samples")
    return reflectance
