"""Probable mistakes of a range: warned of at import, and again whenever the range is checked."""

from collections.abc import Iterator, Sequence
from itertools import permutations

import numpy as np

from stopgap import colorimetry
from stopgap.arrays import Booleans, Floats
from stopgap.naming import misleading_term
from stopgap.swatches import Finish, Swatch

_SAME_DECIMALS = 2  # two pencils never agree so well in L*, a*, b*; one entry copied twice does
_MOST_SHOWN = 8
_FEWEST_FOR_SWAP = 6


def probable_mistakes(swatches: Sequence[Swatch]) -> list[str]:
    """One sentence for each probable mistake in swatches of one range.

    The cost grows linearly with the number of swatches.
    """
    plain = [swatch for swatch in swatches if swatch.finish is Finish.PLAIN]
    warnings: list[str] = []
    if plain:
        lab = np.array([swatch.lab for swatch in plain])
        outside = ~colorimetry.within_optimal_solid(lab)
        warnings += _swapped_columns(lab, outside)
        warnings += _shortened(_unreal(plain, outside))
    warnings += _shortened(_repeated(swatches))
    warnings += _shortened(_contradicting(plain))
    return warnings


def _swapped_columns(lab: Floats, outside: Booleans) -> list[str]:
    """Whether the colours become real when the columns are read in another order."""
    if len(lab) < _FEWEST_FOR_SWAP or outside.mean() < 0.1:
        return []
    names = ("L", "a", "b")
    for order in permutations(range(3)):
        if order != (0, 1, 2) and colorimetry.within_optimal_solid(lab[:, order]).all():
            read = ", ".join(names[index] for index in order)
            return [
                f"The columns L, a, b look swapped: {outside.sum()} colours are impossible as they "
                f"stand, none if they are read in the order {read}."
            ]
    return []


def _unreal(swatches: Sequence[Swatch], outside: Booleans) -> Iterator[str]:
    for swatch, is_outside in zip(swatches, outside, strict=True):
        if is_outside:
            L, a, b = swatch.lab
            yield (
                f"{swatch.code}: lab({L:.1f} {a:.1f} {b:.1f}) is more vivid than any surface can "
                "be (outside the optimal colour solid)."
            )


def _repeated(swatches: Sequence[Swatch]) -> Iterator[str]:
    first: dict[tuple[float, ...], Swatch] = {}
    for swatch in swatches:
        same = first.setdefault(tuple(round(value, _SAME_DECIMALS) for value in swatch.lab), swatch)
        if same is not swatch:
            yield (
                f"{same.code} and {swatch.code} have the same colour; one may have been entered "
                "twice."
            )


def _contradicting(swatches: Sequence[Swatch]) -> Iterator[str]:
    for swatch in swatches:
        term = misleading_term(swatch.name, swatch.lab)
        if term:
            L, a, b = swatch.lab
            yield (
                f"{swatch.code} {swatch.name!r}: lab({L:.1f} {a:.1f} {b:.1f}) is not what one "
                f"would call {term}. If the colour was measured so, nothing is wrong: it decides."
            )


def _shortened(warnings: Iterator[str]) -> list[str]:
    everything = list(warnings)
    shown = everything[:_MOST_SHOWN]
    if len(everything) > len(shown):
        shown.append(f"… and {len(everything) - len(shown)} more of this kind.")
    return shown
