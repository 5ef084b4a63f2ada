"""An arrangement: the user's own families, their order and the order inside them.

A place is a rank: where a pencil stands is said by nothing but the sequence, so that no move can
lead round in a circle, and what moves one pencil leaves the order of all others as it was. Pencils
are addresses, `RANGE:CODE` in any case, and stay where they were put without the library too.
"""

from collections.abc import Iterable, Mapping, Sequence
from typing import Any, NamedTuple, Self

from stopgap.errors import InputError, UnknownSwatchError, nearest_spellings

PROPOSAL = "proposal"
"""What the tool's own families are called where arrangements are named."""
NOT_FILED = "not filed yet"
"""What those together are called that an arrangement has no place for."""
LONGEST_NAME = 80


class OwnPlace(NamedTuple):
    """A pencil's place in a family; `by_hand` where the user put it there."""

    pencil: str
    by_hand: bool = False


class ArrangedFamily(NamedTuple):
    """A family of the user's own, its places in order.

    `section` is the page or box that it is in, `also` pencils of other families that serve it too.
    """

    name: str
    places: tuple[OwnPlace, ...] = ()
    section: str = ""
    note: str = ""
    also: tuple[str, ...] = ()


class Arrangement(NamedTuple):
    """Families in order; `fills`: a pencil without a place takes its cheapest; `step` melts."""

    name: str
    families: tuple[ArrangedFamily, ...] = ()
    fills: bool = True
    step: float | None = None

    def family(self, name: str) -> ArrangedFamily:
        """The family of that name, in any case; raises UnknownSwatchError where there is none."""
        wanted = key_of(" ".join(name.split()))
        for family in self.families:
            if key_of(family.name) == wanted:
                return family
        names = [family.name for family in self.families]
        raise UnknownSwatchError(
            f"family {name!r:.90} is not one of: {', '.join(names) or 'none yet'}."
            f"{nearest_spellings(name, names)}"
        )

    def by_pencil(self) -> dict[str, tuple[ArrangedFamily, OwnPlace]]:
        """Family and place by the key of a pencil (see `key_of`)."""
        return {
            key_of(place.pencil): (family, place)
            for family in self.families
            for place in family.places
        }

    def as_data(self) -> list[Any]:
        """The families in lists and texts, for `from_data`."""
        return [
            {
                "name": family.name,
                "section": family.section,
                "note": family.note,
                "places": [[place.pencil, int(place.by_hand)] for place in family.places],
                "also": list(family.also),
            }
            for family in self.families
        ]

    @classmethod
    def from_data(cls, name: str, data: Iterable[Mapping[str, Any]], *, fills: bool) -> Self:
        """The arrangement whose families `as_data` gave."""
        families = (
            ArrangedFamily(
                family["name"],
                tuple(OwnPlace(pencil, bool(by_hand)) for pencil, by_hand in family["places"]),
                family["section"],
                family["note"],
                tuple(family["also"]),
            )
            for family in data
        )
        return cls(name, tuple(families), fills)


def key_of(text: str) -> str:
    """A name or an address as it is compared, whatever its case."""
    return text.casefold()


def plain_name(text: str, of: str = "family") -> str:
    """The name of a family or an arrangement, in any language, spaces in it made single.

    Raises
    ------
    InputError
        If it is empty, too long, or holds what cannot be printed.
    """
    name = " ".join(text.split())
    if not name or len(name) > LONGEST_NAME or not name.isprintable():
        raise InputError(
            f"{name!r:.90} is no name of {'an' if of[0] in 'aeiou' else 'a'} {of}: expected one "
            f"line of 1 to {LONGEST_NAME} letters."
        )
    if key_of(name) in (PROPOSAL, NOT_FILED):
        raise InputError(f"{name!r} is a word of the tool's own here. Take another name.")
    return name


def add_family(
    arrangement: Arrangement,
    name: str,
    *,
    section: str = "",
    note: str = "",
    before: str | None = None,
) -> Arrangement:
    """With a new family, the last one or before another; raises where the name is there already."""
    family = ArrangedFamily(plain_name(name), (), section, note)
    _refuse_known(arrangement, family.name)
    return _with_family(arrangement, family, before)


def change_family(
    arrangement: Arrangement,
    name: str,
    *,
    new_name: str | None = None,
    section: str | None = None,
    note: str | None = None,
    before: str | None = None,
    last: bool = False,
) -> Arrangement:
    """With a family renamed, in another section, noted upon, or in another place among families."""
    old = arrangement.family(name)
    family = old._replace(
        name=old.name if new_name is None else plain_name(new_name),
        section=old.section if section is None else section.strip(),
        note=old.note if note is None else note.strip(),
    )
    if key_of(family.name) != key_of(old.name):
        _refuse_known(arrangement, family.name)
    if before is None and not last:
        return _replaced(arrangement, {old.name: family})
    if before is not None and arrangement.family(before) == old:
        raise InputError(f"{old.name} cannot stand before itself. Name another family.")
    rest = tuple(each for each in arrangement.families if each != old)
    return _with_family(arrangement._replace(families=rest), family, before)


def remove_family(arrangement: Arrangement, name: str) -> Arrangement:
    """Without a family that has no place; raises InputError where it has any."""
    gone = arrangement.family(name)
    if gone.places:
        raise InputError(f"{gone.name} holds {len(gone.places)} pencils; join it to another.")
    rest = tuple(each for each in arrangement.families if each != gone)
    return arrangement._replace(families=rest)


def join_families(arrangement: Arrangement, names: Sequence[str], into: str) -> Arrangement:
    """With the pencils of families behind those of another, in their order, and the former gone."""
    target = arrangement.family(into)
    gone = list(dict.fromkeys(arrangement.family(name) for name in names))
    if target in gone:
        raise InputError(f"{target.name} cannot be joined to itself. Name another family.")
    joined = target._replace(
        places=(*target.places, *(place for family in gone for place in family.places)),
        note=" ".join(filter(None, (target.note, *(family.note for family in gone)))),
        also=tuple(dict.fromkeys((*target.also, *(one for each in gone for one in each.also)))),
    )
    own = {key_of(place.pencil) for place in joined.places}
    joined = joined._replace(also=tuple(one for one in joined.also if key_of(one) not in own))
    rest = tuple(each for each in arrangement.families if each not in gone)
    return _replaced(arrangement._replace(families=rest), {target.name: joined})


def split_family(
    arrangement: Arrangement, name: str, new_name: str, pencils: Sequence[str]
) -> Arrangement:
    """With those pencils of a family in a new one straight behind it, in the order they had."""
    old = arrangement.family(name)
    wanted = {key_of(pencil) for pencil in pencils}
    moved = tuple(place for place in old.places if key_of(place.pencil) in wanted)
    missing = wanted - {key_of(place.pencil) for place in moved}
    if missing:
        named = [pencil for pencil in pencils if key_of(pencil) in missing]
        raise InputError(f"{', '.join(named)}: not in the family {old.name}. Name pencils of it.")
    by_hand = tuple(place._replace(by_hand=True) for place in moved)
    fresh = ArrangedFamily(plain_name(new_name), by_hand, old.section)
    _refuse_known(arrangement, fresh.name)
    kept = old._replace(places=tuple(place for place in old.places if place not in moved))
    families: list[ArrangedFamily] = []
    for family in arrangement.families:
        families += [kept, fresh] if family == old else [family]
    return arrangement._replace(families=tuple(families))


def move_pencils(
    arrangement: Arrangement, pencils: Sequence[str], to: str, at: int, *, by_hand: bool = True
) -> Arrangement:
    """With pencils, in the order given, before the place `at` of a family, counted without them."""
    moved = {key_of(pencil): OwnPlace(pencil, by_hand) for pencil in pencils}
    target = key_of(arrangement.family(to).name)
    families = []
    for family in without_pencils(arrangement, pencils).families:
        if key_of(family.name) == target:
            places = (*family.places[:at], *moved.values(), *family.places[at:])
            also = tuple(one for one in family.also if key_of(one) not in moved)
            families.append(family._replace(places=places, also=also))
        else:
            families.append(family)
    return arrangement._replace(families=tuple(families))


def place_beside(
    arrangement: Arrangement, pencils: Sequence[str], to: str, beside: str, *, after: bool
) -> int:
    """The place before or after a pencil in a family, counted without those that are moved.

    Raises
    ------
    InputError
        If it is one of those moved, or not in that family.
    """
    moved = {key_of(pencil) for pencil in pencils}
    family = arrangement.family(to)
    if key_of(beside) in moved:
        raise InputError(f"{beside} cannot stand beside itself. Name another pencil.")
    rest = [key_of(place.pencil) for place in family.places if key_of(place.pencil) not in moved]
    if key_of(beside) not in rest:
        raise InputError(f"{beside} is not in the family {family.name}. Name a pencil of it.")
    return rest.index(key_of(beside)) + after


def without_pencils(arrangement: Arrangement, pencils: Iterable[str]) -> Arrangement:
    """With the places of those pencils given up; all others keep theirs."""
    gone = {key_of(pencil) for pencil in pencils}
    families = (
        family._replace(
            places=tuple(one for one in family.places if key_of(one.pencil) not in gone)
        )
        for family in arrangement.families
    )
    return arrangement._replace(families=tuple(families))


def serve_also(arrangement: Arrangement, pencils: Sequence[str], to: str | None) -> Arrangement:
    """With pencils that serve a second family too, beside that they are in; None for none."""
    keys = {key_of(pencil) for pencil in pencils}
    target = None if to is None else arrangement.family(to)
    families = []
    for family in arrangement.families:
        also = family.also
        if target is None:
            also = tuple(one for one in also if key_of(one) not in keys)
        elif family == target:
            own = {key_of(place.pencil) for place in family.places}
            known = own | {key_of(one) for one in also}
            also = (*also, *(one for one in pencils if key_of(one) not in known))
        families.append(family._replace(also=also))
    return arrangement._replace(families=tuple(families))


def reorder(arrangement: Arrangement, name: str, pencils: Sequence[str]) -> Arrangement:
    """With a family in another order; places that are not named follow as they were."""
    family = arrangement.family(name)
    rank = {key_of(pencil): place for place, pencil in enumerate(pencils)}
    places = sorted(family.places, key=lambda one: rank.get(key_of(one.pencil), len(rank)))
    return _replaced(arrangement, {family.name: family._replace(places=tuple(places))})


def _refuse_known(arrangement: Arrangement, name: str) -> None:
    if any(key_of(family.name) == key_of(name) for family in arrangement.families):
        raise InputError(f"A family called {name!r} is in {arrangement.name} already.")


def _with_family(
    arrangement: Arrangement, family: ArrangedFamily, before: str | None
) -> Arrangement:
    """With a family before another, or as the last."""
    families = list(arrangement.families)
    at = len(families) if before is None else families.index(arrangement.family(before))
    families.insert(at, family)
    return arrangement._replace(families=tuple(families))


def _replaced(arrangement: Arrangement, by_name: Mapping[str, ArrangedFamily]) -> Arrangement:
    families = tuple(by_name.get(family.name, family) for family in arrangement.families)
    return arrangement._replace(families=families)
