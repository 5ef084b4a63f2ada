"""Samples as arrays, and the colours a setting of the knobs gives them."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from stopgap.arrays import Floats, FloatsLike, Integers, as_lab
from stopgap.difference.formulas.ciede2000 import weighted_components
from stopgap.errors import InputError
from stopgap.layering.calibration.samples import LayeredSample
from stopgap.layering.conditions import TOOTH_SPREAD, loads_of, tooth_value
from stopgap.layering.models import Model
from stopgap.layering.optics import (
    attainable,
    check_attained,
    check_lightness,
    measured_spectra,
    paper_reflectance,
)
from stopgap.swatches import Layer, Stack

MOST_OPACITY = 10.0

_MOST_LAYERS = 2
_LOAD_SPREAD = 0.5  # of ln(-ln) of the ratio of one load to the next heavier
_OPACITY_SPREAD = 0.5  # of S


@dataclass(frozen=True, slots=True)
class Fit:
    """Knobs are n, the loads below the heaviest and S of every range, in that order.

    They are in standard deviations of their priors, 0 being the default.
    """

    model: Model
    layers: Floats  # (m, 2, k), a missing second layer being a second first at load 0
    seen_on: Floats
    ground: Floats  # (m, k)
    measured: Floats  # (m, 3)
    pressure: Integers  # (m, 2), rows of `pressures`, -1 where there is no layer
    range: Integers  # (m, 2), rows of `ranges`
    tooth: float
    pressures: tuple[str, ...]  # heaviest first
    loads: Floats
    ranges: tuple[str, ...]

    @classmethod
    def of(
        cls,
        samples: Sequence[LayeredSample],
        paper_lab: FloatsLike,
        swatch_paper_lab: FloatsLike | None,
        model: Model,
        tooth: str | float,
        pressures: Mapping[str, float],
    ) -> "Fit":
        paper = as_lab(paper_lab, "paper_lab")
        base = paper if swatch_paper_lab is None else as_lab(swatch_paper_lab, "swatch_paper_lab")
        names = tuple(sorted(pressures, key=lambda name: -pressures[name]))
        if min(pressures.values()) <= 0.0:
            raise InputError("pressures: every load must be above 0.")
        used = [_pair(sample.stack) for sample in samples]
        loads_of([name for sample in samples for name in sample.stack.pressures], pressures)
        ranges = tuple(dict.fromkeys(layer.swatch.range for pair in used for layer in pair))
        seen_on = paper_reflectance(model.bands, base, "swatch_paper_lab")
        beneath = np.array([paper if s.paper_lab is None else s.paper_lab for s in samples])
        return cls(
            model=model,
            layers=_reflectances(used, base, model, brightest=float(seen_on.max())),
            seen_on=seen_on,
            ground=paper_reflectance(model.bands, as_lab(beneath, "paper_lab"), "paper_lab"),
            measured=as_lab([sample.lab for sample in samples], "samples"),
            pressure=_places(used, names, lambda layer: layer.pressure),
            range=_places(used, ranges, lambda layer: layer.swatch.range),
            tooth=tooth_value(tooth),
            pressures=names,
            loads=np.array([pressures[name] for name in names]),
            ranges=ranges,
        )

    @property
    def lowest(self) -> Floats:
        """Bounds of the knobs from below."""
        return np.array([-4.0] * len(self.pressures) + [0.0] * len(self.ranges))

    @property
    def highest(self) -> Floats:
        """Bounds of the knobs from above."""
        most = MOST_OPACITY / _OPACITY_SPREAD
        return np.array([4.0] * len(self.pressures) + [most] * len(self.ranges))

    def settings(self, knobs: Floats) -> tuple[float, Floats, Floats]:
        """Tooth, loads in the order of `pressures`, S in the order of `ranges`."""
        p = len(self.pressures)
        steps = np.log(self.loads[:-1] / self.loads[1:]) * np.exp(_LOAD_SPREAD * knobs[1:p])
        loads = self.loads[0] * np.exp(-np.concatenate([[0.0], np.cumsum(steps)]))
        opacity = np.maximum(knobs[p:], 0.0) * _OPACITY_SPREAD
        return float(self.tooth * np.exp(TOOTH_SPREAD * knobs[0])), loads, opacity

    def load_spread(self, knobs: Floats, covariance: Floats) -> float:
        """The largest standard uncertainty of ln load, of a covariance of the knobs."""
        p = len(self.pressures)
        loads = self.settings(knobs)[1]
        if p == 1:
            return 0.0
        slopes = np.tril(np.tile(_LOAD_SPREAD * np.log(loads[1:] / loads[:-1]), (p - 1, 1)))
        return float(np.sqrt((slopes @ covariance[1:p, 1:p] @ slopes.T).diagonal().max()))

    def colours(self, knobs: Floats) -> Floats:
        """Predicted colours (m, 3)."""
        n, loads, opacity = self.settings(knobs)
        reflectance = self.model.function(
            self.layers,
            self.seen_on,
            np.append(loads, 0.0)[self.pressure],
            tooth=n,
            opacity=opacity[self.range],
            ground=self.ground,
        )
        return self.model.bands.lab(reflectance)

    def differences(self, knobs: Floats) -> Floats:
        """ΔL', ΔC', ΔH' over their weights (m, 3), whose length is nearly ΔE00."""
        return np.stack(weighted_components(self.measured, self.colours(knobs))[:3], axis=-1)


def _pair(stack: Stack) -> tuple[Layer, Layer]:
    """Its two layers; a missing second one is the first again, without a pressure."""
    if not 1 <= len(stack) <= _MOST_LAYERS:
        raise InputError("samples: each must be of one pencil or of two.")
    return stack[0], stack[1] if len(stack) > 1 else stack[0]._replace(pressure="")


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
