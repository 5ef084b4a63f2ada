"""A range file to swatches: every row read, every problem of the file reported together."""

from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import NamedTuple

from stopgap.colorimetry import parse_colour
from stopgap.errors import InputError, Note, Problem, ProblemsInFile, Remedy
from stopgap.library.ranges.checks import disagreement
from stopgap.library.ranges.colours import (
    check_factors,
    conditions_of,
    entries_of,
    only_mode,
    refuse_contradiction,
    with_colour,
)
from stopgap.library.ranges.conversion import Convention, convention_notes, convert
from stopgap.library.ranges.draft import RangeDraft, check_range_name
from stopgap.library.ranges.repeats import (
    Taken,
    by_pencil,
    merge_repeats,
    note_repeated_rows,
    several_notes,
)
from stopgap.library.store.entry import Entry, EntryKind
from stopgap.library.tables.cells import unguard
from stopgap.library.tables.columns import KNOWN, Columns
from stopgap.library.tables.formats import TextTable
from stopgap.library.tables.reader import Cells, Sheet, read_sheet
from stopgap.swatches import (
    FIELDS,
    NO_COLOUR,
    Field,
    Finish,
    Paper,
    Pressure,
    Swatch,
    uncertainty_stated,
)

# the colour is read by its own rules, and what does not travel is no column
_READ = {name: row for name, row in FIELDS.items() if row.formats and name != "lab"}


def read_range(
    path: Path,
    name: str,
    convention: Convention,
    *,
    repeats: bool = False,
    bare_paper: str | None = None,
) -> RangeDraft:
    """The range in a file; a row without a colour is the name of a pencil that waits for it.

    Parameters
    ----------
    repeats
        Whether rows of one code that were laid in the same way are readings of one swatch, and
        become their mean, whatever their dates.
    bare_paper
        The bare paper: a colour such as lab(95 0 2), or the code of the row that holds it.

    Raises
    ------
    InputError
        If the file is not of a known format or lacks a column, or the convention is refused.
    ProblemsInFile
        With every cell that is not as expected.
    """
    sheet = read_sheet(path, KNOWN, ("code",), "pencil", spectra=True)
    return draft_of(sheet, name, convention, repeats=repeats, bare_paper=bare_paper)


def draft_of(
    sheet: Sheet,
    name: str,
    convention: Convention,
    *,
    repeats: bool = False,
    bare_paper: str | None = None,
    leave_out: bool = False,
) -> RangeDraft:
    """The range in a sheet; as `read_range`.

    With `leave_out`, rows with a problem do not land, but are the draft's `doubtful`.
    """
    check_range_name(name)
    with_colour(sheet, needed=False)
    refuse_contradiction(sheet.rows, convention, sheet.name)
    sheet = sheet._replace(rows=only_mode(sheet.rows, convention.mode, sheet.name))
    found = _Read.of(sheet, name, convention)
    again = False if repeats else note_repeated_rows(sheet.rows, found.drafts)
    doubtful = tuple(problem for cells in sheet.rows for problem in cells.problems)
    if leave_out and doubtful:
        sheet = _without(sheet, doubtful)
        found = _Read.of(sheet, name, convention)
    _raise_problems(sheet, again=again)
    taken = convert(
        [draft for draft in found.drafts if draft],
        [entry for entry in found.entries if entry],
        convention,
    )
    notes = _notes(sheet.columns, taken, convention, per_cent=found.per_cent_guessed)
    notes += [*found.disagreeing, *map(Note, sheet.table.told)]
    if repeats:
        taken, repeated = merge_repeats(taken, convention)
        notes += repeated
    taken, bare = _without_paper(taken, bare_paper or _paper_code(sheet), sheet.name)
    if convention.laid is None:
        notes += _assumed_pressure(sheet.rows, taken)
    pencils = by_pencil(taken)
    notes += several_notes(pencils)
    details = _details(sheet.table, found.entries)
    return RangeDraft(
        name,
        sheet.name,
        tuple(map(tuple, pencils)),
        convention,
        details,
        tuple(notes),
        bare,
        doubtful,
    )


class _Read(NamedTuple):
    """What the rows of a file say: for each its colour and its swatch, None beside a problem."""

    entries: list[Entry | None]
    drafts: list[Swatch | None]
    disagreeing: list[Note]
    per_cent_guessed: bool

    @classmethod
    def of(cls, sheet: Sheet, name: str, convention: Convention) -> "_Read":
        entries, per_cent = entries_of(sheet.rows, sheet.table.unit, convention)
        rows = list(zip(sheet.rows, entries, strict=True))
        has = sheet.columns.has
        there = {called: field for called, field in _READ.items() if has(field.titles[:1])}
        drafts = [_swatch(name, cells, there, entry, convention) for cells, entry in rows]
        for (cells, entry), draft in zip(rows, drafts, strict=True):
            finish = draft.finish if draft else Finish.PLAIN
            check_factors(cells, entry, finish, per_cent=per_cent, unit=sheet.table.unit)
        disagreeing = disagreement(sheet.rows, entries, drafts, convention)
        return cls(entries, drafts, disagreeing, per_cent and sheet.table.unit is None)


def _without(sheet: Sheet, problems: Sequence[Problem]) -> Sheet:
    """The sheet without rows that have a problem, its other rows afresh."""
    bad = {problem.row for problem in problems}
    mark = sheet.table.decimal_comma
    good = [
        Cells(cells.row, sheet.columns, decimal_comma=mark)
        for cells in sheet.rows
        if cells.row.number not in bad
    ]
    if not good:
        raise ProblemsInFile(f"{sheet.name}: nothing was imported; no row can land.", problems)
    return sheet._replace(rows=good)


def _raise_problems(sheet: Sheet, *, again: bool) -> None:
    """Raise ProblemsInFile unless every cell is as expected and every swatch stands once."""
    count = sum(len(cells.problems) for cells in sheet.rows)
    sheet.raise_problems(
        f"nothing was imported; {count} {'cell needs' if count == 1 else 'cells need'} mending.",
        Remedy.REPEATED_READINGS if again else None,
    )


def _paper_code(sheet: Sheet) -> str | None:
    """The code of the row that the format marks as the bare paper."""
    marked = sheet.table.paper_row
    return next((cells.text("code") for cells in sheet.rows if cells.row.number == marked), None)


def _without_paper(
    taken: list[Taken], stated: str | None, file_name: str
) -> tuple[list[Taken], Paper]:
    """The swatches that are pencils, and the paper they lie on."""
    if stated is None:
        return taken, Paper()
    lab = parse_colour(stated)
    if lab is not None:
        L, a, b = (float(value) for value in lab)
        return taken, Paper((L, a, b), measured=True)
    found = [swatch for swatch, _ in taken if swatch.code.casefold() == stated.casefold()]
    if not (found and found[0].coloured):
        raise InputError(
            f"{file_name}: {stated!r:.60} is neither a colour such as 'lab(95 0 2)' nor the code "
            "of a row with one.",
            argument="bare_paper",
        )
    others = [(swatch, entry) for swatch, entry in taken if swatch is not found[0]]
    if not others:
        raise InputError(f"{file_name}: there is no row beside the paper. Expected pencils.")
    return others, Paper(found[0].lab, measured=True)


def _swatch(
    range_name: str,
    cells: Cells,
    fields: Mapping[str, Field],
    entry: Entry | None,
    convention: Convention,
) -> Swatch | None:
    """The swatch of a row, of the `fields` that the file has, its Lab still to be converted; None
    beside a problem.
    """
    stated = {
        name: value for name, field in fields.items() if (value := cells.field(field)) is not None
    }
    if "code" not in stated:
        cells.problem("code", "", "a code that no other pencil of the range has")
    if entry is None or "code" not in stated:
        return None
    source = convention.source_of(entry)
    return Swatch(
        **{
            "range": range_name,
            "lab": NO_COLOUR,
            "source": source,
            **uncertainty_stated(stated, source),
            **({"pressure": convention.laid} if convention.laid else {}),
            **stated,
        },
        measurement=conditions_of(cells, entry, convention),
        extra={
            title: unguard(cells.at(index))
            for title, index in cells.columns.unknown.items()
            if cells.at(index)
        },
    )


def _assumed_pressure(rows: list[Cells], taken: list[Taken]) -> list[Note]:
    """That a pressure was assumed, where the row of a pencil states none."""
    coloured = [swatch for swatch, _ in taken if swatch.coloured]
    silent = {cells.text("code").casefold() for cells in rows if not cells.text("pressure")}
    count = sum(
        swatch.pressure is Pressure.HEAVY and swatch.code.casefold() in silent
        for swatch in coloured
    )
    if not count:
        return []
    text = (
        f"How hard {count} of {len(coloured)} swatches were laid is not stated: heavy was assumed."
    )
    return [Note(text, Remedy.STATE_PRESSURE)]


def _details(table: TextTable, entries: list[Entry | None]) -> dict[str, str]:
    kinds = {
        EntryKind.SPECTRUM: "reflectance",
        EntryKind.LAB: "L, a, b",
        EntryKind.XYZ: "X, Y, Z",
        EntryKind.HEX: "hex (sRGB)",
    }
    used = [text for kind, text in kinds.items() if any(e and e.kind is kind for e in entries)]
    return {**table.details, "colours": " and ".join(used) or "none"}


def _notes(
    columns: Columns, taken: list[Taken], convention: Convention, *, per_cent: bool
) -> list[Note]:
    notes = convention_notes(convention, taken)
    if per_cent:
        text = "Reflectances go above 2, so they were read as per cent, not as factors."
        notes.append(Note(text))
    if columns.unknown:
        titles = ", ".join(repr(title) for title in columns.unknown)
        text = f"Columns kept with the swatches though stopgap does not use them: {titles}."
        notes.append(Note(text))
    return notes
