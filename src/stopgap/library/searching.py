"""Pencils by words of their name, range, code, or colour, as a search finds them.

Colour words are those of the standard (`naming`): the ISCC-NBS name of the colour on its three
levels. A word is found inside another one, in whatever language names are.
"""

import re
from collections.abc import Sequence
from functools import cache
from typing import NamedTuple

from stopgap.errors import NothingFoundError
from stopgap.library.name_index import NameIndex, other_names
from stopgap.library.spelling import normal, plain
from stopgap.swatches import Swatch

_NEAREST = 6
_FURTHEST = 20.0  # ΔE00; beyond it a difference is a direction, not a match
_WORD = re.compile(r"[^\W_]+")


class FoundPencil(NamedTuple):
    """A pencil that a search found, and what its colour is called by the standard."""

    swatch: Swatch
    called: str


def search_pencils(text: str, swatches: Sequence[Swatch]) -> list[FoundPencil]:
    """The pencils of which every word of `text` says something, the likeliest first.

    Before the others stands what bears the text as its code or its name, or is of exactly that
    colour; then what has its words whole, at the beginning of a word, and inside of one.
    """
    asked = _words(text)
    if not asked:
        return []
    wanted, phrase = normal(text), " ".join(asked)
    found = []
    for place, (swatch, called, words) in enumerate(_described(swatches)):
        ranks = [_rank(word, words) for word in asked]
        if None in ranks:
            continue
        names = (swatch.code, swatch.name, swatch.address, *other_names(swatch))
        itself = wanted in map(normal, names) or phrase == " ".join(_words(called))
        rank = (not itself, sum(filter(None, ranks)))
        found.append((rank, place, FoundPencil(swatch, called)))
    return [pencil for _, _, pencil in sorted(found, key=lambda each: each[:2])]


class OfColour(NamedTuple):
    """Pencils of a colour that was said in words; unless `so_called`, those that come nearest."""

    pencils: list[FoundPencil]
    so_called: bool = True


def pencils_of_colour(text: str, swatches: Sequence[Swatch]) -> OfColour:
    """The pencils whose colour the standard calls so, where `text` is of its words alone.

    Where there are none, those that come nearest to a centroid of that name.
    """
    from stopgap.naming import categories

    asked = _words(text)
    if not swatches or not asked or not _colour_words().issuperset(asked):
        return OfColour([])
    found = [
        (" ".join(_words(called)) != " ".join(asked), place, FoundPencil(swatch, called))
        for place, (swatch, called, words) in enumerate(_described(swatches, colour_only=True))
        if all(word in words for word in asked)
    ]
    if found:
        return OfColour([pencil for *_, pencil in sorted(found, key=lambda each: each[:2])])
    meant = [each.lab for each in categories() if set(asked) <= set(_words(" ".join(each[1:4])))]
    return OfColour(_nearest(meant, swatches), so_called=False) if meant else OfColour([])


def find_pencils(text: str, swatches: Sequence[Swatch], known: NameIndex) -> OfColour:
    """The pencils that a search for words shows: that say them, else whose colour they name.

    Raises
    ------
    NothingFoundError
        If there are none; it says how many of all that are `known` are called so without a colour.
    """
    found = search_pencils(text, swatches)
    if found:
        return OfColour(found)
    near = pencils_of_colour(text, swatches).pencils
    if near:
        return OfColour(near, so_called=False)
    waiting = len(known.without_colour.bearing(text))
    has = f"; {waiting} called so {'has' if waiting == 1 else 'have'} no colour yet"
    raise NothingFoundError(
        f"No pencil has {text!r} in its name or its colour{has if waiting else ''}."
    )


def _nearest(
    labs: Sequence[tuple[float, float, float]], swatches: Sequence[Swatch]
) -> list[FoundPencil]:
    import numpy as np

    from stopgap.difference import delta_E
    from stopgap.naming import iscc_nbs

    every = np.array([swatch.lab for swatch in swatches])
    away = delta_E(every[:, None, :], np.array(labs)[None, :, :]).min(axis=1)
    rows = np.argsort(away, kind="stable")[:_NEAREST].tolist()
    rows = [row for row in rows if away[row] <= _FURTHEST]
    return [FoundPencil(swatches[row], str(iscc_nbs(swatches[row].lab))) for row in rows]


def _described(
    swatches: Sequence[Swatch], *, colour_only: bool = False
) -> list[tuple[Swatch, str, list[str]]]:
    """Each pencil, what its colour is called, and its words."""
    from stopgap.naming import categories, category_rows

    if not swatches:
        return []
    rows = category_rows([swatch.lab for swatch in swatches])
    every = categories()
    described = []
    for swatch, row in zip(swatches, rows.tolist(), strict=True):
        category = every[row]
        said = [category.name, category.level_2, category.level_1]
        if not colour_only:
            said += [swatch.code, swatch.name, swatch.range, *other_names(swatch)]
        described.append((swatch, category.name, _words(" ".join(said))))
    return described


@cache
def _colour_words() -> frozenset[str]:
    from stopgap.naming import categories

    return frozenset(
        word
        for each in categories()
        for name in (each.name, each.level_2, each.level_1)
        for word in _words(name)
    )


def _rank(word: str, words: Sequence[str]) -> int | None:
    """0 for a whole word, 1 for the beginning of one, 2 inside of one, None where it is nowhere."""
    if word in words:
        return 0
    inside = [has.find(word) for has in words if word in has]
    return None if not inside else 1 if 0 in inside else 2


def _words(text: str) -> list[str]:
    """Words as they are compared; gray is grey."""
    return _WORD.findall(plain(text).replace("grey", "gray"))
