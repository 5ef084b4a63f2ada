"""Text to target: `RANGE:CODE`, a name, `#c04a2b`, `lab(52 40 30)`, as people write them.

Programs may also ask with a swatch, or with L*, a*, b* themselves.
"""

from collections.abc import Sequence
from typing import TYPE_CHECKING, TypeAlias

from stopgap.errors import InputError, NothingFoundError, Remedy, StopgapError, UnknownSwatchError
from stopgap.library.name_index import NameIndex
from stopgap.swatches import FreeColour, Layer, Pressure, Swatch, Target

if TYPE_CHECKING:
    from stopgap.arrays import Floats

_MOST_LISTED = 6
Known = Sequence[Swatch] | NameIndex
"""Pencils to look among; an index of them where many names are looked up."""
Askable: TypeAlias = "str | Target | Sequence[float] | Floats"
"""What a colour may be asked for by: text, a swatch, a free colour, or CIE L*, a*, b* under D50."""


def find_target(text: Askable, known: Known) -> Target:
    """The colour that `text` asks for: a colour notation, else a pencil, else six hex digits.

    What is no text is the colour itself: a swatch, a free colour, or L*, a*, b* of shape (3,).

    Raises
    ------
    InputError
        If it is a malformed colour, a name that several pencils bear, or nothing of all these.
    UnknownSwatchError
        If nothing bears the name; those that it may stand for are named, or where it says a colour
        in words, pencils of such a colour, or that the only one was never swatched dry.
    NothingFoundError
        If the only one that bears the name has no colour yet.
    """
    if not isinstance(text, str):
        return _as_it_is(text)
    index = NameIndex.of(known)
    colour = _colour(text) if "#" in text or "(" in text else None  # in a notation is one of them
    if colour is not None:
        return colour
    found = index.bearing(text)
    if not found:
        colour = _colour(text, bare=True)
    return colour or _one(text, found, index)


def find_asked(text: Askable, known: Known) -> Target:
    """As `find_target`, for who asks about one: says so where words are but a part of names.

    To look through all names takes a time that grows with them.
    """
    index = NameIndex.of(known)
    try:
        return find_target(text, index)
    except UnknownSwatchError as error:
        if error.remedy is not None or not isinstance(text, str):
            raise
        from stopgap.library.searching import search_pencils

        found = search_pencils(text, index.swatches)
        if not found:
            raise
        are = "is a pencil" if len(found) == 1 else f"are {len(found)} pencils"
        raise UnknownSwatchError(
            f"No swatch is called {text.strip()!r}, but there {are} of which the words say a part: "
            f"{_listed([each.swatch for each in found])}.",
            remedy=Remedy.SEARCH,
            words=text.strip(),
        ) from error


def find_swatch(text: str, known: Known) -> Swatch:
    """The one pencil that `text` names; raises as `find_target` does."""
    index = NameIndex.of(known)
    return _one(text, index.bearing(text), index)


def find_several(text: str, known: Known) -> tuple[Swatch, ...]:
    """The pencils that `text` names: one, those of a range, or from one code to another.

    Raises as `find_target` does.
    """
    index = NameIndex.of(known)
    found = index.bearing(text, loosely=False)
    if found:
        return (_one(text, found, index),)
    span = index.span(text)
    return span.swatches if span else (find_swatch(text, index),)


def _as_it_is(asked: "Target | Sequence[float] | Floats") -> Target:
    """A target that is not named but given; raises as `find_target` does."""
    from stopgap.arrays import one_lab

    if isinstance(asked, Swatch):
        if not asked.coloured:
            raise _without_colour([asked])
        return asked
    try:
        L, a, b = one_lab(asked.lab if isinstance(asked, FreeColour) else asked, "target").tolist()
    except InputError as error:
        raise InputError(
            f"target: expected text, a swatch, or L*, a*, b* of one colour; found {asked!r:.60}."
        ) from error
    return asked if isinstance(asked, FreeColour) else FreeColour(_notation(L, a, b), (L, a, b))


def _notation(L: float, a: float, b: float) -> str:
    """L*, a*, b* as people write them."""
    return f"lab({round(L, 2) + 0.0:g} {round(a, 2) + 0.0:g} {round(b, 2) + 0.0:g})"


def _colour(text: str, *, bare: bool = False) -> FreeColour | None:
    from stopgap.colorimetry import parse_colour

    lab = parse_colour(text.strip(), bare=bare)
    if lab is None:
        return None
    L, a, b = (float(value) for value in lab)
    return FreeColour(text.strip(), (L, a, b))


def _one(text: str, found: Sequence[Swatch], index: NameIndex) -> Swatch:
    """The only one found; raises where there are several, or none."""
    wanted = text.strip()
    if not wanted:
        raise InputError("target: expected RANGE:CODE, a name, #rrggbb or lab(L a b).")
    if len(found) == 1:
        return found[0]
    if found:
        raise InputError(
            f"{wanted!r} is the name of several: {_listed(found)}. Say which, RANGE:CODE."
        )
    span = index.span(wanted)
    if span is not None:
        count = len(span.swatches)
        if count == 1:
            return span.swatches[0]
        raise InputError(f"{wanted!r} stands for {count} pencils. One is asked for here.")
    missed = index.without_colour.bearing(wanted)
    if not missed and (waiting := index.without_colour.span(wanted)) is not None:
        missed = list(waiting.swatches)
    raise _without_colour(missed) if missed else _unknown(wanted, index)


def _without_colour(swatches: Sequence[Swatch]) -> StopgapError:
    """That pencils cannot be told from their names alone, nor from wetted swatches."""
    first = swatches[0]
    pencil = f"{first.range} {first.code}"
    if first.coloured:
        return UnknownSwatchError(
            f"{_listed(swatches[:1])} was never swatched dry, and a wetted swatch tells nothing of "
            "dry colour.",
            remedy=Remedy.SWATCH_DRY,
            pencil=pencil,
        )
    told = f"None of {_listed(swatches)} has a colour yet."
    if len(swatches) == 1:
        told = f"{_listed(swatches)} has no colour yet."
    return NothingFoundError(told, remedy=Remedy.GIVE_COLOUR, pencil=pencil)


def _unknown(wanted: str, index: NameIndex) -> UnknownSwatchError:
    from stopgap.library.searching import pencils_of_colour

    of_colour, so_called = pencils_of_colour(wanted, index.swatches)
    if of_colour:
        how = "of" if so_called else "nearest to"
        are = "is" if len(of_colour) == 1 else "are"
        return UnknownSwatchError(
            f"No pencil is called {wanted!r}, but {how} that colour {are} "
            f"{_listed([each.swatch for each in of_colour])}.",
            remedy=Remedy.SEARCH,
            words=wanted,
        )
    near = index.meant(wanted)
    hint = f" Did you mean {' or '.join(map(repr, near))}?" if near else ""
    return UnknownSwatchError(
        f"No swatch is called {wanted!r}.{hint} A colour of its own is written #rrggbb or "
        "lab(52 40 30)."
    )


def _listed(swatches: Sequence[Swatch]) -> str:
    shown = ", ".join(
        f"{swatch.address} ({swatch.name})" if swatch.name else swatch.address
        for swatch in swatches[:_MOST_LISTED]
    )
    more = len(swatches) - _MOST_LISTED
    return f"{shown} and {more} more" if more > 0 else shown


def find_addresses(texts: Sequence[str], known: Known) -> list[str]:
    """The addresses of the pencils that texts call for, each once; raises as `find_several`."""
    index = NameIndex.of(known)
    found = (each.address for text in texts for each in find_several(text, index))
    return list(dict.fromkeys(found))


def find_layer(text: str, known: Known) -> Layer:
    """A pencil and how hard it is laid, such as `Shore:7 medium`; heavy where nothing is said.

    Raises as `find_swatch` does.
    """
    index = NameIndex.of(known)
    name, _, pressure = text.strip().rpartition(" ")
    laid = pressure.casefold() in list(Pressure) and bool(name)
    if laid and (index.bearing(name) or not index.bearing(text)):
        return Layer(find_swatch(name, index), pressure.casefold())
    return Layer(find_swatch(text, index), str(Pressure.HEAVY))
