"""Each swatch into its family, and each family from light to dark."""

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, replace
from types import MappingProxyType

import numpy as np

from stopgap.arrays import Floats
from stopgap.blends.filing.boundaries import (
    COLOUR_FAMILIES,
    FAMILIES,
    FLUORESCENTS,
    METALLICS,
    family_fits,
)
from stopgap.blends.filing.light_to_dark import DEFAULT_TOLERANCE, order
from stopgap.difference import delta_E
from stopgap.errors import NothingFoundError, UnknownSwatchError
from stopgap.naming import misleading_term
from stopgap.swatches import Finish, Swatch

ALSO_FROM = 0.25
"""The second family is named from this fit on: half the fit at a limit. This project's choice."""

ODD_BELOW = 0.45
"""With a lower best fit a swatch lies outside the limits of every family, where it is one half."""

_FAMILY_OF_FINISH = MappingProxyType({Finish.METALLIC: METALLICS, Finish.FLUORESCENT: FLUORESCENTS})


@dataclass(frozen=True, slots=True)
class Pin:
    """The user's own filing: into `family`, straight after the swatch of that address if given."""

    family: str
    after: str | None = None


NO_PINS: Mapping[str, Pin] = MappingProxyType({})


@dataclass(frozen=True, slots=True)
class Filed:
    """A swatch and its family.

    `fit` is 1 well inside the family and one half at its limit; `also` is the second family that
    the swatch would serve; `odd` where it fits nowhere well; `pinned` where the user filed it;
    `misleading` is the colour word of its own name that its colour denies.
    """

    swatch: Swatch
    family: str
    fit: float
    also: str | None
    odd: bool
    pinned: bool
    misleading: str | None


@dataclass(frozen=True, slots=True)
class Family:
    """The swatches of a family from light to dark, and the ΔE00 `steps` between neighbours.

    `exact` and `bound` are those of the order (see `Order`); swatches that the user
    put in a place of their own are not counted in them.
    """

    name: str
    filed: tuple[Filed, ...]
    steps: tuple[float, ...]
    exact: bool
    bound: float

    @property
    def largest_step(self) -> float:
        """The largest step, 0 for fewer than two swatches."""
        return max(self.steps, default=0.0)


def family_name(text: str) -> str:
    """The family that `text` names, whatever its case and spaces.

    Raises
    ------
    UnknownSwatchError
        If no family has that name.
    """
    folded = " ".join(text.split()).casefold()
    if folded not in FAMILIES:
        raise UnknownSwatchError(f"family {text!r} is not one of: {', '.join(FAMILIES)}.")
    return folded


def file_swatches(
    swatches: Sequence[Swatch], pins: Mapping[str, Pin] = NO_PINS
) -> tuple[Filed, ...]:
    """The family of each swatch, in the order of `swatches`.

    Metallic and fluorescent pencils stand apart; all others go by colour, whatever they are called.
    `pins` (by address) has the last word.

    Raises
    ------
    UnknownSwatchError
        If a pin names no family.
    """
    if not swatches:
        return ()
    fits = family_fits([swatch.lab for swatch in swatches])
    return tuple(
        _file(swatch, row, pins.get(swatch.address)) for swatch, row in zip(swatches, fits)
    )


def families_named(
    swatches: Sequence[Swatch], names: Collection[str] = (), pins: Mapping[str, Pin] = NO_PINS
) -> tuple[Family, ...]:
    """The families of those names that have members, every one where none is named; see `families`.

    Raises
    ------
    UnknownSwatchError
        If a name is no family's.
    NothingFoundError
        If none of them has a member.
    """
    wanted = [family_name(name) for name in names]
    found = families(swatches, pins)
    chosen = tuple(family for family in found if not wanted or family.name in wanted)
    if not chosen:
        raise NothingFoundError(
            f"No swatch is filed under {' or '.join(wanted) or 'any family'}; ask for less."
        )
    return chosen


def families(
    swatches: Sequence[Swatch],
    pins: Mapping[str, Pin] = NO_PINS,
    tolerance: float = DEFAULT_TOLERANCE,
) -> tuple[Family, ...]:
    """The families that have members, in the order of FAMILIES, each from light to dark.

    Parameters
    ----------
    swatches
        Of one range or of several.
    pins
        The user's filing by address; a pin's `after` is followed where that swatch is in the same
        family and they do not go round in a circle, as those of an older library may; else it is
        passed over, and the colour decides.
    tolerance
        How much lighter [L*] a swatch may be than one before it.

    Raises
    ------
    UnknownSwatchError
        If a pin names no family.
    UsageError
        For a negative tolerance.
    """
    filed = file_swatches(swatches, pins)
    return tuple(
        _ordered(name, members, pins, tolerance)
        for name in FAMILIES
        if (members := [each for each in filed if each.family == name])
    )


def _file(swatch: Swatch, fits: Floats, pin: Pin | None) -> Filed:
    misleading = misleading_term(swatch.name, swatch.lab)
    apart = _FAMILY_OF_FINISH.get(swatch.finish)
    if apart is not None:
        filed = Filed(swatch, apart, 1.0, None, odd=False, pinned=False, misleading=misleading)
    else:
        best, second = np.argsort(-fits, kind="stable")[:2]
        filed = Filed(
            swatch,
            COLOUR_FAMILIES[best],
            float(fits[best]),
            COLOUR_FAMILIES[second] if fits[second] >= ALSO_FROM else None,
            odd=bool(fits[best] < ODD_BELOW),
            pinned=False,
            misleading=misleading,
        )
    return filed if pin is None else _pinned(filed, fits, family_name(pin.family))


def _pinned(filed: Filed, fits: Floats, family: str) -> Filed:
    fit = float(fits[COLOUR_FAMILIES.index(family)]) if family in COLOUR_FAMILIES else 1.0
    also = filed.also if filed.family == family else filed.family
    return replace(filed, family=family, fit=fit, also=also, odd=False, pinned=True)


def _ordered(
    name: str, members: Sequence[Filed], pins: Mapping[str, Pin], tolerance: float
) -> Family:
    here = {each.swatch.address for each in members}
    after = _without_circles(
        {
            address: pin.after
            for address, pin in pins.items()
            if address in here and pin.after in here and pin.after is not None
        }
    )
    free = [each for each in members if each.swatch.address not in after]
    found = order([each.swatch.lab for each in free], tolerance)
    line = [free[row] for row in found.rows]
    _insert(line, [each for each in members if each.swatch.address in after], after)
    lab = np.array([each.swatch.lab for each in line])
    return Family(
        name, tuple(line), tuple(delta_E(lab[:-1], lab[1:]).tolist()), found.exact, found.bound
    )


def _without_circles(after: Mapping[str, str]) -> dict[str, str]:
    """`after` without the swatches of which each stands, in the end, after itself."""
    circling = set()
    for address in after:
        passed: set[str] = set()
        at: str | None = address
        while at is not None and at not in passed:
            passed.add(at)
            at = after.get(at)
        if at == address:
            circling.add(address)
    return {address: before for address, before in after.items() if address not in circling}


def _insert(line: list[Filed], waiting: list[Filed], after: Mapping[str, str]) -> None:
    """Put each of those that wait into the line behind the swatch that it goes after."""
    while waiting:
        addresses = [each.swatch.address for each in line]
        ready = next(each for each in waiting if after[each.swatch.address] in addresses)
        line.insert(addresses.index(after[ready.swatch.address]) + 1, ready)
        waiting.remove(ready)
