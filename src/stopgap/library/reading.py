"""A range file to swatches: every row read, every problem of the file reported together."""

from dataclasses import dataclass, replace
from pathlib import Path

from stopgap.errors import InputError, ProblemsInFile
from stopgap.library.cells import Cells
from stopgap.library.columns import HEX, LAB, XYZ, Columns, find_columns
from stopgap.library.conversion import Convention, convert, is_per_cent
from stopgap.library.entry import Entry, EntryKind
from stopgap.library.formats import Table, read_table
from stopgap.library.formats.formulas import unguard
from stopgap.swatches import (
    SOURCE_UNCERTAINTY,
    Core,
    Finish,
    Lightfastness,
    Status,
    Swatch,
)

_LARGEST_AB = 200.0
_LARGEST_XYZ = 400.0
_LARGEST_PER_CENT = 400.0


@dataclass(frozen=True, slots=True)
class RangeDraft:
    """A range as a file states it, not yet in the library."""

    name: str
    origin: str
    swatches: tuple[tuple[Swatch, Entry], ...]
    convention: Convention
    details: dict[str, str]
    notes: tuple[str, ...]


def read_range(path: Path, name: str, convention: Convention) -> RangeDraft:
    """The range in a file.

    Raises
    ------
    InputError
        If the file is not of a known format or lacks a column, or the convention is refused.
    ProblemsInFile
        With every cell that is not as expected.
    """
    check_range_name(name)
    table = read_table(path)
    columns = find_columns(table, path.name)
    if not table.rows:
        raise InputError(
            f"{path.name}: there is a header but no row below it. Expected one row for each pencil."
        )
    rows = [Cells(row, columns, decimal_comma=table.decimal_comma) for row in table.rows]
    entries = [_entry(cells, convention) for cells in rows]
    per_cent = is_per_cent(entries)
    if per_cent:
        entries = [entry and _as_factor(entry) for entry in entries]
    drafts = [
        _swatch(name, cells, entry, convention) for cells, entry in zip(rows, entries, strict=True)
    ]
    problems = [problem for cells in rows for problem in cells.problems]
    problems += _repeated_codes(rows)
    if problems:
        raise ProblemsInFile(
            f"{path.name}: nothing was imported; {len(problems)} "
            f"{'cell needs' if len(problems) == 1 else 'cells need'} mending.",
            sorted(problems, key=_row_of),
        )
    known = [entry for entry in entries if entry is not None]
    swatches = convert([draft for draft in drafts if draft], known, convention)
    notes = tuple(_notes(columns, known, convention, per_cent=per_cent))
    return RangeDraft(name, path.name, tuple(swatches), convention, _details(table, known), notes)


def check_range_name(name: str) -> None:
    """Refuse a range name that could not be asked for again.

    Raises
    ------
    InputError
        If it is empty, too long, or holds a colon or a control character.
    """
    if not name.strip() or ":" in name or len(name) > 100 or not name.isprintable():
        raise InputError(
            f"range name {name!r:.60}: expected 1 to 100 printable characters without a colon, "
            "which parts the range from the code."
        )


def _entry(cells: Cells, convention: Convention) -> Entry | None:
    """The best colour of a row: spectrum, else Lab, else XYZ, else hex."""
    columns = cells.columns
    white, observer = convention.white, convention.observer
    spectrum = [
        (wavelength, cells.at(index), columns.titles[index])
        for wavelength, index in columns.spectral.items()
    ]
    if any(cell for _, cell, _ in spectrum):
        factors = tuple(
            _stated(cells, title, cell, 0.0, _LARGEST_PER_CENT, "a reflectance of 0 or more")
            for _, cell, title in spectrum
        )
        return Entry(EntryKind.SPECTRUM, factors, tuple(columns.spectral))
    if columns.has(LAB) and any(cells.raw(name) for name in LAB):
        lab = (
            _stated(cells, "L", cells.raw("l"), 0.0, 100.0, "a lightness from 0 to 100"),
            *(
                _stated(cells, name, cells.raw(name), -_LARGEST_AB, _LARGEST_AB, "-200 to 200")
                for name in ("a", "b")
            ),
        )
        return Entry(EntryKind.LAB, lab, white=white, observer=observer)
    if columns.has(XYZ) and any(cells.raw(name) for name in XYZ):
        xyz = tuple(
            _stated(cells, name.upper(), cells.raw(name), 0.0, _LARGEST_XYZ, "0 to 400 (Y = 100)")
            for name in XYZ
        )
        return Entry(EntryKind.XYZ, xyz, white=white, observer=observer)
    if columns.has(HEX) and cells.raw("hex"):
        return _hex_entry(cells)
    cells.problem("colour", "", "L, a, b or another colour in every row")
    return None


def _hex_entry(cells: Cells) -> Entry | None:
    from stopgap.colorimetry import hex_to_lab

    text = cells.raw("hex")
    text = text if text.startswith("#") else f"#{text}"
    try:
        hex_to_lab(text)
    except InputError:
        cells.problem("hex", cells.raw("hex"), "six hexadecimal digits such as #c04a2b")
        return None
    return Entry(EntryKind.HEX, text=text, white="D65")


def _stated(cells: Cells, column: str, cell: str, low: float, high: float, expected: str) -> float:
    value = cells.number_in(column, cell, low, high, expected)
    if value is None and not cell:
        cells.problem(column, cell, expected)
    return value or 0.0


def _as_factor(entry: Entry) -> Entry:
    if entry.kind is not EntryKind.SPECTRUM:
        return entry
    return replace(entry, values=tuple(value / 100.0 for value in entry.values))


def _check_factors(cells: Cells, entry: Entry | None, finish: Finish) -> None:
    """No plain pencil reflects more than falls on it."""
    if entry is None or entry.kind is not EntryKind.SPECTRUM or finish is Finish.FLUORESCENT:
        return
    for wavelength, value in zip(entry.wavelengths, entry.values, strict=True):
        if value > 1.0:
            title = cells.columns.titles[cells.columns.spectral[wavelength]]
            expected = "at most 1 (100 per cent); more only with the finish fluorescent"
            cells.problem(title, f"{value:g}", expected)


def _swatch(
    range_name: str, cells: Cells, entry: Entry | None, convention: Convention
) -> Swatch | None:
    """The swatch of a row, its Lab still to be converted; None where it has no colour."""
    code = cells.text("code")
    if not code:
        cells.problem("code", "", "a code that no other pencil of the range has")
    price = cells.number("price", 0.0, 1e9, "a price of 0 or more, without a currency sign")
    laydown = cells.number("laydown", 1.0, 5.0, "a whole number from 1 to 5")
    if laydown is not None and laydown != int(laydown):
        cells.problem("laydown", cells.raw("laydown"), "a whole number from 1 to 5")
    uncertainty = cells.number(
        "uncertainty", 0.0, 100.0, "a standard uncertainty in ΔE00, 0 to 100"
    )
    status = cells.choice("status", Status)
    finish = cells.choice("finish", Finish)
    core = cells.choice("core", Core)
    lightfastness = _lightfastness(cells)
    owned = cells.yes("owned")
    _check_factors(cells, entry, finish or Finish.PLAIN)
    if entry is None:
        return None
    source = convention.source_of(entry)
    return Swatch(
        range=range_name,
        code=code,
        lab=(0.0, 0.0, 0.0),
        name=cells.text("name"),
        owned=owned,
        status=status or Status.CURRENT,
        finish=finish or Finish.PLAIN,
        core=core,
        lightfastness=lightfastness,
        price=price,
        laydown=int(laydown) if laydown is not None else None,
        source=source,
        uncertainty=SOURCE_UNCERTAINTY[source] if uncertainty is None else uncertainty,
        paper=cells.text("paper"),
        note=cells.text("note"),
        extra={
            title: unguard(cells.at(index))
            for title, index in cells.columns.unknown.items()
            if cells.at(index)
        },
    )


def _lightfastness(cells: Cells) -> Lightfastness | None:
    rating = cells.raw("lightfastness")
    if not rating:
        return None
    try:
        return Lightfastness.parse(rating, cells.raw("lightfastness_scale") or None)
    except InputError:
        cells.problem(
            "lightfastness",
            rating,
            "I to V with the scale ASTM, or 1 to 8 with the scale BWS in lightfastness_scale",
        )
        return None


def _repeated_codes(rows: list[Cells]) -> list[str]:
    first: dict[str, int] = {}
    problems = []
    for cells in rows:
        code = cells.text("code")
        earlier = first.setdefault(code.casefold(), cells.row.number)
        if code and earlier != cells.row.number:
            problems.append(
                f"row {cells.row.number}, column code: found {code!r:.60}, which row {earlier} has "
                "already; expected each code once."
            )
    return problems


def _row_of(problem: str) -> int:
    return int(problem.removeprefix("row ").partition(",")[0])


def _details(table: Table, entries: list[Entry]) -> dict[str, str]:
    kinds = {
        EntryKind.SPECTRUM: "reflectance",
        EntryKind.LAB: "L, a, b",
        EntryKind.XYZ: "X, Y, Z",
        EntryKind.HEX: "hex (sRGB)",
    }
    used = [text for kind, text in kinds.items() if any(entry.kind is kind for entry in entries)]
    return {**table.details, "colours": " and ".join(used)}


def _notes(
    columns: Columns, entries: list[Entry], convention: Convention, *, per_cent: bool
) -> list[str]:
    notes = convention.notes(entries)
    if per_cent:
        notes.append("Reflectances go above 2, so they were read as per cent, not as factors.")
    if columns.unknown:
        titles = ", ".join(repr(title) for title in columns.unknown)
        notes.append(f"Columns kept with the swatches though stopgap does not use them: {titles}.")
    return notes
