"""The pencils of a box made ready for a search: everything that does not depend on the target."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np

from stopgap.arrays import Booleans, Floats, FloatsLike, Integers, as_lab
from stopgap.errors import InputError
from stopgap.layering.alternatives import Alternatives, Depths, alternatives
from stopgap.layering.estimates import (
    DEFAULT_TOOTH,
    PRESSURES,
    SPREADS,
    TRAPPING,
    Opacities,
    loads_of,
    never_beneath,
    opacities_of,
    swatch_loads,
    tooth_value,
    trapping_value,
)
from stopgap.layering.models import DEFAULT_MODEL, Additive, Model, ModelFunction, model_of
from stopgap.layering.optics import (
    MOST_LIGHTER,
    Optics,
    check_attained,
    check_lightness,
    measured_spectra,
    optics,
)
from stopgap.layering.prepared_layers import PreparedLayers
from stopgap.swatches import BARE_PAPER, Scattering, Stack, Swatch

_NOTHING = "swatches: there is no pencil to layer; mark some as owned, or choose a range."


@dataclass(frozen=True, slots=True, eq=False, repr=False)
class Palette:
    """Swatches that can be layered, and their optics at every pressure.

    `left_out` are those that cannot: lighter than the paper, or `unattained`, of a colour that the
    model gives no surface.
    A laying is one pencil at one pressure; laying `i * len(pressures) + p` is pencil i at
    pressure p. `opacities` are those of heavy layers, `swatched` the loads that the swatches were
    laid with. `layers` (n, k) reflect what the swatches do; `prepared` are all layings, where the
    model can be taken apart. Recipes lie over what is `lying` on the paper already.
    """

    swatches: tuple[Swatch, ...]
    left_out: tuple[Swatch, ...]
    unattained: tuple[Swatch, ...]
    pressures: Mapping[str, float]
    model: Model
    tooth: float
    trapping: float
    paper_lab: Floats
    swatch_paper_lab: Floats
    lab: Floats
    spectra: Floats
    opacities: Opacities
    swatched: Floats
    layers: Floats
    prepared: PreparedLayers | None
    seen_on: Floats
    ground: Floats
    heavy_first: bool = False
    lying: "Lying | None" = None

    @property
    def loads(self) -> Floats:
        """Load of every laying, of what the swatch of its pencil was laid with."""
        return (np.array(list(self.pressures.values())) / self.swatched[:, None]).ravel()

    @property
    def seen_opacities(self) -> Opacities:
        """S of every pencil as its swatch was laid."""
        return Opacities(*(part * self.swatched for part in self.opacities))

    @property
    def covering(self) -> Booleans:
        """Whether each pencil scatters, so that order matters; all do in a model of one piece."""
        scatters = self.opacities.middle > 0.0
        return np.ones_like(scatters) if self.prepared is None else scatters

    @property
    def never_first(self) -> int | None:
        """Which pressure the lower of two pencils is not laid with, None where any may be."""
        return never_beneath(self.pressures, heavy_first=self.heavy_first)

    def colours(self, *layings: Integers) -> Floats:
        """Colours (m, 3) of layings over each other, each (m,), the first undermost."""
        if self.prepared is not None:
            return self.model.bands.lab(self.prepared.reflectance(*layings))
        rows = [laying // len(self.pressures) for laying in layings]
        power = self.seen_opacities.middle
        layers = [self.layers[row] for row in rows]
        loads = [self.loads[laying] for laying in layings]
        opacity = [power[row] for row in rows]
        if self.lying is not None:
            beneath = self.lying
            shape = (len(layings[0]),)
            layers = [*(np.broadcast_to(R, (*shape, len(R))) for R in beneath.layers), *layers]
            loads = [*(np.full(shape, load) for load in beneath.loads), *loads]
            opacity = [*(np.full(shape, S) for S in beneath.opacities.middle), *opacity]
        reflectance = self.model.reflectance(
            np.stack(layers, axis=-2),
            self.seen_on,
            np.stack(loads, axis=-1),
            tooth=self.tooth,
            trapping=self.trapping,
            opacity=np.stack(opacity, axis=-1),
            ground=self.ground,
        )
        return self.model.bands.lab(reflectance)


class Lying(NamedTuple):
    """Layers (n,) that lie on the paper already, the first undermost.

    Their colours (n, 3), spectra (n, 36) and reflectances (n, k) are those of their swatches, and
    loads and `opacities` are of what these were laid with; `heavy_low` is the least S of heavy
    layers.
    """

    stack: Stack
    lab: Floats
    spectra: Floats
    layers: Floats
    loads: Floats
    opacities: Opacities
    heavy_low: list[float]

    def before(self, box: Palette) -> tuple[Floats, Floats, Opacities, tuple[Swatch, ...]]:
        """Colours, spectra, S as swatched, and swatches of these and then of a box."""
        opacities = zip(self.opacities, box.seen_opacities)
        return (
            np.concatenate([self.lab, box.lab]),
            np.concatenate([self.spectra, box.spectra]),
            Opacities(*(np.concatenate(pair) for pair in opacities)),
            (*self.stack.swatches, *box.swatches),
        )


def alternatives_of(box: Palette, chosen: Integers) -> Alternatives:
    """Alternatives to the pencils (m,) that are `chosen`, their depths known."""
    found = alternatives(
        box.model.bands,
        box.lab[chosen],
        box.swatch_paper_lab,
        box.paper_lab,
        box.spectra[chosen],
    )
    if box.model.additive is None:
        return found
    opacity = box.seen_opacities.middle[chosen]
    depths = Depths.of(
        box.model.additive.absorption, found, opacity, tooth=box.tooth, spread=SPREADS.tooth
    )
    return found._replace(depths=depths)


def palette_of(
    swatches: Sequence[Swatch],
    paper_lab: FloatsLike,
    *,
    pressures: Mapping[str, float] = PRESSURES,
    model: str | Model | ModelFunction = DEFAULT_MODEL,
    tooth: str | float = DEFAULT_TOOTH,
    trapping: float = TRAPPING,
    opacity: float | Mapping[str, Scattering] = 0.0,
    swatch_paper_lab: FloatsLike | None = None,
    heavy_first: bool = False,
    over: Stack = BARE_PAPER,
    known: Optics | None = None,
) -> Palette:
    """Make `swatches` ready to be layered on paper of colour `paper_lab` (3,).

    `opacity` is one S that is known of all, or what was learnt of pencils by address; of the
    others it is then what is expected. Measured spectra of the swatches are used where they have
    them, and how hard they were laid. The lower of two pencils is laid light or medium unless
    `heavy_first`. Recipes lie `over` what is on the paper already. Optics that are `known` (n, k)
    are not recovered again.

    Raises
    ------
    InputError
        Where there is no swatch to layer, or an argument is not as `predict` wants it.
    """
    row, n, kappa = model_of(model), tooth_value(tooth), trapping_value(trapping)
    paper = as_lab(paper_lab, "paper_lab")
    base = paper if swatch_paper_lab is None else as_lab(swatch_paper_lab, "swatch_paper_lab")
    loads = loads_of(list(pressures.values()))
    if not swatches:
        raise InputError(_NOTHING)
    colours = np.array([swatch.lab for swatch in swatches], dtype=np.float64)
    spectra = measured_spectra(swatches)
    found = known or optics(row.bands, colours, base, paper, spectra, duller=False)
    usable = found.reached & (colours[:, 0] <= base[0] + MOST_LIGHTER)
    kept = [swatch for swatch, use in zip(swatches, usable) if use]
    opacities = opacities_of(kept, opacity)
    swatched = swatch_loads(kept, pressures)
    layers = found.layers[usable]
    lying = _lying(over, pressures, row, paper, base, opacity) if over else None
    prepared = None
    if row.additive is not None:
        power = opacities.middle
        depth = _heavy_depth(row.additive, layers, found.seen_on, power, swatched, n)
        beneath = np.zeros((0, depth.shape[-1])), np.zeros(0)
        if lying is not None:
            seen = row.additive.absorption(
                lying.layers, found.seen_on, lying.opacities.middle, tooth=n
            )
            beneath = seen * lying.loads[:, None], lying.opacities.middle * lying.loads
        prepared = row.additive.prepared_layers(
            (depth[:, None, :] * loads[:, None]).reshape(-1, depth.shape[-1]),
            np.outer(power, loads).ravel(),
            row.additive.laid_ground(found.ground, *beneath, tooth=n, trapping=kappa),
        )
    return Palette(
        swatches=tuple(kept),
        left_out=tuple(swatch for swatch, use in zip(swatches, usable) if not use),
        unattained=tuple(swatch for swatch, has in zip(swatches, found.reached) if not has),
        pressures=dict(pressures),
        model=row,
        tooth=n,
        trapping=kappa,
        paper_lab=paper,
        swatch_paper_lab=base,
        lab=colours[usable],
        spectra=spectra[usable],
        opacities=opacities,
        swatched=swatched,
        layers=layers,
        prepared=prepared,
        seen_on=found.seen_on,
        ground=found.ground,
        heavy_first=heavy_first,
        lying=lying,
    )


def _heavy_depth(
    additive: Additive,
    layers: Floats,
    seen_on: Floats,
    opacity: Floats,
    swatched: Floats,
    tooth: float,
) -> Floats:
    """Optical depths (n, k) of heavy layers, from those of swatches laid with other loads."""
    depth = additive.absorption(layers, seen_on, opacity * swatched, tooth=tooth)
    return np.asarray(depth / swatched[:, None])


def _lying(
    over: Stack,
    pressures: Mapping[str, float],
    model: Model,
    paper: Floats,
    base: Floats,
    opacity: float | Mapping[str, Scattering],
) -> Lying:
    """What lies there; raises InputError where no surface has the colour of one of its swatches."""
    lab = np.array([swatch.lab for swatch in over.swatches], dtype=np.float64)
    check_lightness(lab, base)
    spectra = measured_spectra(over.swatches)
    found = optics(model.bands, lab, base, paper, spectra)
    check_attained(lab, found.reached, "over")
    swatched = swatch_loads(over.swatches, pressures)
    heavy = opacities_of(over.swatches, opacity)
    seen = Opacities(*(part * swatched for part in heavy))
    loads = loads_of(over.pressures, pressures) / swatched
    return Lying(over, lab, spectra, found.layers, loads, seen, heavy.low.tolist())
