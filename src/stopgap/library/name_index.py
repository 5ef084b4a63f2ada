"""What pencils are called, looked up in a time that does not grow with how many there are.

A name is tried as it stands, then in any case, then as people write it: accents, quotes, leading
zeros and what parts words from figures left out, and at last dashes between figures too. Each of
these is a table that is made when it is first needed, so that who writes a name in full waits for
none.
"""

import re
from collections.abc import Callable, Iterable, Iterator, Sequence
from functools import cached_property, partial
from itertools import islice
from typing import NamedTuple

from stopgap.library.spelling import APART, Spellings, between, normal, span_ends, tight
from stopgap.swatches import Swatch, Swatches

_MOST_MEANT = 3
_LONG = 200
"""Characters of a name beyond which it is only looked up as it stands, in any case; a whole page
that was pasted is not taken apart at each of its words."""
_MOST_PARTINGS = 50
_OTHERS = re.compile(r"[;,|\n]")
_COLON = re.compile(r"\s*:\s*")


def other_names(swatch: Swatch) -> list[str]:
    """The other and old names of a pencil, which its column `also` parts by ; , | or a new line."""
    also = swatch.also.strip()
    parts = [part for part in map(str.strip, _OTHERS.split(also)) if part]
    return list(dict.fromkeys((also, *parts))) if also else []


_FOLDINGS: tuple[Callable[[str], str], ...] = (str, str.casefold, normal, tight)
_Found = dict[str, list[int]]  # places of pencils


class _Table:
    """Names under one folding: of ranges, of pencils of a range, and of pencils of them all."""

    def __init__(self, swatches: Sequence[Swatch], fold: Callable[[str], str]) -> None:
        self.fold = fold
        self.kinds: tuple[_Found, ...] = ({}, {}, {})
        self.ranges: dict[str, tuple[_Found, ...]] = {}
        kinds_of: dict[str, tuple[_Found, ...]] = {}
        for at, swatch in enumerate(swatches):
            inside = kinds_of.get(swatch.range)
            if inside is None:
                inside = self.ranges.setdefault(fold(swatch.range), ({}, {}, {}))
                kinds_of[swatch.range] = inside
            _put(fold(swatch.code), 0, at, self.kinds, inside)
            if swatch.name:
                _put(fold(swatch.name), 1, at, self.kinds, inside)
            for name in other_names(swatch) if swatch.also else ():
                _put(fold(name), 2, at, self.kinds, inside)

    def bearing(self, wanted: str, parted: Sequence[tuple[str, str]]) -> list[int]:
        """Places of the pencils called so: by address, then by code, by name, by another name."""
        colons = [parting for parting in parted if parting[0].endswith(":")]
        others = [parting for parting in parted if not parting[0].endswith(":")]
        return (
            next(filter(None, map(self._addressed, colons)), None)
            or _of_kinds(self.kinds, self.fold(wanted))
            or next(filter(None, map(self._addressed, others)), None)
            or []
        )

    def _addressed(self, parting: tuple[str, str]) -> list[int]:
        before, after = parting
        inside = self.ranges.get(self.fold(before.removesuffix(":").strip()))
        return [] if inside is None else _of_kinds(inside, self.fold(after))


def _put(key: str, kind: int, at: int, *tables: tuple[_Found, ...]) -> None:
    for table in tables if key else ():
        bearers = table[kind].setdefault(key, [])
        if not bearers or bearers[-1] != at:
            bearers.append(at)


def _of_kinds(kinds: tuple[_Found, ...], key: str) -> list[int]:
    return next((found for kind in kinds if (found := kind.get(key))), [])


class Span(NamedTuple):
    """Several pencils at once: a range, or those from one code to another."""

    swatches: tuple[Swatch, ...]
    what: str


class NameIndex:
    """Pencils by what they are called; made once where many names are to be looked up.

    `uncoloured` are pencils that have no colour yet, or no dry one: nothing is answered with them,
    but they are told from names that nothing bears.
    """

    def __init__(self, swatches: Iterable[Swatch], uncoloured: Sequence[Swatch] = ()) -> None:
        self.swatches = swatches if isinstance(swatches, Swatches) else Swatches(swatches)
        self.uncoloured = tuple(uncoloured)
        self._of_range: dict[str, NameIndex] = {}

    @classmethod
    def of(cls, known: "Sequence[Swatch] | NameIndex") -> "NameIndex":
        """The index of pencils, or the one that is there."""
        return known if isinstance(known, NameIndex) else cls(known)

    def bearing(self, text: str, *, loosely: bool = True) -> list[Swatch]:
        """The pencils that bear the name in its most literal reading.

        Unless `loosely`, dashes between figures are significant.
        """
        wanted = text.strip()
        parted = list(partings(wanted))
        foldings = 2 if len(wanted) > _LONG else len(_FOLDINGS) - (not loosely)
        tables = islice(self._each_table(), foldings)
        places = next((found for each in tables if (found := each.bearing(wanted, parted))), [])
        return [self.swatches[at] for at in places]

    @cached_property
    def without_colour(self) -> "NameIndex":
        """The pencils without a colour by what they are called."""
        return NameIndex(self.uncoloured)

    def of_range(self, text: str) -> tuple[Swatch, ...]:
        """The pencils of the range that is called so; none where no range is, or several are."""
        for fold, folded in self._ranges:
            called = folded.get(fold(text.strip()), ())
            if len(called) == 1:
                return self.by_range[called[0]]
        return ()

    def only(self, text: str) -> Swatch | None:
        """The one that bears a name; None where none or several do."""
        found = self.bearing(text)
        return found[0] if len(found) == 1 else None

    def span(self, text: str) -> Span | None:
        """Those that a range, `RANGE:` or `RANGE:001-010` stands for; None where it is no such."""
        wanted = text.strip()
        every = self.of_range(wanted.rstrip("*").rstrip().removesuffix(":"))
        if every or len(wanted) > _LONG:
            return Span(every, every[0].range) if every else None
        for before, after in partings(wanted):
            inside = self.of_range(before.removesuffix(":"))
            for ends in span_ends(after) if inside else ():
                found = between(inside, self._inside(inside[0].range).only, *ends)
                if found:
                    return Span(found, f"{inside[0].range}:{after.strip()}")
        return None

    def meant(self, text: str) -> list[str]:
        """At most three names that a text which nothing bears may be meant for, all as likely."""
        wanted = text.strip()
        if len(wanted) > _LONG:
            return []
        found: list[tuple[int, int, int, str]] = [
            (away + more, gap, place, f"{name}:{said}")
            for name, away, after in self._ranges_meant(wanted)
            for more, gap, place, said in self._inside(name).spellings.to(normal(after))
        ]
        if ":" not in wanted:
            found += self.spellings.to(normal(wanted)) + self._range_spellings.to(normal(wanted))
        found.sort()
        nearest = [text for away, *_, text in found if away == found[0][0]]
        return list(dict.fromkeys(nearest))[:_MOST_MEANT]

    def _ranges_meant(self, text: str) -> list[tuple[str, int, str]]:
        """Ranges that it may begin with, how far off they are, and what is left of the text."""
        parted = [(before.removesuffix(":"), after) for before, after in partings(text)]
        for before, after in parted:
            same = self.of_range(before)
            if same:
                return [(same[0].range, 0, after)]
        return [
            (name, away, after)
            for before, after in parted
            for away, _, _, name in self._range_spellings.to(normal(before))
        ]

    @cached_property
    def spellings(self) -> Spellings:
        """Codes and names."""
        return Spellings(name for each in self.swatches for name in (each.code, each.name) if name)

    @cached_property
    def _range_spellings(self) -> Spellings:
        return Spellings(self.by_range)

    @cached_property
    def by_range(self) -> dict[str, tuple[Swatch, ...]]:
        """Pencils by the name of their range."""
        found: dict[str, list[Swatch]] = {}
        for swatch in self.swatches:
            found.setdefault(swatch.range, []).append(swatch)
        return {name: tuple(swatches) for name, swatches in found.items()}

    @cached_property
    def _ranges(self) -> list[tuple[Callable[[str], str], dict[str, list[str]]]]:
        """Names of ranges under each folding."""
        tables = []
        for fold in _FOLDINGS:
            folded: dict[str, list[str]] = {}
            for name in self.by_range:
                folded.setdefault(fold(name), []).append(name)
            tables.append((fold, folded))
        return tables

    def _inside(self, name: str) -> "NameIndex":
        if name not in self._of_range:
            self._of_range[name] = NameIndex(self.by_range[name])
        return self._of_range[name]

    def _each_table(self) -> Iterator[_Table]:
        for fold in _FOLDINGS:
            made = partial(_Table, self.swatches, fold)
            yield self.swatches.once((_Table, fold), made, however_owned=True)


def partings(text: str) -> Iterator[tuple[str, str]]:
    """Where a range may end and a code begin: at a colon, then at what else parts words."""
    return islice(_all_partings(text), _MOST_PARTINGS)


def _all_partings(text: str) -> Iterator[tuple[str, str]]:
    for colon in _COLON.finditer(text):
        if colon.start() and colon.end() < len(text):
            yield f"{text[: colon.start()]}:", text[colon.end() :]
    for space in APART.finditer(text):
        if space.start() and space.end() < len(text) and ":" not in space[0]:
            yield text[: space.start()], text[space.end() :]


def after_their_range(texts: Sequence[str], index: NameIndex) -> list[str]:
    """Words as they were typed, a code behind the name of its range made an address.

    So is a code that nothing bears: who names a range and a code does not mean the whole range.
    """
    joined: list[str] = []
    before = ""
    for text in texts:
        address = f"{before}:{text}"
        code = ":" not in text and any(map(str.isdigit, text))
        inside = bool(before) and bool(index.bearing(address) or (code and not index.bearing(text)))
        if inside and not index.of_range(text):
            if joined[-1] == before:
                joined.pop()
            joined.append(address)
            continue
        before = text if index.of_range(text) else ""
        joined.append(text)
    return joined
