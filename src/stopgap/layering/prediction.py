"""The colour of layers, from the colours of the paper and of every layer alone."""

import math
from collections.abc import Iterator, Mapping
from itertools import islice
from typing import NamedTuple

import numpy as np

from stopgap.arrays import Booleans, Floats, FloatsLike, as_floats, as_lab
from stopgap.colorimetry.recovery.bands import Bands
from stopgap.errors import InputError
from stopgap.layering.estimates import (
    DEFAULT_TOOTH,
    PRESSURES,
    TRAPPING,
    Opacities,
    checked,
    loads_of,
    tooth_value,
    trapping_value,
)
from stopgap.layering.models import DEFAULT_MODEL, Model, ModelFunction, model_of
from stopgap.layering.optics import Optics, check_attained, check_lightness, optics
from stopgap.layering.shared_tooth import NODES

_STACKS = 4096  # laid together: 30 MB


class LayersAsked(NamedTuple):
    """The arguments of `predict`, checked: colours (..., 3), and (..., n) of every layer; and of
    how many `nodes` the mean over the tooth is.
    """

    model: Model
    tooth: float
    trapping: float
    paper: Floats
    seen_on: Floats
    layers: Floats
    loads: Floats
    opacity: Opacities
    spectra: FloatsLike | None
    nodes: int = NODES

    def rows(self, rows: Booleans) -> "LayersAsked":
        """Of layers (m, n, 3) on papers that are alike some."""
        spectra = None if self.spectra is None else np.asarray(self.spectra)[rows]
        return self._replace(
            layers=self.layers[rows],
            loads=self.loads[rows],
            opacity=self.opacity.rows(rows),
            spectra=spectra,
        )

    def optics(self, bands: Bands, layers: Floats) -> Optics:
        """Reflectances of `layers`, which may be others than those asked, and of the papers.

        Raises
        ------
        InputError
            Naming the first colour that no surface has.
        """
        found = optics(bands, layers, self.seen_on, self.paper, self.spectra)
        check_attained(layers, found.reached, "layers_lab")
        return found

    def colour(
        self,
        bands: Bands,
        of: Optics,
        loads: Floats,
        opacity: Floats | None = None,
        *,
        depth: Floats | None = None,
    ) -> Floats:
        """Colour (..., 3) of layers that are laid, with another S (..., n) where one is given.

        Their optical `depth` (..., n, k) need not be worked out where it is known.
        """
        return bands.lab(
            self.model.reflectance(
                of.layers,
                of.seen_on,
                loads,
                tooth=self.tooth,
                trapping=self.trapping,
                opacity=self.opacity.middle if opacity is None else opacity,
                ground=of.ground,
                depth=depth,
                nodes=self.nodes,
            )
        )

    def each_colour(
        self, of: Optics, laid: Iterator[tuple[Floats, Floats, Floats | None]]
    ) -> Iterator[Floats]:
        """Colours (..., 3) of one after the other of other layers (..., n, k) at some loads
        (..., n), and their optical depths where these are known: as many together as memory is
        bounded, since what is alike in them is worked out once.
        """
        at_once = max(1, _STACKS // max(1, math.prod(self.loads.shape[:-1])))
        while some := [*islice(laid, at_once)]:
            layers, loads, depths = zip(*some, strict=True)
            together = of._replace(layers=np.stack(layers))
            depth = None if depths[0] is None else np.stack(depths)
            yield from self.colour(self.model.bands, together, np.stack(loads), depth=depth)


def predict(
    paper_lab: FloatsLike,
    layers_lab: FloatsLike,
    pressures: object = None,
    *,
    model: str | Model | ModelFunction = DEFAULT_MODEL,
    tooth: str | float = DEFAULT_TOOTH,
    trapping: float = TRAPPING,
    opacity: FloatsLike = 0.0,
    swatch_paper_lab: FloatsLike | None = None,
    spectra: FloatsLike | None = None,
) -> Floats:
    """Colour of layers over each other, first layer first, (..., n, 3) -> (..., 3).

    The layers are taken as clear unless `opacity` says otherwise: a pale pencil on dark paper, or
    light over dark, needs it. A layer of no opacity never lightens.

    Parameters
    ----------
    paper_lab
        Colour (..., 3) of the paper that is drawn on: CIE L*a*b*, D50, 2 degree observer.
    layers_lab
        Colour (..., n, 3) of every layer alone, laid heavily.
    pressures
        Names of PRESSURES or loads (heavy is 1), broadcast to (..., n); all heavy where None.
    model
        A name of MODELS, a row of it, or a function of the same form.
    tooth
        A name of TOOTH, or the n of the paper.
    trapping
        κ of the paper: how much less a layer takes where others lie; 0 for as much as on paper.
    opacity
        Scattering power S of every heavy layer, broadcast to (..., n). 0 is clear; 2 reflects
        two thirds over black.
    swatch_paper_lab
        Colour (..., 3) of the paper the layers were seen on; `paper_lab` where None.
    spectra
        Measured reflectances (..., n, 36) of the layers at WAVELENGTHS; rows of NaN where there
        is none.

    Raises
    ------
    InputError
        For values that are not as described, colours no surface has, and layers that are lighter
        than the paper they were seen on.

    >>> predict([95, 0, -2], [[85, 0, 80], [50, 60, 20]]).round(0).tolist()  # red over yellow
    [48.0, 56.0, 41.0]
    """
    asked = question(
        paper_lab,
        layers_lab,
        pressures,
        model=model,
        tooth=tooth,
        trapping=trapping,
        opacity=opacity,
        swatch_paper_lab=swatch_paper_lab,
        spectra=spectra,
    )
    bands = asked.model.bands
    return asked.colour(bands, asked.optics(bands, asked.layers), asked.loads)


def question(
    paper_lab: FloatsLike,
    layers_lab: FloatsLike,
    pressures: object,
    *,
    model: str | Model | ModelFunction,
    tooth: str | float,
    trapping: float,
    opacity: FloatsLike | Opacities,
    swatch_paper_lab: FloatsLike | None,
    spectra: FloatsLike | None,
) -> LayersAsked:
    """The arguments of `predict`, checked.

    Raises
    ------
    InputError
        As `predict` does, but for colours no surface has.
    """
    row, n = model_of(model), tooth_value(tooth)
    layers = as_lab(layers_lab, "layers_lab")
    if layers.ndim < 2:
        raise InputError(f"layers_lab: expected shape (..., n, 3), found {layers.shape}.")
    paper = as_lab(paper_lab, "paper_lab")
    seen_on = paper if swatch_paper_lab is None else as_lab(swatch_paper_lab, "swatch_paper_lab")
    check_lightness(layers, seen_on)
    loads = loads_of("heavy" if pressures is None else pressures)
    power = checked(opacity)
    return LayersAsked(
        model=row,
        tooth=n,
        trapping=trapping_value(trapping),
        paper=paper,
        seen_on=seen_on,
        layers=layers,
        loads=_per_layer(loads, layers, "pressures"),
        opacity=Opacities(*(_per_layer(part, layers, "opacity") for part in power)),
        spectra=spectra,
    )


def _per_layer(values: Floats, layers: Floats, name: str) -> Floats:
    """`values` broadcast to the layers (..., n, 3), their last axis being 1 or n."""
    count = layers.shape[-2]
    try:
        shape = np.broadcast_shapes(values.shape, layers.shape[:-1])
    except ValueError:
        shape = ()
    if shape[-1:] != (count,):
        raise InputError(f"{name}: shape {values.shape} does not go with {count} layers.")
    return np.broadcast_to(values, shape)


def tints(
    paper_lab: FloatsLike,
    lab: FloatsLike,
    *,
    pressures: Mapping[str, float] = PRESSURES,
    model: str | Model | ModelFunction = DEFAULT_MODEL,
    tooth: str | float = DEFAULT_TOOTH,
    opacity: FloatsLike = 0.0,
) -> Floats:
    """One pencil at every pressure, (..., 3) -> (..., p, 3), in the order of `pressures`."""
    layers = as_lab(lab)[..., None, None, :]
    paper = as_lab(paper_lab, "paper_lab")[..., None, :]
    power = as_floats(opacity, "opacity")[..., None, None]
    loads = np.array(list(pressures.values()))[:, None]
    return predict(paper, layers, loads, model=model, tooth=tooth, opacity=power)
