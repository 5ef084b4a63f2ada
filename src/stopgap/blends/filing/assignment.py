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
    families_meant,
    family_fits,
)
from stopgap.blends.filing.orders import Ordering, least_largest_step_once, order_once
from stopgap.defaults import LIGHTER
from stopgap.difference import delta_E
from stopgap.errors import NothingFoundError, UnknownSwatchError
from stopgap.naming import misleading_term
from stopgap.swatches import (
    NOT_FILED,
    ArrangedFamily,
    Arrangement,
    Finish,
    OwnPlace,
    Swatch,
    key_of,
)

ALSO_FROM = 0.25
"""The second family is named from this fit on: half the fit at a limit. This project's choice."""
ODD_BELOW = 0.45
"""With a lower best fit a swatch lies outside the limits of every family, where it is one half."""
FAMILY_OF_FINISH: Mapping[Finish, str] = MappingProxyType(
    {Finish.METALLIC: METALLICS, Finish.FLUORESCENT: FLUORESCENTS}
)


@dataclass(frozen=True, slots=True)
class Filed:
    """A swatch and its family.

    `fit` is 1 well inside the family and one half at its limit, None for a family of the user's
    own, which has no limits, and of a pencil without a colour; `also` is the second family that
    the swatch would serve; `odd` where it fits nowhere well; `pinned` where the user filed it;
    `misleading` is the colour word of its own name that its colour denies.
    """

    swatch: Swatch
    family: str = ""
    fit: float | None = None
    also: str | None = None
    odd: bool = False
    pinned: bool = False
    misleading: str | None = None


@dataclass(frozen=True, slots=True)
class Family:
    """The swatches of a family in their order, and the ΔE00 `steps` between neighbours.

    `proved` is what `Order` calls exact, None of an order that was kept. `section` and `note` are
    the user's, `guests` serve the family as a second one. `waiting` have no place in an arrangement
    yet, `names` one but no colour.
    """

    name: str
    filed: tuple[Filed, ...]
    steps: tuple[float, ...]
    proved: bool | None
    section: str = ""
    note: str = ""
    guests: tuple[Swatch, ...] = ()
    waiting: bool = False
    names: tuple[Filed, ...] = ()

    @property
    def largest_step(self) -> float:
        """The largest step, 0 for fewer than two swatches."""
        return max(self.steps, default=0.0)

    @property
    def exact(self) -> bool:
        """That of the order (see `Order`); of one that was kept it is said of the largest step."""
        return self.largest_step <= self.bound + 1e-9 if self.proved is None else self.proved

    @property
    def bound(self) -> float:
        """No order of them has a largest step below that; worked out when it is asked for."""
        labs = tuple(each.swatch.lab for each in self.filed)
        return self.largest_step if self.proved else least_largest_step_once(labs)


def family_name(text: str, arrangement: Arrangement | None = None) -> str:
    """The family that `text` names, whatever its case and spaces; the tool's or an arrangement's.

    Raises
    ------
    UnknownSwatchError
        If no family has that name.
    """
    folded = " ".join(text.split()).casefold()
    if arrangement is not None:
        return NOT_FILED if folded == NOT_FILED else arrangement.family(text).name
    if folded not in FAMILIES:
        raise UnknownSwatchError(f"family {text!r} is not one of: {', '.join(FAMILIES)}.")
    return folded


def file_swatches(
    swatches: Sequence[Swatch], arrangement: Arrangement | None = None
) -> tuple[Filed, ...]:
    """The family of each swatch, in the order of `swatches`.

    Without an arrangement, metallic and fluorescent pencils stand apart and all others go by
    colour, whatever they are called; with one they are where it has them, or in NOT_FILED.
    """
    if not swatches:
        return ()
    fits = family_fits([swatch.lab for swatch in swatches])
    proposed = [_file(swatch, row) for swatch, row in zip(swatches, fits, strict=True)]
    if arrangement is None:
        return tuple(proposed)
    known = arrangement.by_pencil()
    second = {key_of(one): each.name for each in arrangement.families for one in each.also}
    return tuple(
        _arranged(filed, row, known.get(key), second.get(key))
        for filed, row in zip(proposed, fits, strict=True)
        for key in [key_of(filed.swatch.address)]
    )


def families_named(
    swatches: Sequence[Swatch],
    names: Collection[str] = (),
    arrangement: Arrangement | None = None,
    uncoloured: Sequence[Swatch] = (),
    *,
    ordered: Ordering = order_once,
) -> tuple[Family, ...]:
    """The families of those names, every one where none is named; see `families`.

    A name may be one of FAMILY_WORDS. One of the user's own that is named is shown though empty.
    Pencils that are `uncoloured` and have a place stand behind the others.

    Raises
    ------
    UnknownSwatchError
        If a name is no family's.
    NothingFoundError
        If none of them has a member.
    """
    own = [each.name for each in arrangement.families] if arrangement else FAMILIES
    wanted = [family_name(one, arrangement) for name in names for one in families_meant(name, own)]
    found = families(swatches, arrangement, also_empty=wanted, ordered=ordered)
    found = _with_names(found, uncoloured, arrangement) if arrangement else found
    chosen = tuple(family for family in found if not wanted or family.name in wanted)
    if not chosen:
        raise NothingFoundError(
            f"No swatch is filed under {' or '.join(wanted) or 'any family'}; ask for less."
        )
    return chosen


def families(
    swatches: Sequence[Swatch],
    arrangement: Arrangement | None = None,
    tolerance: float = LIGHTER,
    *,
    also_empty: Collection[str] = (),
    ordered: Ordering = order_once,
) -> tuple[Family, ...]:
    """The families that have members, in their order, each from light to dark or as arranged.

    Parameters
    ----------
    swatches
        Of one range or of several.
    arrangement
        The user's own families; their order is kept whatever the swatches are. Those that it has
        no place for come last, together. Without one, the families are the tool's proposal for
        these swatches.
    tolerance
        How much lighter [L*] a swatch may be than one before it in a proposal.
    also_empty
        Names of families of the arrangement that are there even without a member.
    ordered
        How a family of the proposal is brought from light to dark.

    Raises
    ------
    UsageError
        For a negative tolerance.
    """
    filed = file_swatches(swatches, arrangement)
    by_family: dict[str, list[Filed]] = {}
    for each in filed:
        by_family.setdefault(each.family, []).append(each)
    if arrangement is None:
        there = [(name, by_family[name]) for name in FAMILIES if name in by_family]
        return tuple(_ordered(name, members, tolerance, ordered) for name, members in there)
    by_key = {key_of(swatch.address): swatch for swatch in swatches}
    found = [
        _kept_order(family, by_family.get(family.name, []), by_key)
        for family in arrangement.families
        if family.name in by_family
        or family.name in also_empty
        or (not family.places and family.name not in FAMILIES)
    ]
    if NOT_FILED in by_family:
        found.append(_waiting(by_family[NOT_FILED]))
    return tuple(found)


def _with_names(
    found: Sequence[Family], uncoloured: Sequence[Swatch], arrangement: Arrangement
) -> tuple[Family, ...]:
    """The families with the pencils without a colour that have a place in them."""
    there = {key_of(swatch.address): swatch for swatch in uncoloured}
    by_name = {family.name: family for family in found}
    for own in arrangement.families:
        names = tuple(
            Filed(swatch, own.name, pinned=place.by_hand)
            for place in own.places
            if (swatch := there.get(key_of(place.pencil))) is not None
        )
        if names:
            family = by_name.get(own.name, Family(own.name, (), (), proved=True))
            by_name[own.name] = replace(family, names=names, section=own.section, note=own.note)
    names_in_order = [*(family.name for family in arrangement.families), NOT_FILED]
    return tuple(by_name[name] for name in names_in_order if name in by_name)


def _file(swatch: Swatch, fits: Floats) -> Filed:
    misleading = misleading_term(swatch.name, swatch.lab)
    if (apart := FAMILY_OF_FINISH.get(swatch.finish)) is not None:
        return Filed(swatch, apart, 1.0, misleading=misleading)
    best, second = np.argsort(-fits, kind="stable")[:2]
    return Filed(
        swatch,
        COLOUR_FAMILIES[best],
        float(fits[best]),
        COLOUR_FAMILIES[second] if fits[second] >= ALSO_FROM else None,
        odd=bool(fits[best] < ODD_BELOW),
        misleading=misleading,
    )


def _arranged(
    filed: Filed,
    fits: Floats,
    where: tuple[ArrangedFamily, OwnPlace] | None,
    second: str | None,
) -> Filed:
    """The same where an arrangement has it; `second` is the family it serves besides."""
    if where is None:
        return replace(filed, family=NOT_FILED, fit=None, also=second, odd=False)
    family, place = where
    fit = _fit_in(family.name, fits)
    also = second
    if also is None and fit is not None:
        also = filed.also if filed.family == family.name else filed.family
    odd = filed.odd and fit is not None and not place.by_hand
    return replace(filed, family=family.name, fit=fit, also=also, odd=odd, pinned=place.by_hand)


def _fit_in(family: str, fits: Floats) -> float | None:
    """How well a swatch of those fits is in a family of that name; None if it has no limits."""
    name = key_of(family)
    if name in FAMILY_OF_FINISH.values():
        return 1.0
    return float(fits[COLOUR_FAMILIES.index(name)]) if name in COLOUR_FAMILIES else None


def _ordered(name: str, members: Sequence[Filed], tolerance: float, how: Ordering) -> Family:
    found = how(tuple(each.swatch.lab for each in members), tolerance)
    return Family(name, tuple(members[row] for row in found.rows), found.steps, found.exact)


def _waiting(members: Sequence[Filed]) -> Family:
    """Those without a place, range by range as they came: nobody has said how they should stand."""
    return Family(NOT_FILED, tuple(members), _steps(members), proved=False, waiting=True)


def _steps(line: Sequence[Filed]) -> tuple[float, ...]:
    lab = np.array([each.swatch.lab for each in line]).reshape(-1, 3)
    return tuple(delta_E(lab[:-1], lab[1:]).tolist()) if len(line) > 1 else ()


def _kept_order(
    family: ArrangedFamily, members: Sequence[Filed], by_key: Mapping[str, Swatch]
) -> Family:
    rank = {key_of(place.pencil): at for at, place in enumerate(family.places)}
    line = sorted(members, key=lambda each: rank[key_of(each.swatch.address)])
    guests = tuple(by_key[key_of(one)] for one in family.also if key_of(one) in by_key)
    own = (family.section, family.note, guests)
    return Family(family.name, tuple(line), _steps(line), None, *own)
