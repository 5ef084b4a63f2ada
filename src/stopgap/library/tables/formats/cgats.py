"""CGATS text (ISO 28178:2009, CGATS.17) to the columns of a range file.

Fields are known by their names, in any order: SAMPLE_ID, SAMPLE_NAME, LAB_L, XYZ_X and spectral
ones named by their wavelength (SPECTRAL_NM_400, nm400, …), or given as pairs SPECTRAL_NM with
SPECTRAL_PCT (per cent) or SPECTRAL_DEC (factor). Keywords that state how the samples were measured
become columns too. Field and keyword names after the standard are from memory.
"""

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise
from types import MappingProxyType

from stopgap.errors import InputError, Problem, ProblemsInFile
from stopgap.library.tables.cells import TextRow, TextTable
from stopgap.library.tables.formats.cgats_tables import CgatsTable, conditions_of, read_tables
from stopgap.library.tables.formats.delimited import decode

_TITLES: Mapping[str, str] = MappingProxyType(
    {
        "sample_id": "code",
        "sampleid": "code",
        "sample_name": "name",
        **{f"lab_{axis}": axis for axis in "lab"},
        **{f"xyz_{axis}": axis for axis in "xyz"},
    }
)
_SPECTRAL = re.compile(
    r"(?:spectral_?|spec_?|refl_?|r_)?(nm|pct|dec)?_?(\d{3,4}(?:\.\d+)?)", re.IGNORECASE
)
_UNITS: Mapping[str, str] = MappingProxyType({"pct": "per cent", "dec": "factor"})
_PAIRED: Mapping[str, str] = MappingProxyType(
    {"spectral_pct": "per cent", "spectral_dec": "factor"}
)

_REPEATED = frozenset({*_PAIRED, "spectral_nm"})
"""Fields that stand once for each wavelength."""


@dataclass(frozen=True, slots=True)
class _Columns:
    """One table under stopgap's headers."""

    titles: tuple[str, ...]
    rows: tuple[TextRow, ...]
    unit: str | None


def is_field(title: str) -> bool:
    """Whether a field of that name has a meaning in CGATS."""
    return _title(title) != title or title.casefold() in _REPEATED


def read_cgats(data: bytes, name: str) -> TextTable:
    """The samples of every table in the file that holds a colour.

    Raises
    ------
    InputError
        If the file is truncated, a keyword is unknown, or no table holds a colour.
    ProblemsInFile
        With every line whose count of fields is wrong.
    """
    text, encoding = decode(data, name)
    tables = read_tables(text, name)
    useful = [columns for table in tables if (columns := _columns(table, name)) is not None]
    if not useful:
        raise InputError(
            f"{name}: no table of the file holds a colour with a sample: expected SAMPLE_ID and "
            "LAB_L, LAB_A, LAB_B, or XYZ_X, XYZ_Y, XYZ_Z, or spectral fields."
        )
    units = {columns.unit for columns in useful if columns.unit}
    if len(units) > 1:
        raise InputError(
            f"{name}: reflectances are a factor in one table and per cent in another. Use one unit."
        )
    titles = list(dict.fromkeys(title for columns in useful for title in columns.titles))
    details = {"format": "CGATS", "encoding": encoding}
    if len(tables) > 1:
        details["tables"] = f"{len(useful)} of {len(tables)}"
    return TextTable(
        header=TextRow(useful[0].rows[0].number if useful[0].rows else 1, tuple(titles)),
        rows=tuple(_joined(useful, titles)),
        details=details,
        unit=units.pop() if units else None,
    )


def _columns(table: CgatsTable, name: str) -> _Columns | None:
    """The table under stopgap's headers; None where it holds no colour."""
    fields, rows = table.fields, table.rows
    unit: str | None = None
    _refuse_doubled(fields, name)
    if "spectral_nm" in map(str.casefold, fields):
        fields, rows, unit = _unpaired(table, name)
    titles, stated_unit = _titles(fields)
    if "code" not in titles or not any(map(_begins_colour, titles)):
        return None
    own = {title.casefold() for title in titles}
    stated = {
        title: cell for title, cell in conditions_of(table.keywords).items() if title not in own
    }
    return _Columns(
        (*titles, *stated),
        tuple(TextRow(row.number, (*row.cells, *stated.values())) for row in rows),
        stated_unit or unit,
    )


def _refuse_doubled(fields: Sequence[str], name: str) -> None:
    """Refuse fields that say the same of a sample twice; pairs of a spectrum may."""
    seen: dict[str, str] = {}
    for field in fields:
        title = _title(field).casefold()
        if title in seen and title not in _REPEATED:
            raise InputError(
                f"{name}: the data format names {seen[title]!r:.60} and {field!r:.60}, which say "
                "the same of a sample. Keep one."
            )
        seen[title] = field


def _title(field: str) -> str:
    """Stopgap's title of a CGATS field, the field itself where it has none."""
    spectral = _SPECTRAL.fullmatch(field)
    return f"nm{spectral[2]}" if spectral else _TITLES.get(field.casefold(), field)


def _titles(fields: Sequence[str]) -> tuple[list[str], str | None]:
    """Stopgap's titles of CGATS fields, and the unit of reflectances where their names say it."""
    titles = [*map(_title, fields)]
    unit: str | None = None
    for spectral in map(_SPECTRAL.fullmatch, fields):
        if spectral:
            unit = _UNITS.get((spectral[1] or "").casefold(), unit)
    if "code" not in titles and "name" in titles:
        titles[titles.index("name")] = "code"
    return titles, unit


def _unpaired(table: CgatsTable, name: str) -> tuple[tuple[str, ...], tuple[TextRow, ...], str]:
    """Pairs of wavelength and value to one column a wavelength, which every row must share."""
    folded = [*map(str.casefold, table.fields)]
    places = [place for place, field in enumerate(folded) if field == "spectral_nm"]
    unit = _unit_of_pairs([*folded, "nothing"], places, name)
    wavelengths = _shared_wavelengths(table.rows, places, name)
    paired = {*places, *(place + 1 for place in places)}
    others = [place for place in range(len(folded)) if place not in paired]
    kept = [*others, *(place + 1 for place in places)]
    fields = (*(table.fields[place] for place in others), *(f"nm{nm:g}" for nm in wavelengths))
    rows = (TextRow(row.number, tuple(row.cells[at] for at in kept)) for row in table.rows)
    return fields, tuple(rows), unit


def _unit_of_pairs(fields: Sequence[str], places: Sequence[int], name: str) -> str:
    """The unit that the field after each SPECTRAL_NM is named for."""
    following = {fields[place + 1] for place in places}
    if len(following) != 1 or not following <= set(_PAIRED):
        raise InputError(
            f"{name}: expected each SPECTRAL_NM to be followed by SPECTRAL_PCT or by "
            f"SPECTRAL_DEC, found {', '.join(sorted(following))}."
        )
    return _PAIRED[following.pop()]


def _shared_wavelengths(
    rows: Sequence[TextRow], places: Sequence[int], name: str
) -> Sequence[float]:
    """The wavelengths in these places, which must rise and be those of every row."""
    if not rows:
        return ()
    stated = [tuple(row.cells[place] for place in places) for row in rows]
    first = rows[0].number
    problems = [
        Problem(row.number, reason=f"its wavelengths are not those of line {first}.", place="line")
        for row, wavelengths in zip(rows, stated)
        if wavelengths != stated[0]
    ]
    wavelengths = [*map(_number, stated[0])]
    if any(after <= before for before, after in pairwise(wavelengths)):
        reason = f"the wavelengths do not rise, each given once: {', '.join(stated[0])}."
        problems.append(Problem(first, reason=reason, place="line"))
    if problems:
        raise ProblemsInFile(f"{name}: nothing was imported.", problems)
    return wavelengths


def _number(text: str) -> float:
    try:
        return float(text)
    except ValueError:
        return float("nan")


def _joined(tables: Sequence[_Columns], titles: Sequence[str]) -> list[TextRow]:
    """Rows under all titles; tables that say different things of one sample become one row."""
    joined: list[tuple[int, dict[str, str]]] = []
    by_code: dict[str, dict[str, str]] = {}
    for columns in tables:
        colours = [title for title in columns.titles if _is_colour(title)]
        fresh: dict[str, dict[str, str]] = {}
        for row in columns.rows:
            cells = dict(zip(columns.titles, row.cells))
            earlier = by_code.get(cells["code"])
            if earlier is None or any(earlier.get(title) for title in colours):
                joined.append((row.number, cells))
                fresh.setdefault(cells["code"], cells)
            else:
                earlier.update({title: cell for title, cell in cells.items() if cell})
        by_code |= fresh
    return [
        TextRow(number, tuple(cells.get(title, "") for title in titles)) for number, cells in joined
    ]


def _begins_colour(title: str) -> bool:
    return title in ("l", "x") or title.startswith("nm")


def _is_colour(title: str) -> bool:
    return title in ("l", "a", "b", "x", "y", "z") or title.startswith("nm")
