"""What papers and layers reflect, recovered from their colours: each colour once, all together."""

from collections.abc import Iterable
from typing import NamedTuple

import numpy as np

from stopgap.arrays import Booleans, Floats, FloatsLike, alike_rows
from stopgap.colorimetry.cielab import lab_of, relative_tristimulus
from stopgap.colorimetry.recovery.bands import Bands
from stopgap.colorimetry.recovery.weights import WAVELENGTHS, Recovered
from stopgap.errors import InputError
from stopgap.swatches import Swatch

MOST_LIGHTER = 2.0
"""How much lighter (L*) than its paper a layer may be, before it is taken for a mistake."""

_BRIGHTENED = 1.25  # the highest reflectance factor of a paper with fluorescent whitener


class Optics(NamedTuple):
    """Reflectances (..., k) of layers, of the paper they were seen on, and of that drawn on.

    `reached` (...) says which layers have the colour asked.
    """

    layers: Floats
    reached: Booleans
    seen_on: Floats
    ground: Floats


def optics(
    bands: Bands,
    layers: Floats,
    seen_on: Floats,
    paper: Floats,
    spectra: FloatsLike | None = None,
    *,
    duller: bool = True,
) -> Optics:
    """Optics of colours (..., 3), all recovered at once. Layers that are not reached are `duller`
    ones that are, or greys.

    `spectra` (..., 36) are measured ones of the layers, with rows of NaN where there is none.

    Raises
    ------
    InputError
        Naming the first colour that no paper has.
    """
    found, (base_reached, ground_reached) = nearest_optics(
        bands, layers, seen_on, paper, spectra, duller=duller
    )
    check_attained(paper, ground_reached, "paper_lab")
    check_attained(seen_on, base_reached, "swatch_paper_lab")
    return found


def nearest_optics(
    bands: Bands,
    layers: Floats,
    seen_on: Floats,
    paper: Floats,
    spectra: FloatsLike | None = None,
    *,
    duller: bool = True,
) -> tuple[Optics, tuple[Booleans, Booleans]]:
    """The same with the nearest that `bands` has to each colour, and which papers have theirs:
    those that layers were seen on, and those drawn on.
    """
    parts = (layers, seen_on, paper)
    near = None
    if spectra is not None and bands.measured:
        shape = (*layers.shape[:-1], WAVELENGTHS.size)
        measured = np.broadcast_to(np.asarray(spectra, dtype=np.float64), shape)
        near = np.full((sum(part.size // 3 for part in parts), WAVELENGTHS.size), np.nan)
        near[: layers.size // 3] = measured.reshape(-1, WAVELENGTHS.size)
    every = np.concatenate([part.reshape(-1, 3) for part in parts])
    found = _recovered(bands, every, near, duller=duller)
    ends = np.cumsum([part.size // 3 for part in parts])[:-1]
    pieces = [np.split(piece, ends) for piece in found]
    of_layers, base, ground = (
        Recovered(
            values.reshape(*part.shape[:-1], values.shape[-1]), reached.reshape(part.shape[:-1])
        )
        for part, values, reached in zip(parts, *pieces, strict=True)
    )
    base = _brightened(bands, seen_on, base, _BRIGHTENED)
    ground = _brightened(bands, paper, ground, _BRIGHTENED)
    brightest = float(base.reflectance.max())
    of_layers = _brightened(bands, layers, of_layers, brightest, duller=duller)
    found_optics = Optics(*of_layers, base.reflectance, ground.reflectance)
    return found_optics, (base.reached, ground.reached)


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
    near = None
    if spectra is not None and bands.measured:
        shape = (*lab.shape[:-1], WAVELENGTHS.size)
        near = np.broadcast_to(np.asarray(spectra, dtype=np.float64), shape)
    return _brightened(bands, lab, _recovered(bands, lab, near), brightest)


def check_attained(lab: Floats, reached: Booleans, name: str) -> None:
    """Refuse colours (..., 3) that were not `reached` (...), naming the first."""
    if not reached.all():
        L, a, b = lab[~reached][0]
        raise InputError(
            f"{name}: no surface has the colour lab({L:g} {a:g} {b:g}); check the values."
        )


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


def _recovered(bands: Bands, lab: Floats, near: Floats | None, *, duller: bool = True) -> Recovered:
    """What `bands` recovers of colours (..., 3), each solved once; measured ones by their own
    shape where that can be, and where it cannot as if nothing were measured.
    """
    rows = lab.reshape(-1, 3)
    if near is None:
        first, place = alike_rows(rows)
        values, reached = bands.reflectances(rows[first], None, duller)
    else:
        measured = near.reshape(len(rows), near.shape[-1])
        first, place = alike_rows(np.hstack([rows, measured]))
        rows, measured = rows[first], measured[first]
        values, reached = bands.reflectances(rows, measured, duller)
        lost = ~reached & ~np.isnan(measured).any(axis=1)
        if lost.any():
            values[lost], reached[lost] = bands.reflectances(rows[lost], None, duller)
    shape = lab.shape[:-1]
    return Recovered(values[place].reshape(*shape, values.shape[-1]), reached[place].reshape(shape))


def _brightened(
    bands: Bands, lab: Floats, found: Recovered, brightest: float, *, duller: bool = True
) -> Recovered:
    """`found`, and where it was not reached and may be brighter than white, as bright as that."""
    whitened = ~found.reached & (lab[..., 0] <= 100.0)
    if brightest > 1.0 and whitened.any():
        less = lab_of(relative_tristimulus(lab[whitened]) / brightest)
        values, found.reached[whitened] = _recovered(bands, less, None, duller=duller)
        found.reflectance[whitened] = values * brightest
    return found


def measured_spectra(swatches: Iterable[Swatch]) -> Floats:
    """Reflectances (m, 36) at WAVELENGTHS, straight between the samples and level beyond them.

    A swatch that was not measured spectrally has a row of NaN.
    """
    return np.array([_resampled(swatch) for swatch in swatches]).reshape(-1, WAVELENGTHS.size)


def _resampled(swatch: Swatch) -> Floats:
    measured = swatch.reflectance
    if measured is None:
        return np.full(WAVELENGTHS.size, np.nan)
    return np.interp(WAVELENGTHS, measured.wavelengths, measured.values)
