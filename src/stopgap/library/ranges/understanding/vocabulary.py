"""What people call columns, write in cells and head sections with; the words lie in a table.

`vocabulary.toml` has them in English, German, French, Spanish, Italian and Dutch.
"""

import re
import unicodedata
from collections.abc import Iterable, Mapping, Sequence
from functools import cache
from pathlib import Path
from types import MappingProxyType
from typing import Any, NamedTuple

from stopgap.library.ranges.understanding.grid import wavelength_of
from stopgap.library.tables.cells import unkept
from stopgap.library.tables.columns import KNOWN, folded, is_spectral
from stopgap.swatches import FIELDS

_SIGNS = frozenset("#€$£¥✓")
_NO_ASCII_WORD = re.compile(r"[^0-9a-z#$]+")  # the same as below, at a fifth of its time
# patterns are compiled where they are first asked for: a file headed as here never asks
_COORDINATE = (
    r"(?i)(?:cie[\s-]*)?(?:lab[\s-]*)?(?P<axis>[labxyz])\s*(?:\*|star)?"
    r"[\s(,;/_\[-]*(?P<white>d\s?\d\d|c|f\d{1,2})?[\s,;/_°-]*(?P<observer>(?:2|10)(?=\s*°|\s*deg|\W*$))?"
    r"\s*(?:°|deg\w*)?[\s)\]]*"
)
_TOGETHER = (
    r"(?i)(?:cie[\s-]*)?(?P<axis>lab|l\*?\s?a\*?\s?b\*?)"
    r"[\s(,;/_\[-]*(?P<white>d\s?\d\d|c|f\d{1,2})?[\s,;/_°-]*(?P<observer>2|10)?"
    r"\s*(?:°|deg\w*)?[\s)\]]*"
)
_FIGURES = r"\s*[(\[]\s*\d+\D{1,5}\d+\s*[)\]]\s*$"  # laydown (1-5), [1 bis 5]
_MOST_WORDS, _LONGEST = 8, 80  # of a heading; of a cell that is looked into
_REMARK_BEHIND = r"\s*[(\[].*$|\s+[-–—/]\s.*$|[,;:]\s.*$|\s+(?:19|20)\d\d\.?$"
_LIGHTFAST_SCALES = {"astm": "ASTM", "bws": "BWS", "blue wool": "BWS", "wollskala": "BWS"}


class Meaning(NamedTuple):
    """What a heading says its column holds, and what it says of all its cells beside.

    `title` is a title of the contract, or one of OTHER_MEANINGS; `beside` are further columns of
    the contract with the value that is theirs in every row.
    """

    title: str
    contract: bool = False
    beside: tuple[tuple[str, str], ...] = ()


OTHER_MEANINGS = MappingProxyType(
    {
        "lab": "L, a and b in one cell",
        "rgb": "red, green and blue in one cell",
        "red": "red of sRGB",
        "green": "green of sRGB",
        "blue": "blue of sRGB",
        "chroma": "chroma beside L and hue",
        "hue": "hue in degrees beside L and chroma",
        "discontinued": "yes where it is no longer made",
        "available": "yes where it is still made",
        "missing": "yes where it is not owned",
    }
)
"""What a column may hold that the contract has no title for, and how it is told."""

KEEP, LEAVE_OUT = "keep", "leave out"


@cache
def vocabulary() -> Mapping[str, Any]:
    """The table, as it stands in its file; nobody reads it for what is called as it is here."""
    import tomllib

    return MappingProxyType(tomllib.loads(Path(__file__).with_suffix(".toml").read_text("utf-8")))


def plain_heading(text: str) -> str:
    """A heading as it is compared: small letters without accents, whatever else is a space."""
    if text.isascii():
        return _NO_ASCII_WORD.sub(" ", text.casefold()).strip()
    spread = unicodedata.normalize("NFKD", text.casefold())
    kept = (char for char in spread if not unicodedata.combining(char))
    spaced = (char if char.isalnum() or char in _SIGNS else " " for char in kept)
    return " ".join("".join(spaced).split())


def meaning_of(heading: str) -> Meaning | None:
    """What a heading says; None where nobody would know, and of one that an export gave.

    >>> meaning_of("Farbname").title, meaning_of("L* (D50/2°)").beside
    ('name', (('illuminant', 'D50'), ('observer', '2')))
    """
    if unkept(heading) != heading:
        return None
    if folded(heading) in _contract():
        return Meaning(_contract()[folded(heading)], contract=True)
    bare = heading.strip()
    found = re.fullmatch(_COORDINATE, bare) or re.fullmatch(_TOGETHER, bare)
    if found:
        stated = (("illuminant", found["white"]), ("observer", found["observer"]))
        beside = tuple((name, value.upper().replace(" ", "")) for name, value in stated if value)
        return Meaning(_contract().get(found["axis"].casefold(), "lab"), beside=beside)
    return _from_table(plain_heading(re.sub(_FIGURES, "", heading)))


_NAMING = ("code", "hex", "lab", "rgb", "name")
"""What may say which colour is meant where no column is headed `colour`, the plainest first."""


def list_headings(cells: Sequence[str]) -> tuple[str, ...] | None:
    """Headings of a list in other words as its contract has them; None where they are no others.

    >>> list_headings(["Nr.", "Farbe", "wozu"]), list_headings(["Kelp brown"])
    (('colour', 'label', 'wozu'), None)
    """
    own = {} if "colour" in map(folded, cells) else _named_colour(cells)
    return None if own is None else _renamed(cells, _named("lists", cells, own.values()) | own)


def blend_headings(cells: Sequence[str]) -> tuple[str, ...] | None:
    """Headings of a blends file in other words, as `list_headings` gives those of a list.

    >>> blend_headings(["Verlauf", "von", "bis"]), blend_headings(["name", "from", "to"])
    (('name', 'from', 'to'), None)
    """
    return _renamed(cells, _named("blends", cells))


def filing_headings(cells: Sequence[str]) -> tuple[str, ...] | None:
    """Headings of an arrangement in other words, as `list_headings` gives those of a list.

    >>> filing_headings(["Nr.", "Marke", "Familie", "Fach"]), filing_headings(["pencil", "family"])
    (('code', 'range', 'family', 'section'), None)
    """
    found = _named("filing", cells)
    taken = {*map(folded, cells), *found.values()}
    for at, cell in enumerate(cells):
        meant = meaning_of(cell) if cell and at not in found and not _says_pencil(cell) else None
        if meant is not None and meant.title in ("code", "name") and meant.title not in taken:
            found[at] = meant.title
            taken.add(meant.title)
    return _renamed(cells, found)


def _says_pencil(cell: str) -> bool:
    return folded(cell) in ("pencil", "colour", "code", "name", "range")


def _renamed(cells: Sequence[str], titles: Mapping[int, str]) -> tuple[str, ...] | None:
    return tuple(titles.get(at, cell) for at, cell in enumerate(cells)) if titles else None


def _named(kind: str, cells: Sequence[str], taken: Iterable[str] = ()) -> dict[int, str]:
    """The places of headings that mean a column of such a file which has no title of its own."""
    own = [*taken, *map(folded, cells)]
    plain = [plain_heading(cell) for cell in cells]
    words = {**vocabulary()[kind], "paper": vocabulary()["headings"]["paper"]}
    found: dict[int, str] = {}
    for title, others in words.items():
        places = [at for at, word in enumerate(plain) if word in others and at not in found]
        if title not in own and places:
            found[places[0]] = title
    return found


def _named_colour(cells: Sequence[str]) -> dict[int, str] | None:
    """The places of headings that mean colour and label; None where none means a colour."""
    found = [meaning_of(cell) if cell else None for cell in cells]
    meant = [each.title if each is not None else "" for each in found]
    asked = next((title for title in _NAMING if title in meant), None)
    if asked is None:
        return None
    taken = {"name": "label", asked: "colour"}
    return {meant.index(title): taken[title] for title in taken if title in meant}


def is_title(heading: str) -> bool:
    """Whether a heading is one of the contract's, so that nothing else may bear it."""
    return folded(heading) in _contract() or wavelength_of(heading) is not None


def means_something(heading: str) -> bool:
    """Whether anybody would take a heading for more than the name of a column."""
    name = folded(heading)
    return (
        name in FIELDS or is_title(heading) or is_spectral(name) or meaning_of(heading) is not None
    )


def word_for(field: str, text: str) -> str | None:
    """The contract's word for what a cell says in a field; None where nobody would know."""
    words, first = _words(field), re.sub(_REMARK_BEHIND, "", text[:_LONGEST])
    found = words.get(_plain_word(text)) or words.get(plain_heading(text))
    return found or (word_for(field, first) if first and first != text else None)


def yes_or_no(text: str) -> str:
    """A cell that says yes or no in any of the languages as the contract has it, else as it is."""
    return (text and word_for("owned", text)) or text


def currency_of(text: str) -> str | None:
    """The currency that a price, or its heading, is written with."""
    word = _NOT_A_SIGN.sub("", _AROUND_PRICE.sub("", text[:_LONGEST])).casefold().strip()
    return _currencies().get(word)


def without_currency(text: str) -> str:
    """A price without the sign or word of its currency, and without a dash for no cents.

    >>> without_currency("ca. 2,50 €"), without_currency("3.40 GBP each"), without_currency("4.–")
    ('2,50', '3.40', '4')
    """
    text = _AROUND_PRICE.sub("", text) if len(text) <= _LONGEST else text
    sign = _NOT_A_SIGN.sub("", text).strip()
    if sign.casefold() in _currencies():
        text = re.sub(rf"{re.escape(sign)}\.?", "", text)
    return _NO_CENTS.sub("", text.strip()).strip()


_NOT_A_SIGN = re.compile(r"[\d\s.,'’\u00a0\u202f()\[\]/–—−-]")
_AROUND_PRICE = re.compile(
    r"^(?:ca|circa|approx|about|env|ung)\b\.?\s*|^[~≈]\s*"
    r"|(?<=.)\s*(?:\*+|(?:/|\b(?:per|pro|je|par|por|al|a|each|la)\b)[^\d]*)$",
    re.IGNORECASE,
)
_NO_CENTS = re.compile(r"[.,]\s*[-–—]{1,2}$")


def _from_table(word: str) -> Meaning | None:
    headings = _headings()
    if word in headings:
        return Meaning(headings[word])
    for scale, called in _LIGHTFAST_SCALES.items():
        rest = " ".join(word.replace(scale, " ").split())
        if scale in word and (not rest or headings.get(rest) == "lightfastness" or "licht" in rest):
            return Meaning("lightfastness", beside=(("lightfastness_scale", called),))
    *first, last = word.split() or [""]
    rest = _without_fillers(first)
    if last in _currencies() and headings.get(rest) == "price":
        return Meaning("price")
    words = word.split()[:_MOST_WORDS] or [""]
    if _numbers(words):
        return Meaning("code")
    telling = _without_fillers(words)
    return _from_table(telling) if telling and telling != " ".join(words) else _from_parts(words)


def _from_parts(words: Sequence[str]) -> Meaning | None:
    headings, parts = _headings(), vocabulary()["parts"]
    for many in range(len(words) - 1, 0, -1):
        runs = (" ".join(words[at : at + many]) for at in range(len(words) - many + 1))
        said = [headings.get(run) for run in runs if len(run) > 1 and run not in parts["not"]]
        told = {title for title in said if title in parts["meanings"]}
        if told:
            return Meaning(str(told.pop())) if len(told) == 1 else None
    return None


def _numbers(words: Sequence[str]) -> bool:
    numbers = words[0] in vocabulary()["parts"]["numbers"]
    return numbers and _headings().get(" ".join(words[1:])) == "name"


def _without_fillers(words: Iterable[str]) -> str:
    return " ".join(word for word in words if word not in vocabulary()["fillers"]["words"])


@cache
def _contract() -> Mapping[str, str]:
    return {folded(title): title for title in KNOWN}


@cache
def _headings() -> Mapping[str, str]:
    own = {plain_heading(title): title for title in (*KNOWN, *OTHER_MEANINGS)}
    return {
        **own,
        **{
            plain_heading(word) or word: title
            for title, words in vocabulary()["headings"].items()
            for word in words
        },
    }


@cache
def _words(field: str) -> Mapping[str, str]:
    table: Mapping[str, Iterable[str]] = vocabulary()["words"].get(field, {})
    return {_plain_word(word): value for value, words in table.items() for word in (value, *words)}


@cache
def _currencies() -> Mapping[str, str]:
    return {word: code for code, words in vocabulary()["currencies"].items() for word in words}


def _plain_word(text: str) -> str:
    spread = unicodedata.normalize("NFKD", text.casefold())
    return " ".join("".join(char for char in spread if not unicodedata.combining(char)).split())
