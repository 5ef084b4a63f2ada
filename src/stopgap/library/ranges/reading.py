"""A range file to swatches: every row read, every problem of the file reported together."""

from collections import Counter
from dataclasses import dataclass, field
from pathlib import Path

from stopgap.colorimetry import parse_colour
from stopgap.errors import InputError, ProblemsInFile
from stopgap.library.ranges.agreement import disagreement
from stopgap.library.ranges.colours import as_factors, check_factors, entry_of, is_per_cent
from stopgap.library.ranges.conditions import conditions_of, only_mode, refuse_contradiction
from stopgap.library.ranges.conversion import Convention, convert
from stopgap.library.ranges.repeats import merge_repeats
from stopgap.library.store.entry import Entry, EntryKind
from stopgap.library.tables.columns import Columns, find_columns
from stopgap.library.tables.formats import Table, read_table
from stopgap.library.tables.formulas import unguard
from stopgap.library.tables.reader import Cells
from stopgap.swatches import (
    SOURCE_UNCERTAINTY,
    Core,
    Finish,
    Lightfastness,
    Paper,
    Status,
    Swatch,
)

Taken = tuple[Swatch, Entry]


@dataclass(frozen=True, slots=True)
class RangeDraft:
    """A range as a file states it, not yet in the library."""

    name: str
    origin: str
    swatches: tuple[Taken, ...]
    convention: Convention
    details: dict[str, str]
    notes: tuple[str, ...]
    paper: Paper = field(default_factory=Paper)

    @property
    def white(self) -> tuple[str, int, bool]:
        """Illuminant and observer of most of the entries, and whether some were assumed."""
        stated = Counter(
            (swatch.measurement.illuminant, swatch.measurement.observer)
            for swatch, _ in self.swatches
            if swatch.measurement.illuminant
        )
        default = (self.convention.white, self.convention.observer)
        illuminant, observer = stated.most_common(1)[0][0] if stated else default
        assumed = any(swatch.measurement.assumed for swatch, _ in self.swatches)
        return illuminant, observer or 2, assumed


def read_range(
    path: Path,
    name: str,
    convention: Convention,
    *,
    repeats: bool = False,
    paper: str | None = None,
) -> RangeDraft:
    """The range in a file.

    Parameters
    ----------
    repeats
        Whether several rows of one code are readings of one pencil, and become their mean.
    paper
        The bare paper: a colour such as lab(95 0 2), or the code of the row that holds it.

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
    refuse_contradiction(rows, convention, path.name)
    rows = only_mode(rows, convention.mode)
    entries = [entry_of(cells, convention) for cells in rows]
    per_cent = is_per_cent(entries, table.unit)
    if per_cent:
        entries = [as_factors(entry) for entry in entries]
    drafts = [
        _swatch(name, cells, entry, convention) for cells, entry in zip(rows, entries, strict=True)
    ]
    for cells, entry, draft in zip(rows, entries, drafts, strict=True):
        finish = draft.finish if draft else Finish.PLAIN
        check_factors(cells, entry, finish, per_cent=per_cent, unit=table.unit)
    disagreeing = disagreement(rows, entries, drafts, convention)
    problems = [problem for cells in rows for problem in cells.problems]
    problems += [] if repeats else _repeated_codes(rows)
    if problems:
        raise ProblemsInFile(
            f"{path.name}: nothing was imported; {len(problems)} "
            f"{'cell needs' if len(problems) == 1 else 'cells need'} mending.",
            sorted(problems, key=_row_of),
        )
    known = [entry for entry in entries if entry is not None]
    taken = convert([draft for draft in drafts if draft], known, convention)
    notes = _notes(columns, taken, convention, per_cent=per_cent and table.unit is None)
    notes += disagreeing
    if repeats:
        taken, repeated = merge_repeats(taken, convention)
        notes += repeated
    code = _paper_code(table, rows)
    taken, found = _without_paper(taken, paper or code, path.name)
    details = _details(table, known)
    return RangeDraft(name, path.name, tuple(taken), convention, details, tuple(notes), found)


def _paper_code(table: Table, rows: list[Cells]) -> str | None:
    """The code of the row that the format marks as the bare paper."""
    return next((cells.text("code") for cells in rows if cells.row.number == table.paper_row), None)


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
    if not found:
        raise InputError(
            f"{file_name}: --paper {stated!r:.60} is neither a colour such as 'lab(95 0 2)' nor "
            "the code of a row."
        )
    others = [(swatch, entry) for swatch, entry in taken if swatch is not found[0]]
    if not others:
        raise InputError(f"{file_name}: there is no row beside the paper. Expected pencils.")
    return others, Paper(found[0].lab, measured=True)


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
        measurement=conditions_of(cells, entry, convention),
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
                "already; expected each code once, or --repeats if they are readings of one "
                "pencil."
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
    columns: Columns, taken: list[Taken], convention: Convention, *, per_cent: bool
) -> list[str]:
    notes = convention.notes([swatch for swatch, _ in taken], [entry for _, entry in taken])
    if per_cent:
        notes.append("Reflectances go above 2, so they were read as per cent, not as factors.")
    if columns.unknown:
        titles = ", ".join(repr(title) for title in columns.unknown)
        notes.append(f"Columns kept with the swatches though stopgap does not use them: {titles}.")
    return notes
