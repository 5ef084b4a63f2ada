"""A table as people keep it to the table that a range file is: rows sorted out, cells made plain.

Each step takes columns of cells and gives them back with what it found; nothing is changed that the
contract's own reading would take as it stands.
"""

from collections import Counter
from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace

from stopgap.library.ranges.understanding.colouring import STEPS, parted_colours
from stopgap.library.ranges.understanding.contents import (
    number,
    share,
    thousands_mark,
    undated,
    zeros_lost,
)
from stopgap.library.ranges.understanding.grid import (
    COLOUR_NUMBERS,
    Grid,
    Step,
    count_of,
    have,
    is_number,
    is_spectral,
    repair,
    with_cells,
)
from stopgap.library.ranges.understanding.mapping import Finding, FindingKind, Use
from stopgap.library.ranges.understanding.rows import SECTION
from stopgap.library.ranges.understanding.vocabulary import (
    KEEP,
    LEAVE_OUT,
    currency_of,
    is_title,
    without_currency,
    word_for,
)
from stopgap.library.tables.formats import TextRow, TextTable
from stopgap.swatches import FIELDS

_YES_MEANINGS: Mapping[str, tuple[str, Mapping[str, str]]] = {
    "missing": ("owned", {"yes": "no", "no": "yes"}),
    "discontinued": ("status", {"yes": "discontinued", "no": "current"}),
    "available": ("status", {"yes": "current", "no": "discontinued"}),
}


def rewritten(
    rows: Sequence[TextRow], sections: Sequence[str], uses: Sequence[Use], table: TextTable
) -> tuple[TextTable, list[Finding]]:
    """The rows of pencils under the contract's titles, their cells plain; and what was found."""
    grid = _gathered(rows, uses)
    if any(sections):
        earlier = grid.columns.get(SECTION, [""] * len(rows))
        joined = [own or section for own, section in zip(earlier, sections, strict=True)]
        grid = grid.with_column(SECTION, joined)
    findings: list[Finding] = []
    delimited = "delimiter" in table.details
    lenient = not delimited or _one_mark(grid)
    steps: tuple[Callable[[Grid], Step], ...] = (
        parted_colours,
        lambda grid: _plain_numbers(grid, marks_may_differ=lenient, told=not delimited),
        *STEPS,
        _codes,
        _prices,
        _words,
        _unreadable,
    )
    for step in steps:
        grid, found = step(grid)
        findings += found
    titles = tuple(grid.columns)
    numbered = tuple(
        TextRow(number_, cells)
        for number_, cells in zip(
            grid.numbers, zip(*grid.columns.values(), strict=True), strict=True
        )
    )
    own = tuple(grid.own.get(title, title) for title in titles)
    header = TextRow(table.header.number, titles)
    clean = replace(table, header=header, rows=numbered, decimal_comma=False, own=own)
    return clean, findings


def _gathered(rows: Sequence[TextRow], uses: Sequence[Use]) -> Grid:
    """The cells of rows by what they are taken for; what is only kept has its own heading."""
    columns: dict[str, list[str]] = {}
    own: dict[str, str] = {}
    for use in uses:
        if use.means == LEAVE_OUT:
            continue
        title = use.means
        if title == KEEP:
            title = f"{use.heading} (kept)" if is_title(use.heading) else use.heading
        columns[title] = [
            row.cells[use.place] if use.place < len(row.cells) else "" for row in rows
        ]
        own[title] = use.heading
    for use in uses:
        for title, value in use.beside:
            if title not in columns:
                columns[title] = [value] * len(rows)
    return Grid(tuple(row.number for row in rows), columns, own)


def _one_mark(grid: Grid) -> bool:
    """Whether no number of the file has a decimal point, or none a decimal comma."""
    cells = [cell for title, column in grid.columns.items() if is_number(title) for cell in column]
    marks = {mark for mark in ",." for cell in cells if mark in cell and number(cell)}
    return len(marks) < 2


def _plain_numbers(grid: Grid, *, marks_may_differ: bool, told: bool) -> Step:
    """Every number with a decimal point; a decimal comma is guessed only among points.

    Where numbers need not be text it is `told`.
    """
    findings = []
    for title in [title for title in grid.columns if is_number(title)]:
        column = grid.columns[title]
        if title == "price":
            continue
        mark = "" if title in COLOUR_NUMBERS or is_spectral(title) else thousands_mark(column)
        plain = [number(cell, thousands=mark) or cell for cell in column]
        commas, others = {}, {}
        for place, (cell, text) in enumerate(zip(column, plain, strict=True)):
            if cell.replace("−", "-").replace(",", ".") == text:
                if "," in cell and (told or not marks_may_differ):
                    commas[place] = text
            elif cell != text:
                others[place] = text
        own = grid.own.get(title, title)
        if commas:
            text = f"{count_of(commas)} of column {own} {have(commas)} a decimal comma"
            comma = repair(f"comma:{title}", text, own, grid.found(title, commas))
            kind = FindingKind.REMARK if marks_may_differ else FindingKind.REPAIR
            findings.append(comma._replace(kind=kind))
        if others:
            text = f"{count_of(others)} of column {own} {have(others)} more than a plain number"
            findings.append(repair(f"number:{title}", text, own, grid.found(title, others)))
        grid = grid.with_column(title, plain)
    return grid, findings


def _codes(grid: Grid) -> Step:
    """Codes that became dates or lost their zeros or gained a `.0`, as they probably were."""
    column, own = grid.columns["code"], grid.own.get("code", "code")
    findings = []
    filled = [cell for cell in column if cell]
    ends = {place: cell[:-2] for place, cell in enumerate(column) if cell.endswith(".0")}
    if (
        filled
        and len(ends) == len(filled)
        and share(lambda cell: cell[:-2].isdecimal(), filled) == 1
    ):
        text = f"{count_of(ends)} of column {own} are numbers that ended in .0"
        findings.append(repair("code:.0", text, own, grid.found("code", ends)))
        grid = grid.with_column("code", [cell[:-2] if cell else cell for cell in column])
    dated = undated(grid.columns["code"])
    if dated:
        text = f"{count_of(dated)} of column {own} became dates"
        findings.append(repair("code:date", text, own, grid.found("code", dated)))
        grid = with_cells(grid, "code", dated)
    lost = zeros_lost(grid.columns["code"])
    if lost:
        text = f"{count_of(lost)} of column {own} seem to have lost their zeros"
        findings.append(repair("code:zeros", text, own, grid.found("code", lost)))
        grid = with_cells(grid, "code", lost)
    return grid, findings


def _prices(grid: Grid) -> Step:
    """Prices without the sign of their currency, which gets a column of its own."""
    if "price" not in grid.columns:
        return grid, []
    column, own = grid.columns["price"], grid.own.get("price", "price")
    mark = thousands_mark([without_currency(cell) for cell in column])
    currencies = [currency_of(cell) or "" if cell else "" for cell in column]
    plain = [number(without_currency(cell), thousands=mark) or cell for cell in column]
    changed = {
        place: text
        for place, (cell, text) in enumerate(zip(column, plain, strict=True))
        if cell.replace(",", ".") != text
    }
    findings = []
    if changed:
        signs = " and ".join(dict.fromkeys(filter(None, currencies)))
        text = f"{count_of(changed)} of column {own} {have(changed)} more than a plain number"
        text += f"; the currency {signs} was kept beside it" if signs else ""
        findings.append(repair("number:price", text, own, grid.found("price", changed)))
    of_heading = currency_of(own.split()[-1]) if own.split() else None
    if not any(currencies) and of_heading:
        currencies = [of_heading if cell else "" for cell in column]
    if any(currencies) and "currency" not in grid.columns:
        grid = grid.with_column("currency", currencies)
    return grid.with_column("price", plain), findings


def _words(grid: Grid) -> Step:
    """Words of six languages for the contract's, column by column."""
    findings = []
    for title in list(grid.columns):
        field, turned = _YES_MEANINGS.get(title, (title, {}))
        if field not in FIELDS or FIELDS[field].columns != (field,) or not _has_words(field):
            continue
        column, own = grid.columns[title], grid.own.get(title, title)
        plain = [_word(field, turned, cell) for cell in column]
        changed = {
            place: text
            for place, (cell, text) in enumerate(zip(column, plain, strict=True))
            if text != cell
        }
        said = Counter((column[place], text) for place, text in changed.items())
        if said:
            told = ", ".join(f"{cell} as {text}" for (cell, text), _ in said.most_common(6))
            more = f" and {len(said) - 6} more words" if len(said) > 6 else ""
            cause = ",".join(sorted(f"{cell}={text}" for cell, text in said))
            findings.append(
                Finding(
                    FindingKind.GUESS,
                    f"words:{title}:{cause}",
                    f"{count_of(changed)} of column {own} say a word for it: {told}{more}",
                    own,
                    grid.found(title, changed),
                )
            )
        if title != field:
            grid = grid.without((title,))
        grid = grid.with_column(field, plain, own)
    return grid, findings


def _has_words(field: str) -> bool:
    return field in ("owned", "status", "finish", "core", "opacity", "pressure")


def _word(field: str, turned: Mapping[str, str], cell: str) -> str:
    """The contract's word for a cell; the cell itself where it is one, or nobody would know."""
    if not cell:
        return cell
    asked = "owned" if turned else field
    if _reads(asked, cell) and not turned:
        return cell
    found = word_for(asked, cell)
    if asked == "owned" and found is None:
        if _reads("owned", cell):
            found = "yes" if FIELDS["owned"].kind.read(cell) else "no"
        elif cell.isdecimal():
            found = "yes" if int(cell) else "no"
    return turned.get(found, found) if found is not None else cell


def _reads(field: str, *cells: str) -> bool:
    try:
        FIELDS[field].kind.read(*cells)
    except ValueError:
        return False
    return True


def _unreadable(grid: Grid) -> Step:
    """Cells of what is optional that cannot be read go to a column of their own, as texts."""
    findings = []
    for field in FIELDS.values():
        title = field.name
        if title in ("code", "name", "lab") or title not in grid.columns:
            continue
        beside = [grid.columns.get(more, [""] * len(grid.numbers)) for more in field.titles[1:]]
        column, own = grid.columns[title], grid.own.get(title, title)
        bad = {
            place: ""
            for place, cell in enumerate(column)
            if cell and not _reads(title, cell, *(cells[place] for cells in beside))
        }
        if not bad:
            continue
        example = column[next(iter(bad))]
        expected = field.kind.expected
        text = (
            f"{count_of(bad)} of column {own} {'is' if len(bad) == 1 else 'are'} not {expected} "
            f"({example!r:.30}): kept as a text, not as {title}"
        )
        kind = FindingKind.KEPT
        findings.append(Finding(kind, f"text:{title}", text, own, grid.found(title, bad)))
        kept = [cell if place in bad else "" for place, cell in enumerate(column)]
        grid = with_cells(grid, title, bad).with_column(f"{own} (as written)", kept)
    return grid, findings
