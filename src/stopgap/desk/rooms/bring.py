"""Bring in: a spreadsheet as it is kept, looked at and mended before anything is stored.

What was brought waits in memory under a key, a few at a time; nothing is stored before it is taken.
"""

from collections.abc import Mapping, Sequence
from pathlib import PurePosixPath
from types import MappingProxyType
from typing import NamedTuple

from stopgap.colorimetry import WHITES
from stopgap.desk.asking import Desk, Done, Room
from stopgap.desk.forms import Sent, as_file
from stopgap.desk.spreadsheet import CELL, COLUMN, sheet_of
from stopgap.desk.words import note_words
from stopgap.errors import InputError, StopgapError
from stopgap.library import (
    ColumnMapping,
    Convention,
    fill,
    import_proposal,
    read_table,
    take,
    understand,
)
from stopgap.library.ranges.importing import MOST_GONE
from stopgap.library.ranges.understanding.mapping import Use
from stopgap.library.tables.cells import Finding, TextRow, TextTable
from stopgap.library.tables.formats.delimited import write_delimited
from stopgap.reports.answers import import_report, understood_report
from stopgap.reports.render.rooms import Deed, FormField, Panel
from stopgap.swatches import Source

_MOST_LINES = 60  # of what was found, beside the sheet
_EDITABLE = 200_000  # characters of a table that a page may carry
_SOURCES = (("", "as the file says"), *((str(each), str(each)) for each in Source))


class Brought(NamedTuple):
    """A file that waits: what it is called, what it holds, and what was said of it: what its
    columns are taken for, by the fields of _SAID how its colours are meant, and its corrected cells
    by row and place.
    """

    file: str
    held: bytes
    name: str
    columns: Mapping[str, str] = MappingProxyType({})
    said: Mapping[str, str] = MappingProxyType({})
    cells: Mapping[tuple[int, int], str] = MappingProxyType({})


def _fields(desk: Desk, sent: Sent) -> list[FormField]:
    del desk, sent
    return []


def _answer(desk: Desk, sent: Sent) -> Panel:
    key = sent.text("key")
    brought = desk.brought.get(key)
    if not isinstance(brought, Brought):
        said = ["That is not waiting here any more. Bring it again."] if key else []
        deeds = [*_first_steps(desk), Deed("/bring/look", "Look at it", {}, _ASKED)]
        return Panel(deeds=deeds, said=said, links=_BY_CHART)
    table = _table(brought)
    mapping = ColumnMapping(brought.columns)
    try:
        understood = understand(table, brought.file, mapping)
    except StopgapError as error:
        return Panel(deeds=[_again(key, brought)], said=[str(error)])
    try:
        proposal = take(
            understood,
            brought.name,
            _convention(brought),
            mapping,
            repeats=bool(brought.said.get("repeats")),
        )
    except StopgapError as error:
        again = _again(key, brought, understood.uses, table, understood.findings)
        return Panel(deeds=[again], said=[str(error)])
    again = _again(key, brought, understood.uses, table, proposal.findings)
    count = len(proposal.draft.pencils)
    findings = proposal.findings
    report = understood_report(brought.file, findings, count, note_words, most=_MOST_LINES)
    renew = FormField("renew", "it renews a range that is here; what I decided stays", kind="check")
    label = f"Take {count} {'pencil' if count == 1 else 'pencils'} as {brought.name}"
    return Panel(report, deeds=[Deed("/bring/take", label, {"key": key}, [renew]), again])


_BY_CHART = (
    (
        "/print",
        "Names without colours will do as well: draw a chart to colour in, then read its scan",
    ),
)
_WHITES = (("", "as the file says, else D50"), *((name, name) for name in WHITES))
_SAID = (
    FormField("source", "its colours were", "", "choice", _SOURCES),
    FormField("white", "under the light", "", "choice", _WHITES),
    FormField(
        "observer",
        "for the observer",
        "",
        "choice",
        (("", "as the file says, else 2°"), ("2", "2°"), ("10", "10°")),
    ),
    FormField("repeats", "a code that is there again is another reading of it", "", "check"),
)
_ASKED = (
    FormField("name", "what to call the range", hint="else as its file, without the ending"),
    *_SAID,
    FormField("file", "a spreadsheet", kind="file", hint="CSV, XLSX, XLS, ODS, CGATS or CxF"),
    FormField("table", "or its rows", kind="long", hint="pasted, the headings first"),
)


def _first_steps(desk: Desk) -> list[Deed]:
    """Where there is no range yet: invented ones to look at."""
    return [Deed("/bring/demo", "Look at invented pencils first")] if desk.is_empty() else []


def _again(
    key: str,
    brought: Brought,
    uses: Sequence[Use] = (),
    table: TextTable | None = None,
    findings: Sequence[Finding] = (),
) -> Deed:
    """The form by which columns are said and cells corrected; where nothing is understood of a
    table it is there as text.
    """
    fields = [_ASKED[0]._replace(value=brought.name)]
    fields += [one._replace(value=brought.said.get(one.name, "")) for one in _SAID]
    if table is not None:
        sheet = sheet_of(table, uses, findings)
        return Deed("/bring/look", "Look again", {"key": key}, fields, sheet)
    if text := _text(brought):
        hint = "correct a cell here, and look again"
        fields.append(FormField("table", "the table", text, "long", hint=hint))
    return Deed("/bring/look", "Look again", {"key": key}, fields)


def _text(brought: Brought) -> str:
    """The table as text to be corrected; empty where it is too long for a page."""
    try:
        text = brought.held.decode("utf-8")
    except UnicodeDecodeError:
        with as_file(brought.held, brought.file) as path:
            text = write_delimited(read_table(path)).decode("utf-8")
    return text if len(text) <= _EDITABLE else ""


def _convention(brought: Brought) -> Convention:
    said = brought.said
    return Convention(
        said.get("white") or None,
        int(said["observer"]) if said.get("observer") else None,
        Source(said["source"]) if said.get("source") else None,
    )


def _look(desk: Desk, sent: Sent) -> Done:
    """Keep what was brought until it is taken; nothing is stored."""
    waiting = desk.brought.get(sent.text("key"))
    before = waiting if isinstance(waiting, Brought) else None
    file, held = _held(sent, before)
    if not held:
        raise InputError("expected a spreadsheet, or its rows.")
    said = [(name, means) for name, means in sent.pairs if name.startswith(COLUMN)]
    columns = {name.removeprefix(COLUMN): means for name, means in said}
    if before is not None and columns:
        columns = {**before.columns, **_changed(before, columns)}
    how = _how(sent)
    cells = {} if before is None or held is not before.held else _corrected(before, sent)
    name = sent.text("name") or PurePosixPath(file).stem
    brought = Brought(file, held, name, columns, how, cells)
    key = desk.wait(brought, instead_of=sent.text("key"))
    return Done("Nothing is stored yet.", f"/bring?key={key}")


def _how(sent: Sent) -> dict[str, str]:
    """How the colours of a file are meant, as a form says it."""
    said = [one for one in _SAID if sent.said(one.name)]
    for one in said:
        if one.options:
            sent.one_of(one.name, [word for word, _ in one.options])
    return {one.name: sent.text(one.name) for one in said}


def _held(sent: Sent, before: Brought | None) -> tuple[str, bytes]:
    """What a form brings, and what it is called: a file, else rows, else what waited before."""
    file, held = sent.files.get("file", ("", b""))
    if held:
        return file.replace("\\", "/").rpartition("/")[2][:100] or "the file", held
    table = sent.text("table")
    if before is None:
        return "the pasted table", table.encode("utf-8")
    if table and table.split() != _text(before).split():
        return before.file, table.encode("utf-8")
    return before.file, before.held


def _table(brought: Brought) -> TextTable:
    """The table that waits, its cells as they were corrected."""
    with as_file(brought.held, brought.file) as path:
        table = read_table(path)
    cells = brought.cells

    def mended(row: TextRow) -> TextRow:
        texts = (cells.get((row.number, at), text) for at, text in enumerate(row.cells))
        return row._replace(cells=tuple(texts))

    if not cells:
        return table
    return table._replace(header=mended(table.header), rows=tuple(map(mended, table.rows)))


def _corrected(before: Brought, sent: Sent) -> dict[tuple[int, int], str]:
    """The cells that say something else than in the file, as the form has them now."""
    with as_file(before.held, before.file) as path:
        table = read_table(path)
    now = {name: text for name, text in sent.pairs if name.startswith(CELL)}
    cells = dict(before.cells)
    for row in (table.header, *table.rows) if now else ():
        for at, text in enumerate(row.cells):
            said = now.get(f"{CELL}{row.number} {at}")
            if said is not None:
                cells.pop((row.number, at), None)
                if said.split() != text.split():
                    cells[row.number, at] = said
    return cells


def _changed(before: Brought, columns: Mapping[str, str]) -> dict[str, str]:
    """What was said of columns that they were not taken for anyway."""
    try:
        uses = understand(_table(before), before.file, ColumnMapping(before.columns)).uses
    except StopgapError:
        return dict(columns)
    taken = {use.heading: use.means for use in uses}
    return {heading: means for heading, means in columns.items() if taken.get(heading) != means}


def _take(desk: Desk, sent: Sent) -> Done:
    """Store what waits under a key."""
    key = sent.text("key")
    brought = desk.brought.get(key)
    if not isinstance(brought, Brought):
        raise InputError(
            "That is not waiting here any more, so nothing was stored. Bring it again."
        )
    mapping = ColumnMapping(brought.columns)
    understood = understand(_table(brought), brought.file, mapping)
    repeats = bool(brought.said.get("repeats"))
    proposal = take(understood, brought.name, _convention(brought), mapping, repeats=repeats)
    with desk.changing() as library:
        report = import_proposal(library, proposal, renew=sent.said("renew"), most_gone=MOST_GONE)
    del desk.brought[key]
    told = import_report(report, note_words).blocks
    words = next(
        (text for block in told if isinstance(text := getattr(block, "text", None), str)), ""
    )
    return Done(words or f"{brought.name} is in the library.", "/wall")


def _demo(desk: Desk, sent: Sent) -> Done:
    """Fill an empty library with the invented ranges."""
    del sent
    if not desk.is_empty():
        raise InputError("There are ranges here already, so the invented ones were left out.")
    with desk.changing() as library:
        fill(library)
    return Done("Three invented ranges are here to be tried. History takes them back.", "/wall")


ROOM = Room(
    "Bring in",
    "A spreadsheet as you have kept it: what its columns hold is found out, shown and corrected "
    "here. Nothing is stored before you take it.",
    _fields,
    _answer,
    {"look": _look, "take": _take, "demo": _demo},
)
