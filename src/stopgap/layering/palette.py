"""The pencils of a box made ready for a search: everything that does not depend on the target."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np

from stopgap.arrays import Booleans, Floats, FloatsLike, Integers, as_lab
from stopgap.errors import InputError
from stopgap.layering.doubt.alternatives import Alternatives, alternatives
from stopgap.layering.estimates import (
    DEFAULT_TOOTH,
    PRESSURES,
    Opacities,
    loads_of,
    opacities_of,
    tooth_value,
)
from stopgap.layering.models import DEFAULT_MODEL, Model, ModelFunction, model_of
from stopgap.layering.optics import MOST_LIGHTER, Optics, measured_spectra, optics
from stopgap.layering.shared_tooth import Films
from stopgap.swatches import Scattering, Swatch

_NOTHING = "swatches: there is no pencil to layer; mark some as owned, or choose a range."


@dataclass(frozen=True, slots=True)
class Palette:
    """Swatches that can be layered, and their optics at every pressure.

    `left_out` are those that cannot: lighter than the paper, or `unattained`, of a colour that the
    model gives no surface.
    A laying is one pencil at one pressure; laying `i * len(pressures) + p` is pencil i at
    pressure p. `prepared` (layings, k) are optical depths, or reflectances of the heavy swatches
    where the model cannot be taken apart.
    """

    swatches: tuple[Swatch, ...]
    left_out: tuple[Swatch, ...]
    unattained: tuple[Swatch, ...]
    pressures: Mapping[str, float]
    model: Model
    tooth: float
    paper_lab: Floats
    swatch_paper_lab: Floats
    lab: Floats = field(repr=False)
    spectra: Floats = field(repr=False)
    opacities: Opacities = field(repr=False)
    prepared: Floats = field(repr=False)
    films: Films | None = field(repr=False)
    seen_on: Floats = field(repr=False)
    ground: Floats = field(repr=False)

    @property
    def opacity(self) -> Floats:
        """S of every pencil, as it is predicted with."""
        return self.opacities.middle

    @property
    def loads(self) -> Floats:
        """Load of every laying."""
        return np.tile(list(self.pressures.values()), len(self.swatches))

    @property
    def covering(self) -> Booleans:
        """Whether each pencil scatters, so that order matters; all do in a model of one piece."""
        whole = self.model.additive is None
        return np.ones(len(self.swatches), dtype=bool) if whole else self.opacity > 0.0

    def colours(self, *layings: Integers) -> Floats:
        """Colours (m, 3) of layings over each other, each (m,), the first undermost."""
        pencils = [laying // len(self.pressures) for laying in layings]
        power = [self.opacity[pencil] for pencil in pencils]
        additive = self.model.additive
        if additive is None:
            reflectance = self.model.function(
                np.stack([self.prepared[laying] for laying in layings], axis=-2),
                self.seen_on,
                np.stack([self.loads[laying] for laying in layings], axis=-1),
                tooth=self.tooth,
                opacity=np.stack(power, axis=-1),
                ground=self.ground,
            )
        else:
            depth = self.prepared[layings[0]]
            for laying in layings[1:]:
                depth += self.prepared[laying]
            if self.films is None or not any(S.any() for S in power):
                reflectance = self.ground * additive.transmittance(depth, self.tooth)
            else:
                layers = [Films(*(part[laying] for part in self.films)) for laying in layings]
                reflectance = additive.stacked_films(layers, depth, self.ground, self.tooth)
        return self.model.bands.lab(reflectance)


def alternatives_of(box: Palette, chosen: Integers) -> Alternatives:
    """Alternatives to the pencils (m,) that are `chosen`."""
    return alternatives(
        box.model.bands,
        box.lab[chosen],
        box.swatch_paper_lab,
        box.paper_lab,
        box.spectra[chosen],
    )


def palette_of(
    swatches: Sequence[Swatch],
    paper_lab: FloatsLike,
    *,
    pressures: Mapping[str, float] = PRESSURES,
    model: str | Model | ModelFunction = DEFAULT_MODEL,
    tooth: str | float = DEFAULT_TOOTH,
    opacity: float | Mapping[str, Scattering] = 0.0,
    swatch_paper_lab: FloatsLike | None = None,
    known: Optics | None = None,
) -> Palette:
    """Make `swatches` ready to be layered on paper of colour `paper_lab` (3,).

    `opacity` is one S that is known of all, or what was learnt of pencils by address; of the
    others it is then what is expected. Measured spectra of the swatches are used where they have
    them. Optics that are `known` (n, k) are not recovered again.

    Raises
    ------
    InputError
        Where there is no swatch to layer, or an argument is not as `predict` wants it.
    """
    row, n = model_of(model), tooth_value(tooth)
    paper = as_lab(paper_lab, "paper_lab")
    base = paper if swatch_paper_lab is None else as_lab(swatch_paper_lab, "swatch_paper_lab")
    loads = loads_of(list(pressures.values()))
    if not swatches:
        raise InputError(_NOTHING)
    colours = np.array([swatch.lab for swatch in swatches], dtype=np.float64)
    spectra = measured_spectra(swatches)
    found = known or optics(row.bands, colours, base, paper, spectra)
    usable = found.reached & (colours[:, 0] <= base[0] + MOST_LIGHTER)
    kept = [swatch for swatch, use in zip(swatches, usable) if use]
    opacities = opacities_of(kept, opacity)
    power = opacities.middle
    prepared = found.layers[usable]
    films = None
    if row.additive is None:
        prepared = np.repeat(prepared, len(loads), axis=0)
    else:
        depth = row.additive.absorption(prepared, found.seen_on, power, tooth=n)
        prepared = (depth[:, None, :] * loads[:, None]).reshape(-1, depth.shape[-1])
        if power.any():
            films = row.additive.films(prepared, np.outer(power, loads).ravel(), n)
    return Palette(
        swatches=tuple(kept),
        left_out=tuple(swatch for swatch, use in zip(swatches, usable) if not use),
        unattained=tuple(swatch for swatch, has in zip(swatches, found.reached) if not has),
        pressures=dict(pressures),
        model=row,
        tooth=n,
        paper_lab=paper,
        swatch_paper_lab=base,
        lab=colours[usable],
        spectra=spectra[usable],
        opacities=opacities,
        prepared=prepared,
        films=films,
        seen_on=found.seen_on,
        ground=found.ground,
    )
