"""A file as people keep it: read, understood, and taken where the user agrees.

Three steps, each a function of values: `read_table` gives texts with their places; `understand`
says what the columns hold and makes a range file of them; `take` gives swatches. What was guessed,
repaired or left out is a list of findings, so that a preview and the import cannot differ.
"""

from collections.abc import Sequence
from pathlib import Path
from typing import NamedTuple

from stopgap.errors import InputError, Problem, Remedy
from stopgap.library.files import called
from stopgap.library.ranges.conversion import Convention
from stopgap.library.ranges.draft import RangeDraft
from stopgap.library.ranges.reading import draft_of
from stopgap.library.ranges.repeats import EACH_CODE_ONCE
from stopgap.library.ranges.understanding.contents import date_in
from stopgap.library.ranges.understanding.headings import Headed, headed, stacked, upright
from stopgap.library.ranges.understanding.mapping import (
    Basis,
    ColumnMapping,
    Use,
    has_colour,
)
from stopgap.library.ranges.understanding.meanings import uses_of
from stopgap.library.ranges.understanding.rewriting import rewritten
from stopgap.library.ranges.understanding.rows import sort_rows
from stopgap.library.ranges.understanding.texts import plain_texts
from stopgap.library.tables.cells import Finding, FindingKind, FoundCell
from stopgap.library.tables.columns import KNOWN
from stopgap.library.tables.formats import TextTable, read_table
from stopgap.library.tables.formats.delimited import TRUSTED
from stopgap.library.tables.formats.gate import MOST_CELLS
from stopgap.library.tables.reader import sheet_of


class Understanding(NamedTuple):
    """A table as a range file, what its columns were taken for, and what was found on the way."""

    name: str
    table: TextTable
    uses: tuple[Use, ...]
    findings: tuple[Finding, ...]


class Proposal(NamedTuple):
    """A range that can be taken, and all that the user should have seen before it is.

    `mapping` is what is agreed on by taking it.
    """

    draft: RangeDraft
    findings: tuple[Finding, ...]
    mapping: ColumnMapping

    def unconfirmed(self, agreed: ColumnMapping) -> list[Finding]:
        """The findings that were not agreed on at an earlier import; doubt is never agreed on."""
        return [
            finding
            for finding in self.findings
            if finding.kind is FindingKind.DOUBT
            or (
                finding.kind is not FindingKind.REMARK
                and not agreed.accepted.issuperset(finding.causes)
            )
        ]


def propose_range(
    path: Path,
    name: str,
    convention: Convention,
    stated: ColumnMapping | None = None,
    *,
    repeats: bool = False,
    bare_paper: str | None = None,
) -> Proposal:
    """The range in a file, as people keep it: read, `understand` and `take`; raises as they do."""
    understood = understand(read_table(path), called(path), stated)
    return take(understood, name, convention, stated, repeats=repeats, bare_paper=bare_paper)


def understand(table: TextTable, name: str, stated: ColumnMapping | None = None) -> Understanding:
    """What a table says, its columns as `stated` where they are; `name` is its file's.

    Raises
    ------
    InputError
        If no column can be a code, or there are too many cells.
    """
    stated = stated or ColumnMapping()
    width = max(len(row.cells) for row in (table.header, *table.rows))
    if width * (len(table.rows) + 1) > MOST_CELLS:
        raise InputError(
            f"{name}: there are more than {MOST_CELLS:,} cells, more than a range of pencils has. "
            "Keep the swatches in a sheet of their own."
        )
    table, findings = plain_texts(table)
    findings = [*_encoding(table), *_other_sheets(table), *findings]
    given, table = table, upright(table, stated)
    parted = stacked(headed(table, stated))
    findings += _laid_out(parted, turned=table is not given)
    uses = _uses(parted, name, stated)
    findings += [_guess(use) for use in uses if use.basis in (Basis.HEADING, Basis.CONTENTS)]
    findings += [_passed_over(use) for use in uses if use.passed_over]
    findings += _names_alone(uses) or _only_texts(uses)
    rows = sort_rows(parted, uses)
    if not rows.rows:
        raise InputError(
            f"{name}: there is a header but no row below it that has a code. Expected one row for "
            "each pencil."
        )
    clean, found_in_cells = rewritten(rows.rows, rows.sections, uses, table)
    if parted.heading_rows:
        header = clean.header._replace(number=parted.heading_rows[-1].number)
        clean = clean._replace(header=header)
    return Understanding(name, clean, tuple(uses), (*findings, *rows.findings, *found_in_cells))


def _uses(table: Headed, name: str, stated: ColumnMapping) -> list[Use]:
    """What the columns hold; there must be a code among it."""
    try:
        return uses_of(table, stated)
    except InputError as error:
        raise InputError(f"{name}: {error}") from error


def _names_alone(uses: Sequence[Use]) -> list[Finding]:
    """The guess that a table has no colours, where it has columns of which nobody knows better."""
    unknown = [use.heading for use in uses if use.basis is Basis.NOTHING]
    if has_colour({use.means for use in uses}) or not unknown:
        return []
    text = "No column holds a colour (L, a, b, or X, Y, Z, or hex, or nm400, nm410, …), so that "
    text += f"pencils land by name alone; kept as texts: {', '.join(map(repr, unknown)):.200}"
    return [Finding(FindingKind.GUESS, "names alone", text)]


def _only_texts(uses: Sequence[Use]) -> list[Finding]:
    """That some columns stay texts, beside others that were understood."""
    guessed = any(use.basis in (Basis.HEADING, Basis.CONTENTS) for use in uses)
    unknown = [use.heading for use in uses if use.basis is Basis.NOTHING and not use.passed_over]
    if not (guessed and unknown):
        return []
    text = f"Kept with each pencil as texts: {', '.join(map(repr, unknown)):.200}"
    return [Finding(FindingKind.REMARK, "columns:texts", text)]


def _laid_out(parted: Headed, *, turned: bool) -> list[Finding]:
    """The guesses that a table lies on its side, and that several are one."""
    found = []
    if turned:
        text = "Each column was taken for a pencil: the headings stand in the first one; "
        found.append(("layout:turned", f"{text}a row below is a column of the file"))
    if parted.beside > 1:
        text = (
            f"{parted.beside} tables beside each other, with the same headings, were taken as one"
        )
        found.append(("layout:beside", text))
    return [Finding(FindingKind.GUESS, cause, text) for cause, text in found]


def _encoding(table: TextTable) -> list[Finding]:
    """The guess that an encoding is."""
    encoding = table.details.get("encoding", TRUSTED[0])
    if encoding in TRUSTED:
        return []
    text = f"The text was read as {encoding}, in which its letters make most sense"
    return [Finding(FindingKind.GUESS, f"encoding:{encoding}", text)]


def _other_sheets(table: TextTable) -> list[Finding]:
    """That a workbook has others beside the one that is read."""
    return [table.unread] if table.unread else []


def take(
    understood: Understanding,
    name: str,
    convention: Convention,
    stated: ColumnMapping | None = None,
    *,
    repeats: bool = False,
    bare_paper: str | None = None,
) -> Proposal:
    """The range of that name in what was understood; rows with a problem are left out.

    Raises
    ------
    InputError
        If the convention is refused, or no row can land.
    """
    sheet = sheet_of(understood.table, understood.name, KNOWN, ("code",), "pencil", spectra=True)
    draft = draft_of(
        sheet, name, convention, repeats=repeats, bare_paper=bare_paper, leave_out=True
    )
    findings = (*understood.findings, *_doubts(draft.doubtful))
    agreed = (stated or ColumnMapping()).with_uses(understood.uses, findings)
    return Proposal(draft, findings, agreed)


def _guess(use: Use) -> Finding:
    why = "by its heading" if use.basis is Basis.HEADING else "by what it holds"
    text = f"Column {use.heading} was taken for {use.means} {why}"
    cause = f"column:{use.heading}={use.means}"
    return Finding(FindingKind.GUESS, cause, text, use.heading, means=use.means)


def _passed_over(use: Use) -> Finding:
    text = (
        f"Column {use.heading} was kept as a text, not taken for {use.passed_over}: its cells are "
        "none, or another column holds it"
    )
    return Finding(FindingKind.KEPT, f"kept:{use.heading}={use.passed_over}", text, use.heading)


def _doubts(problems: Sequence[Problem]) -> list[Finding]:
    """One finding for each cause for which rows do not land."""
    causes: dict[tuple[str, str], list[Problem]] = {}
    for problem in problems:
        causes.setdefault((problem.column, problem.expected or problem.reason), []).append(problem)
    return [_doubt(column, expected, found) for (column, expected), found in causes.items()]


def _doubt(column: str, expected: str, found: Sequence[Problem]) -> Finding:
    count = len({problem.row for problem in found})
    where = f" in column {column}" if column else ""
    example = found[0].found
    if example:
        what = f"found {example!r:.40}{where}, expected {expected}"
    else:
        what = f"the cell{where} is empty, expected {expected}" if found[0].expected else expected
    dated = column and example and date_in(example)
    hint = "; it may be a code that became a date" if dated else ""
    rows = "1 row does" if count == 1 else f"{count} rows do"
    return Finding(
        FindingKind.DOUBT,
        f"doubt:{column}",
        f"{rows} not land: {what.rstrip('.')}{hint}",
        column,
        tuple(FoundCell(problem.row or 0, problem.found) for problem in found),
        remedy=Remedy.REPEATED_READINGS if expected == EACH_CODE_ONCE else None,
    )
