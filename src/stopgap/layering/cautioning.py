"""What an artist should be told beside a recipe, in the words of the trade.

The limits are common practice and this project's estimates; they have no source.
"""

from collections.abc import Sequence

from stopgap.layering.conditions import DEFAULT_TOOTH, TOOTH
from stopgap.layering.opacities import OPACITIES, TO_COVER
from stopgap.swatches import Finish, Opacity, Swatch

PREDICTED = "A prediction: try it on a scrap of the same paper first."

_HIDING = OPACITIES[Opacity.COVERS][0]  # S from which a pencil covers
_HEAVY_LAYERS = 2.0  # what a drawing paper holds; less tooth holds less, by the root of n


def cautions(
    layers: Sequence[Swatch],
    loads: Sequence[float],
    *,
    tooth: float,
    opacity: Sequence[float] | None = None,
) -> tuple[str, ...]:
    """Cautions for pencils laid in this order with these loads, the general one last.

    `opacity` is the least S that each may have.
    """
    power = [0.0] * len(layers) if opacity is None else opacity
    return (
        *_covering(layers, power),
        *_tooth(loads, tooth),
        *_finishes(layers),
        *_lightfastness(layers),
        PREDICTED,
    )


def _covering(layers: Sequence[Swatch], opacity: Sequence[float]) -> list[str]:
    return [
        f"{upper.address} is lighter than {lower.address} beneath and would have to cover; "
        "that needs an opaque pencil."
        for lower, upper, S in zip(layers, layers[1:], opacity[1:])
        if upper.lab[0] > lower.lab[0] + TO_COVER and S < _HIDING
    ]


def _tooth(loads: Sequence[float], tooth: float) -> list[str]:
    if sum(loads) <= _HEAVY_LAYERS * (TOOTH[DEFAULT_TOOTH] / tooth) ** 0.5 + 1e-9:
        return []
    return ["More colour than the tooth of this paper may hold: lay the first layers lighter."]


def _finishes(layers: Sequence[Swatch]) -> list[str]:
    found = []
    for swatch in layers:
        if swatch.finish is Finish.METALLIC:
            found.append(
                f"{swatch.address} is metallic: its look under or over another is a guess."
            )
        if swatch.finish is Finish.FLUORESCENT:
            found.append(f"{swatch.address} is fluorescent: it fades, and its layers are a guess.")
    return found


def _lightfastness(layers: Sequence[Swatch]) -> list[str]:
    unknown = [swatch.address for swatch in layers if swatch.lightfastness is None]
    scales = {swatch.lightfastness.scale for swatch in layers if swatch.lightfastness is not None}
    notes = (
        [f"Lightfastness of {' and '.join(dict.fromkeys(unknown))} is not known."]
        if unknown
        else []
    )
    if len(scales) > 1:
        notes.append("The pencils are rated for lightfastness on different scales.")
    return notes
