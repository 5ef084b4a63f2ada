"""A range draft into the library: a new range, or a newer file of a range that is there."""

import json
import sqlite3
from dataclasses import dataclass, replace

from stopgap.errors import InputError, Note, Remedy, UnknownSwatchError
from stopgap.library.ranges.checks import probable_mistakes
from stopgap.library.ranges.reading import RangeDraft
from stopgap.library.store.entry import Entry
from stopgap.library.store.library import Library, insert_swatch
from stopgap.library.store.rows import row_from_swatch
from stopgap.swatches import Status, Swatch


@dataclass(frozen=True, slots=True)
class ImportReport:
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


def import_range(library: Library, draft: RangeDraft, *, renew: bool = False) -> ImportReport:
    """Bring a range into the library, whole or not at all.

    With `renew`, swatches are recognised by their codes: what the file says of them is renewed
    and what the user decided stays. A correction of the range is taken back, since the file may
    have been measured anew.

    Raises
    ------
    InputError
        If the range is there already and `renew` is not given.
    UnknownSwatchError
        If there is nothing to replace.
    """
    known = {name.casefold(): name for name in library.range_names()}
    existing = known.get(draft.name.casefold())
    if existing and not renew:
        raise InputError(
            f"A range called {existing!r} is in the library already.", remedy=Remedy.RENEW_RANGE
        )
    if renew and not existing:
        raise UnknownSwatchError(
            f"There is no range called {draft.name!r} to replace.", remedy=Remedy.NEW_RANGE
        )
    report = ImportReport(
        range=existing or draft.name,
        origin=draft.origin,
        details=draft.details,
        notes=(*draft.notes, *_lost_shift(library, existing)),
        warnings=tuple(probable_mistakes([swatch for swatch, _ in draft.swatches])),
    )
    with library.changing(f"{'new ' if existing else ''}import of {report.range}") as connection:
        if existing:
            return _renew(connection, draft, report)
        return _insert(connection, draft, report)


def _insert(
    connection: sqlite3.Connection, draft: RangeDraft, report: ImportReport
) -> ImportReport:
    range_id = connection.execute(
        "INSERT INTO colour_range (name, white, observer, white_assumed, origin, paper)"
        " VALUES (?, ?, ?, ?, ?, ?)",
        (draft.name, *_convention(draft)),
    ).lastrowid
    for position, (swatch, entry) in enumerate(draft.swatches, start=1):
        insert_swatch(connection, range_id or 0, position, swatch, entry)
    return replace(report, added=tuple(swatch.code for swatch, _ in draft.swatches))


def _renew(connection: sqlite3.Connection, draft: RangeDraft, report: ImportReport) -> ImportReport:
    range_id = connection.execute(
        "SELECT id FROM colour_range WHERE name = ?", (draft.name,)
    ).fetchone()["id"]
    connection.execute(
        "UPDATE colour_range SET white = ?, observer = ?, white_assumed = ?, origin = ?,"
        " paper = ?, shift = '[0.0, 0.0, 0.0]' WHERE id = ?",
        (*_convention(draft), range_id),
    )
    old = {
        row["code"].casefold(): row
        for row in connection.execute("SELECT * FROM swatch WHERE range_id = ?", (range_id,))
    }
    added, changed = [], []
    for position, (swatch, entry) in enumerate(draft.swatches, start=1):
        row = old.pop(swatch.code.casefold(), None)
        if row is None:
            insert_swatch(connection, range_id, position, swatch, entry)
            added.append(swatch.code)
        elif _update(connection, row, position, swatch, entry):
            changed.append(swatch.code)
    kept = [row for row in old.values() if _is_the_users(connection, row)]
    gone = [row for row in old.values() if row not in kept]
    for row in kept:
        if not row["by_hand"]:
            connection.execute(
                "UPDATE swatch SET status = ? WHERE id = ?", (str(Status.DISCONTINUED), row["id"])
            )
    connection.executemany("DELETE FROM swatch WHERE id = ?", [(row["id"],) for row in gone])
    return replace(
        report,
        added=tuple(added),
        changed=tuple(changed),
        gone=tuple(row["code"] for row in gone),
        kept=tuple(row["code"] for row in kept),
        unchanged=len(draft.swatches) - len(added) - len(changed),
    )


def _update(
    connection: sqlite3.Connection, row: sqlite3.Row, position: int, swatch: Swatch, entry: Entry
) -> bool:
    """Renew one row by what the file says; whether anything but its place is different."""
    values = {**row_from_swatch(swatch), "entry": entry.to_json(), "by_hand": 0}
    differs = any(row[field] != value for field, value in values.items())
    if differs or row["position"] != position:
        values["position"] = position
        assignments = ", ".join(f"{field} = ?" for field in values)
        connection.execute(
            f"UPDATE swatch SET {assignments} WHERE id = ?", (*values.values(), row["id"])
        )
    return differs


def _is_the_users(connection: sqlite3.Connection, row: sqlite3.Row) -> bool:
    decided = connection.execute(
        "SELECT 1 FROM decision WHERE swatch_id = ?1 UNION SELECT 1 FROM pin WHERE swatch_id = ?1",
        (row["id"],),
    )
    return bool(row["by_hand"] or row["owned"] or decided.fetchone())


def _lost_shift(library: Library, existing: str | None) -> list[Note]:
    if existing is None or not any(library.colour_range(existing).shift):
        return []
    return [Note("The correction of this range was taken back.", Remedy.MEASURE_SHIFT)]


def _convention(draft: RangeDraft) -> tuple[str, int, int, str, str | None]:
    white, observer, assumed = draft.white
    paper = json.dumps(draft.paper.lab) if draft.paper.measured else None
    return white, observer, int(assumed), draft.origin, paper
