"""An arrangement as a spreadsheet: a row for each pencil with its family and place.

A family without a pencil has a row of its own; a pencil that serves a second family has a further
row, in which its place is `also`.
"""

from collections.abc import Collection, Iterable, Mapping, Sequence
from math import inf
from pathlib import Path
from types import MappingProxyType
from typing import NamedTuple

from stopgap.errors import StopgapError
from stopgap.library.name_index import NameIndex
from stopgap.library.tables.cells import TextRow, TextTable
from stopgap.library.tables.formats import FORMATS
from stopgap.library.tables.reader import Cells, read_sheet
from stopgap.library.targets import find_swatch
from stopgap.swatches import (
    Arrangement,
    Number,
    OwnPlace,
    Swatch,
    YesOrNo,
    add_family,
    change_family,
    key_of,
    plain_name,
    serve_also,
    without_pencils,
)

_ALSO = "also"
_ALSO_SAID = (_ALSO, "auch", "aussi", "también", "anche", "ook")
_OF_FAMILY = ("section", "family_note")
_TITLES = ("pencil", "name", "family", "place", *_OF_FAMILY, "yours")
_PENCIL = ("pencil", "colour", "code", "name")
_RANK = Number(1.0, None, "a place from 1 on, or 'also' where it is a second family")
_YES = YesOrNo()


class FiledRow(NamedTuple):
    """A row: a pencil by its address, or none, in a family; `place` is None for the next one."""

    family: str
    pencil: str = ""
    place: float | None = None
    also: bool = False
    by_hand: bool = True
    of_family: Mapping[str, str] = MappingProxyType({})


def read_filing(
    path: Path, known: Sequence[Swatch], placed: Collection[str] = ()
) -> list[FiledRow]:
    """The rows of a spreadsheet that has a column `family`, and one that names pencils.

    `placed` are keys of addresses that an arrangement holds already, whose pencils the library may
    lack (see `key_of`).

    Raises
    ------
    InputError
        If the file cannot be read, lacks a column, or has no row.
    ProblemsInFile
        With every pencil that is unknown or stands twice, and every cell that is not as expected.
    """
    from stopgap.library.ranges.understanding.vocabulary import filing_headings, yes_or_no

    known_titles = (*_TITLES, "colour", "code", "range")
    sheet = read_sheet(path, known_titles, ("family",), "pencil", named=filing_headings)
    index = NameIndex(known)
    addresses = {key_of(swatch.address): swatch.address for swatch in known}
    rows: list[FiledRow] = []
    seen: dict[str, int] = {}
    for cells in sheet.rows:
        pencil = _pencil(cells, index, addresses, placed)
        also = cells.text("place").casefold() in _ALSO_SAID
        if pencil and not also:
            if key_of(pencil) in seen:
                cells.trouble("pencil", f"{pencil} stands in row {seen[key_of(pencil)]} already.")
            seen[key_of(pencil)] = cells.row.number
        yours = cells.value("yours", _YES, [yes_or_no(cells.text("yours"))])
        rows.append(
            FiledRow(
                _family(cells),
                pencil,
                None if also else cells.number("place", _RANK),
                also,
                yours is not False,
                {title: cells.text(title) for title in _OF_FAMILY if sheet.columns.has([title])},
            )
        )
    sheet.raise_problems("nothing was changed.")
    return rows


def apply_filing(arrangement: Arrangement, rows: Iterable[FiledRow]) -> Arrangement:
    """The arrangement with what the rows say: families it lacks are made, pencils go to their rank.

    Pencils that no row names keep their places behind and between them. Where the rows name every
    family, their order is that of the rows.
    """
    by_family: dict[str, list[FiledRow]] = {}
    for row in rows:
        if row.family:
            by_family.setdefault(key_of(row.family), []).append(row)
    arrangement = _with_families(arrangement, by_family)
    placed = [row for own in by_family.values() for row in own if row.pencil]
    named = [row.pencil for row in placed]
    arrangement = serve_also(without_pencils(arrangement, named), named, None)
    for own in by_family.values():
        arrangement = _filled(arrangement, own)
    for row in placed:
        if row.also:
            arrangement = serve_also(arrangement, [row.pencil], row.family)
    return arrangement


def _with_families(
    arrangement: Arrangement, by_family: Mapping[str, Sequence[FiledRow]]
) -> Arrangement:
    """With the families that it lacks, in the order of the rows if these name all of them."""
    known = {key_of(family.name) for family in arrangement.families}
    for key, rows in by_family.items():
        if key not in known:
            arrangement = add_family(arrangement, rows[0].family)
    families = {key_of(family.name): family for family in arrangement.families}
    if by_family.keys() != families.keys():
        return arrangement
    return arrangement._replace(families=tuple(families[key] for key in by_family))


def by_heading(name: str, swatches: Iterable[Swatch]) -> Arrangement:
    """An arrangement of what stood under each heading of a range's own file, in that order."""
    rows = (
        FiledRow(plain_name(swatch.section), swatch.address, by_hand=False)
        for swatch in swatches
        if swatch.section.strip()
    )
    return apply_filing(Arrangement(name), rows)


def filing_table(arrangement: Arrangement, swatches: Iterable[Swatch], form: str) -> bytes:
    """The arrangement in a format that is written, as `read_filing` reads it."""
    names = {key_of(swatch.address): swatch.name for swatch in swatches}
    lines: list[tuple[str, ...]] = []
    for family in arrangement.families:
        of_family = (family.section, family.note)
        for rank, (pencil, by_hand) in enumerate(family.places, start=1):
            said = names.get(key_of(pencil), "")
            yours = "yes" if by_hand else "no"
            lines.append((pencil, said, family.name, str(rank), *of_family, yours))
        if not family.places:
            lines.append(("", "", family.name, "", *of_family, ""))
    for family in arrangement.families:
        for pencil in family.also:
            said = names.get(key_of(pencil), "")
            lines.append((pencil, said, family.name, _ALSO, family.section, family.note, "yes"))
    write = FORMATS[form].write
    if write is None:  # pragma: no cover (no caller can name such a format)
        raise ValueError(form)
    rows = tuple(TextRow(number, line) for number, line in enumerate(lines, start=2))
    return write(TextTable(TextRow(1, _TITLES), rows, {}))


def _pencil(
    cells: Cells, index: NameIndex, addresses: Mapping[str, str], placed: Collection[str]
) -> str:
    """The address that a row names, empty where it names none or a problem was noted."""
    column, text = next(
        ((title, cells.text(title)) for title in _PENCIL if cells.text(title)), ("", "")
    )
    if column in ("code", "name") and cells.text("range"):
        text = f"{cells.text('range')}:{text}"
    if not text or key_of(text) in addresses:
        return addresses.get(key_of(text), "")
    if key_of(text) in placed:
        return text
    try:
        return find_swatch(text, index).address
    except StopgapError as error:
        cells.trouble(column, str(error))
        return ""


def _family(cells: Cells) -> str:
    text = cells.text("family")
    if not text:
        return ""
    try:
        return plain_name(text)
    except StopgapError as error:
        cells.trouble("family", str(error))
        return ""


def _filled(arrangement: Arrangement, rows: Sequence[FiledRow]) -> Arrangement:
    """One family with the pencils of its rows at their ranks, and what the rows say of it."""
    said = {title: _first([row.of_family[title] for row in rows]) for title in rows[0].of_family}
    arrangement = change_family(
        arrangement, rows[0].family, section=said.get("section"), note=said.get("family_note")
    )
    family = arrangement.family(rows[0].family)
    places = list(family.places)
    at = -1
    placed = [row for row in rows if row.pencil and not row.also]
    for row in sorted(placed, key=lambda row: inf if row.place is None else row.place):
        wanted = len(places) if row.place is None else max(int(row.place) - 1, at + 1)
        at = min(wanted, len(places))
        places.insert(at, OwnPlace(row.pencil, row.by_hand))
    keys = {key_of(place.pencil) for place in places}
    also = tuple(one for one in family.also if key_of(one) not in keys)
    done = family._replace(places=tuple(places), also=also)
    families = (done if each == family else each for each in arrangement.families)
    return arrangement._replace(families=tuple(families))


def _first(texts: Sequence[str]) -> str:
    return next(filter(None, map(str.strip, texts)), "")
