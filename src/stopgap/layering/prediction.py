"""The colour of layers, from the colours of the paper and of every layer alone."""

from collections.abc import Mapping

import numpy as np

from stopgap.arrays import Booleans, Floats, FloatsLike, as_floats, as_lab
from stopgap.errors import InputError
from stopgap.layering.bands import Bands
from stopgap.layering.laying import DEFAULT_TOOTH, PRESSURES, loads_of, tooth_value
from stopgap.layering.models import DEFAULT_MODEL, Model, ModelFunction, model_of
from stopgap.layering.tristimulus import lab_of, relative_tristimulus
from stopgap.layering.weights import WAVELENGTHS

MOST_LIGHTER = 2.0
"""How much lighter (L*) than its paper a layer may be, before it is taken for a mistake."""

_BRIGHTENED = 1.25  # the highest reflectance factor of a paper with fluorescent whitener


def predict(
    paper_lab: FloatsLike,
    layers_lab: FloatsLike,
    pressures: object = None,
    *,
    model: str | Model | ModelFunction = DEFAULT_MODEL,
    tooth: str | float = DEFAULT_TOOTH,
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
    row, n = model_of(model), tooth_value(tooth)
    layers = as_lab(layers_lab, "layers_lab")
    if layers.ndim < 2:
        raise InputError(f"layers_lab: expected shape (..., n, 3), found {layers.shape}.")
    paper = as_lab(paper_lab, "paper_lab")
    seen_on = paper if swatch_paper_lab is None else as_lab(swatch_paper_lab, "swatch_paper_lab")
    check_lightness(layers, seen_on)
    loads = loads_of("heavy" if pressures is None else pressures)
    power = as_floats(opacity, "opacity")
    if (power < 0.0).any():
        raise InputError("opacity: a scattering power cannot be negative.")
    ground = paper_reflectance(row.bands, paper, "paper_lab")
    base = ground
    if seen_on is not paper:
        base = paper_reflectance(row.bands, seen_on, "swatch_paper_lab")
    colours, reached = attainable(row.bands, layers, spectra, brightest=float(base.max()))
    check_attained(layers, reached, "layers_lab")
    loads = _per_layer(loads, layers, "pressures")
    power = _per_layer(power, layers, "opacity")
    return row.bands.lab(row.function(colours, base, loads, tooth=n, opacity=power, ground=ground))


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


def paper_reflectance(bands: Bands, lab: Floats, name: str) -> Floats:
    """Reflectance (..., k) of papers (..., 3), above 1 only where a whitener makes it so.

    Raises
    ------
    InputError
        Naming the first colour that no paper has.
    """
    values, reached = attainable(bands, lab, brightest=_BRIGHTENED)
    check_attained(lab, reached, name)
    return values


def attainable(
    bands: Bands, lab: Floats, spectra: FloatsLike | None = None, *, brightest: float = 1.0
) -> tuple[Floats, Booleans]:
    """Reflectances (..., k) of colours (..., 3), and whether they have these colours.

    Those that no reflectance up to 1 has may go up to `brightest`: paper with whitener, and what
    lies on it.
    """
    colours, back = np.unique(lab.reshape(-1, 3), axis=0, return_inverse=True)
    values, reached = bands.reflectances(colours, None)
    whitened = np.flatnonzero(~reached & (colours[:, 0] <= 100.0))
    if whitened.size and brightest > 1.0:
        duller = lab_of(relative_tristimulus(colours[whitened]) / brightest)
        brighter, reached[whitened] = bands.reflectances(duller, None)
        values[whitened] = brighter * brightest
    values = values[back.ravel()].reshape(*lab.shape[:-1], values.shape[-1])
    reached = reached[back.ravel()].reshape(lab.shape[:-1])
    return _with_spectra(bands, lab, values, spectra), reached


def check_attained(lab: Floats, reached: Booleans, name: str) -> None:
    """Refuse colours (..., 3) that were not `reached` (...), naming the first."""
    if not reached.all():
        L, a, b = lab[~reached][0]
        raise InputError(
            f"{name}: no surface has the colour lab({L:g} {a:g} {b:g}); check the values."
        )


def _with_spectra(bands: Bands, lab: Floats, values: Floats, spectra: FloatsLike | None) -> Floats:
    """`values`, and where a spectrum was measured, that spectrum brought to its colour."""
    if spectra is None or not bands.measured:
        return values
    shape = (*lab.shape[:-1], WAVELENGTHS.size)
    measured = np.broadcast_to(np.asarray(spectra, dtype=np.float64), shape)
    known = ~np.isnan(measured).any(axis=-1)
    near = bands.reflectances(lab[known], measured[known])
    values[known] = np.where(near.reached[:, None], near.reflectance, values[known])
    return values


def check_lightness(layers: Floats, paper: Floats) -> None:
    """Refuse layers (..., n, 3) that are lighter than the paper (..., 3) they lie on."""
    above = layers[..., 0] - paper[..., None, 0]
    if (above > MOST_LIGHTER).any():
        at = np.unravel_index(above.argmax(), above.shape)
        lightness = np.broadcast_to(paper[..., None, 0], above.shape)[at]
        raise InputError(
            f"layers_lab: layer {at[-1] + 1} (L* {layers[..., 0][at]:.1f}) is lighter than the "
            f"paper it lies on (L* {lightness:.1f}); give the paper the swatches were made on as "
            "swatch_paper_lab, and an opacity if the pencil covers."
        )
