"""A range draft into the library: a new range, or a newer file of a range that is there."""

import sqlite3
from collections.abc import Container, Sequence
from typing import TYPE_CHECKING, Any, NamedTuple

from stopgap.errors import InputError, Note, Remedy, UnknownSwatchError
from stopgap.library.ranges.checks import probable_mistakes
from stopgap.library.ranges.draft import RangeDraft
from stopgap.library.ranges.repeats import Taken, first_of
from stopgap.library.store.entry import conditions_from_json
from stopgap.library.store.insertion import (
    insert_further,
    insert_swatch,
    range_number,
    row_from_further,
    row_from_swatch,
)
from stopgap.library.store.library import Library
from stopgap.library.store.papers import as_in_drawer, stored_papers
from stopgap.library.store.rows import FURTHER, read_pencils
from stopgap.library.tables.cells import Finding
from stopgap.swatches import LAID_FIELDS, Status, key_of, laid_key, names_notes, without_colour

if TYPE_CHECKING:
    from stopgap.library.ranges.understanding.mapping import ColumnMapping
    from stopgap.library.ranges.understanding.proposal import Proposal

Group = tuple[Taken, ...]

MOST_GONE = 0.25
"""The share of its pencils that a range loses without more ado when it is renewed."""

_NO_COLOUR_STATED = "SELECT id FROM swatch WHERE range_id = ? AND lightness IS NULL"


class ImportReport(NamedTuple):
    """What an import did; codes are in the order of the file.

    `kept` are swatches that the new file lacks and that stay because the user owns them, entered
    them by hand or decided something about them; they are marked discontinued.
    """

    range: str
    origin: str
    details: dict[str, str]
    added: tuple[str, ...] = ()
    changed: tuple[str, ...] = ()
    gone: tuple[str, ...] = ()
    kept: tuple[str, ...] = ()
    unchanged: int = 0
    notes: tuple[Note, ...] = ()
    warnings: tuple[str, ...] = ()
    findings: tuple[Finding, ...] = ()


def import_proposal(
    library: Library, proposal: "Proposal", *, renew: bool = False, most_gone: float = 1.0
) -> ImportReport:
    """Bring in a range that was understood and agreed on, with its mapping, as `import_range`."""
    report = import_range(
        library, proposal.draft, renew=renew, most_gone=most_gone, mapping=proposal.mapping
    )
    return report._replace(findings=proposal.findings)


def import_range(
    library: Library,
    draft: RangeDraft,
    *,
    renew: bool = False,
    most_gone: float = 1.0,
    mapping: "ColumnMapping | None" = None,
) -> ImportReport:
    """Bring a range into the library, whole or not at all.

    With `renew`, pencils are recognised by their codes and their swatches by how they were laid:
    what the file says of them is renewed, what it no longer has is gone, and what the user decided
    or swatched by hand stays. A correction of the range is taken back, since the file may have been
    measured anew. `most_gone` is the share of its pencils that the range may lose.

    Raises
    ------
    InputError
        If the range is there already and `renew` is not given, or would lose too many pencils.
    UnknownSwatchError
        If there is nothing to replace.
    """
    existing = {name.casefold(): name for name in library.range_names()}.get(draft.name.casefold())
    if existing and not renew:
        raise InputError(
            f"A range called {existing!r} is in the library already.", remedy=Remedy.RENEW_RANGE
        )
    if renew and not existing:
        raise UnknownSwatchError(
            f"There is no range called {draft.name!r} to replace.", remedy=Remedy.NEW_RANGE
        )
    draft = _papers_by_name(library, draft)
    report = ImportReport(
        range=existing or draft.name,
        origin=draft.origin,
        details=draft.details,
        notes=(*draft.notes, *_lost_shift(library, existing)),
        warnings=tuple(probable_mistakes(draft.colours)),
    )
    with library.changing(f"{'new ' if existing else ''}import of {report.range}") as connection:
        if existing:
            done = _renew(connection, draft, report, most_gone)
        else:
            done = _insert(connection, draft, report)
        if mapping is not None:
            from stopgap.library.ranges.understanding.mapping import keep_mapping

            keep_mapping(connection, report.range, mapping)
    told = [one.note for one in library.shifts() if report.range in one[:2]]
    with library.reading() as connection:  # of this range alone, however many there are
        found = connection.execute(_NO_COLOUR_STATED, (range_number(connection, report.range),))
        rows = [row["id"] for row in found]
        its = read_pencils(connection, rows=rows) if rows else ()
    told += names_notes(without_colour(its))
    return done._replace(notes=(*done.notes, *told))


def _papers_by_name(library: Library, draft: RangeDraft) -> RangeDraft:
    """The draft with papers called as the drawer calls them, which renewing compares."""
    papers = stored_papers(library)
    pencils = (
        tuple((as_in_drawer(swatch, papers), entry) for swatch, entry in group)
        for group in draft.pencils
    )
    return draft._replace(pencils=tuple(pencils)) if papers else draft


def _insert(
    connection: sqlite3.Connection, draft: RangeDraft, report: ImportReport
) -> ImportReport:
    range_id = connection.execute(
        "INSERT INTO colour_range (name, white, observer, white_assumed, origin, paper)"
        " VALUES (?, ?, ?, ?, ?, ?)",
        (draft.name, *draft.as_kept),
    ).lastrowid
    for position, group in enumerate(draft.pencils, start=1):
        _insert_pencil(connection, range_id or 0, position, group)
    return report._replace(added=tuple(group[0][0].code for group in draft.pencils))


def _insert_pencil(
    connection: sqlite3.Connection, range_id: int, position: int, group: Group
) -> None:
    first, others = _parted(group, first_of(group))
    of_id = insert_swatch(connection, range_id, position, *first)
    for other in others:
        insert_further(connection, of_id, *other)


def _parted(group: Group, place: int) -> tuple[Taken, list[Taken]]:
    """The swatch at a place, and the others."""
    return group[place], [*group[:place], *group[place + 1 :]]


def _renew(
    connection: sqlite3.Connection, draft: RangeDraft, report: ImportReport, most_gone: float
) -> ImportReport:
    range_id = range_number(connection, draft.name) or 0
    connection.execute(
        "UPDATE colour_range SET white = ?, observer = ?, white_assumed = ?, origin = ?,"
        " paper = ?, shift = '[0.0, 0.0, 0.0]', correction = NULL WHERE id = ?",
        (*draft.as_kept, range_id),
    )
    old = {
        row["code"].casefold(): row
        for row in connection.execute("SELECT * FROM swatch WHERE range_id = ?", (range_id,))
    }
    before = len(old)
    added, changed = [], []
    for position, group in enumerate(draft.pencils, start=1):
        code = group[0][0].code
        row = old.pop(code.casefold(), None)
        if row is None:
            _insert_pencil(connection, range_id, position, group)
            added.append(code)
        elif _renew_pencil(connection, row, position, group):
            changed.append(code)
    kept, gone = _let_go(connection, list(old.values()), report.range)
    if len(gone) > most_gone * before:
        raise InputError(
            f"{report.range} would lose {len(gone)} of its {before} pencils, which the file lacks; "
            "nothing was changed. It may be half a file, or another range's.",
            remedy=Remedy.DROP,
        )
    return report._replace(
        added=tuple(added),
        changed=tuple(changed),
        gone=gone,
        kept=kept,
        unchanged=len(draft.pencils) - len(added) - len(changed),
    )


def _let_go(
    connection: sqlite3.Connection, rows: Sequence[sqlite3.Row], range_name: str
) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """The codes of pencils that a newer file lacks: those kept, discontinued, and those gone."""
    from stopgap.library.store.arrangements import placed_by_hand

    by_hand = placed_by_hand(connection)
    kept = [row for row in rows if _is_the_users(connection, row, range_name, by_hand)]
    gone = [row for row in rows if row not in kept]
    for row in kept:
        if not row["by_hand"]:
            stopped = (str(Status.DISCONTINUED), row["id"])
            connection.execute("UPDATE swatch SET status = ? WHERE id = ?", stopped)
    connection.executemany("DELETE FROM swatch WHERE id = ?", [(row["id"],) for row in gone])
    return tuple(row["code"] for row in kept), tuple(row["code"] for row in gone)


def _renew_pencil(
    connection: sqlite3.Connection, row: sqlite3.Row, position: int, group: Group
) -> bool:
    """Renew a pencil by what the file says; whether anything but its place is different.

    A first swatch that was entered by hand, and that the file lacks, stays the first. A name says
    nothing of the colour, so that what is known of it stays.
    """
    name = not group[0][0].coloured
    keys = [laid_key(swatch) for swatch, _ in group]
    own = _stored_key(row)
    if row["lightness"] is not None and (name or (own not in keys and row["by_hand"])):
        fresh = row_from_swatch(group[0][0]).items()
        values = {column: value for column, value in fresh if column not in FURTHER}
        rest: Sequence[Taken] = group
    else:
        (swatch, entry), rest = _parted(group, keys.index(own) if own in keys else first_of(group))
        values = {**row_from_swatch(swatch), "entry": entry.to_json(), "by_hand": 0}
    differs = _update(connection, "swatch", row, position, values)
    return (not name and _renew_further(connection, row["id"], rest, keys)) or differs


def _renew_further(
    connection: sqlite3.Connection,
    of_id: int,
    rest: Sequence[Taken],
    keys: Sequence[tuple[str, ...]],
) -> bool:
    """Renew the further swatches of a pencil; whether anything but a place is different.

    `keys` are those of all that the file has of it, the first swatch's among them.
    """
    rows = connection.execute("SELECT * FROM further_swatch WHERE swatch_id = ?", (of_id,))
    old = {_stored_key(row): row for row in rows}
    differs = False
    for position, (swatch, entry) in enumerate(rest, start=1):
        row = old.pop(laid_key(swatch), None)
        if row is None:
            insert_further(connection, of_id, swatch, entry)
            differs = True
        else:
            values = {**row_from_further(swatch), "entry": entry.to_json(), "by_hand": 0}
            differs |= _update(connection, "further_swatch", row, position, values)
    gone = [(row["id"],) for key, row in old.items() if key in keys or not row["by_hand"]]
    connection.executemany("DELETE FROM further_swatch WHERE id = ?", gone)
    return differs or bool(gone)


def _update(
    connection: sqlite3.Connection,
    table: str,
    row: sqlite3.Row,
    position: int,
    values: dict[str, Any],
) -> bool:
    """Renew one row; whether anything but its place is different."""
    differs = any(row[field] != value for field, value in values.items())
    if differs or row["position"] != position:
        values = {**values, "position": position}
        assignments = ", ".join(f"{field} = ?" for field in values)
        connection.execute(
            f"UPDATE {table} SET {assignments} WHERE id = ?", (*values.values(), row["id"])
        )
    return differs


def _stored_key(row: sqlite3.Row) -> tuple[str, ...]:
    """How a stored swatch was laid by its file, whatever the user decided."""
    laid = (str(row[name]).casefold() for name in LAID_FIELDS)
    return (*laid, conditions_from_json(row["measurement"]).date)


def _is_the_users(
    connection: sqlite3.Connection, row: sqlite3.Row, range_name: str, placed: Container[str]
) -> bool:
    decided = connection.execute("SELECT 1 FROM decision WHERE swatch_id = ?", (row["id"],))
    filed = key_of(f"{range_name}:{row['code']}") in placed
    return bool(row["by_hand"] or row["owned"] or filed or decided.fetchone())


def _lost_shift(library: Library, existing: str | None) -> list[Note]:
    note = Note("The correction of this range was taken back.", Remedy.MEASURE_SHIFT)
    return [note] if existing and library.colour_range(existing).corrections else []
