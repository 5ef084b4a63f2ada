"""The library file: nothing lost, nothing half done, every failure one sentence."""

import json
import os
import sqlite3
from contextlib import closing, contextmanager
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from stopgap.errors import InputError, LibraryError, Remedy, UnknownSwatchError
from stopgap.library import keep_calibration, open_library, stored_calibration
from stopgap.library.ranges.conversion import Convention
from stopgap.library.ranges.editing import correct_range, edit_swatch, remove_further
from stopgap.library.ranges.exporting import export_csv
from stopgap.library.ranges.importing import import_range
from stopgap.library.ranges.reading import read_range
from stopgap.library.store import connection as connection_module
from stopgap.library.store.connection import APPLICATION_ID, newest_version, steps
from stopgap.library.store.copies import backup, restore
from stopgap.library.store.entry import Entry, EntryKind
from stopgap.library.store.insertion import find_or_make_range, insert_swatch
from stopgap.library.store.shifts import stored_labs
from stopgap.planner import estimated_conditions
from stopgap.swatches import (
    LaidState,
    Pressure,
    RangeCorrection,
    Scattering,
    Source,
    Status,
    Stock,
    Swatch,
)

HOSTILE = [
    "🖍️ kelp",
    "‮gnorw",
    "bell\a\x1b[31m",
    "=HYPERLINK()",
    "+1",
    "-1",
    "@x",
    "'quoted",
    "a,b;c\td",
    'say "no"',
    "line\nbreak",
]


@pytest.fixture
def path(tmp_path):
    return tmp_path / "library.sqlite"


def draft(tmp_path, rows, name="Fen"):
    file = tmp_path / "draft.csv"
    file.write_text("code,name,L,a,b,price,note\n" + "".join(f"{row}\n" for row in rows))
    return read_range(file, name, Convention("D50", 2, Source.MEASURED))


@pytest.fixture
def library(path, tmp_path):
    with open_library(path) as opened:
        import_range(
            opened, draft(tmp_path, ["1,Kelp,50,-10,20,3,", "2,Gull,80,0,1,,", "3,Tar,20,0,0,,"])
        )
        yield opened


def by_code(library):
    return {swatch.code: swatch for swatch in library.swatches()}


def test_the_file_says_what_it_is(library, path):
    with closing(sqlite3.connect(path)) as raw:
        assert raw.execute("PRAGMA application_id").fetchone()[0] == APPLICATION_ID
        assert raw.execute("PRAGMA user_version").fetchone()[0] == newest_version()
        assert raw.execute("PRAGMA journal_mode").fetchone()[0] == "delete"
        assert raw.execute("PRAGMA integrity_check").fetchone()[0] == "ok"
    assert sorted(file.name for file in path.parent.iterdir()) == ["draft.csv", path.name]


def test_a_range_comes_back_as_it_went_in(library, tmp_path):
    expected = [swatch for swatch, _ in draft(tmp_path, ["1,Kelp,50,-10,20,3,"]).swatches]
    assert by_code(library)["1"] == expected[0]
    assert library.entry(expected[0]) == Entry(EntryKind.LAB, (50.0, -10.0, 20.0))


def test_importing_again_needs_renew(library, tmp_path):
    with pytest.raises(InputError, match="in the library already") as refused:
        import_range(library, draft(tmp_path, ["9,New,50,0,0,,"], name="FEN"))
    assert refused.value.remedy is Remedy.RENEW_RANGE
    with pytest.raises(UnknownSwatchError):
        import_range(library, draft(tmp_path, ["9,New,50,0,0,,"], name="Other"), renew=True)
    assert set(by_code(library)) == {"1", "2", "3"}


def test_renewing_keeps_what_the_user_decided(library, tmp_path):
    swatches = by_code(library)
    library.decide([swatches["1"]], {"owned": 1, "price": 9.5, "note": "stub"}, "decisions")
    library.decide([swatches["3"]], {"owned": 1}, "own")
    by_hand = Swatch("Fen", "H", (40, 5, 5), "By hand")
    library.add_swatch(by_hand, Entry(EntryKind.LAB, (40, 5, 5)), new_range=False, what="add")
    report = import_range(
        library, draft(tmp_path, ["1,Kelp,51,-10,20,4,file note", "4,New,60,0,0,,"]), renew=True
    )
    assert (report.added, report.changed, report.gone) == (("4",), ("1",), ("2",))
    assert report.kept == ("3", "H")
    after = by_code(library)
    assert after["1"].lab == (51.0, -10.0, 20.0)
    assert (after["1"].owned, after["1"].price, after["1"].note) == (True, 9.5, "stub")
    assert (after["3"].owned, after["3"].status) == (True, Status.DISCONTINUED)
    assert after["H"].status is Status.CURRENT
    library.decide([after["1"]], {}, "as imported", afresh=True)
    assert (by_code(library)["1"].price, by_code(library)["1"].note) == (4.0, "file note")


def test_renewing_by_the_same_file_changes_nothing(library, tmp_path):
    rows = ["1,Kelp,50,-10,20,3,", "2,Gull,80,0,1,,", "3,Tar,20,0,0,,"]
    report = import_range(library, draft(tmp_path, rows), renew=True)
    assert (report.added, report.changed, report.gone, report.unchanged) == ((), (), (), 3)


def dump(path):
    with closing(sqlite3.connect(path)) as raw:
        return {
            table: raw.execute(f"SELECT * FROM {table} ORDER BY id").fetchall()
            for table in ("colour_range", "swatch", "further_swatch", "decision")
        }


def changes(library, tmp_path):
    """Every kind of change, each as a function."""
    swatch = by_code(library)["1"]
    hand = Swatch("Singles", "S", (1 / 3, 2 / 3, -1 / 7))
    return {
        "decide": lambda: library.decide([swatch], {"owned": 1, "price": 1 / 3}, "decide"),
        "decide again": lambda: library.decide([swatch], {"price": 2 / 3}, "decide"),
        "forget": lambda: library.decide([swatch], {}, "forget", afresh=True),
        "add": lambda: library.add_swatch(
            hand, Entry(EntryKind.LAB, hand.lab), new_range=True, what="add"
        ),
        "add another": lambda: library.add_swatch(
            replace(swatch, lab=(60, 1 / 3, 0), pressure=Pressure.LIGHT),
            Entry(EntryKind.LAB, (60, 1 / 3, 0)),
            new_range=False,
            what="add another",
        ),
        "take it away": lambda: remove_further(library, swatch, 1),
        "and again": lambda: library.add_swatch(
            replace(swatch, lab=(61, 0, 0), state=LaidState.WETTED),
            Entry(EntryKind.LAB, (61, 0, 0)),
            new_range=False,
            what="and again",
        ),
        "remove": lambda: library.remove_swatch(swatch, "remove"),
        "renew": lambda: import_range(
            library, draft(tmp_path, ["2,Gull,81,0,1,,", "7,New,60,0,0,,"]), renew=True
        ),
        "remove range": lambda: library.remove_range("fen", "remove range"),
    }


def test_every_change_can_be_undone_to_the_last_bit(library, path, tmp_path):
    states = [dump(path)]
    done = changes(library, tmp_path)
    for change in done.values():
        change()
        states.append(dump(path))
        assert states[-1] != states[-2]
    for expected in reversed(states[:-1]):
        assert library.undo()
        assert dump(path) == expected
    assert library.undo() == "import of Fen"
    assert library.undo() is None
    assert library.swatches() == ()


def test_no_change_falls_out_of_a_bounded_history(library, path, monkeypatch):
    monkeypatch.setattr("stopgap.library.store.history.CHANGES_KEPT", 8)
    swatch = by_code(library)["1"]
    for price in range(30):
        library.decide([swatch], {"price": price}, f"price {price}")
    told = [change.words for change in library.changes()]
    assert told[:2] == ["price 29", "price 28"]
    assert (len(told), told[-1]) == (8, "import of Fen")
    assert sum(change.joined for change in library.changes()) == 31
    after = dump(path)
    assert len(library.take_back(8)) == 8
    assert library.swatches() == ()
    assert len(library.do_again(9)) == 8
    assert dump(path) == after


def test_undo_then_redo_is_the_identity(library, path, tmp_path):
    for change in changes(library, tmp_path).values():
        change()
    kept = library.changes()
    states = [dump(path)]
    while library.take_back():
        states.append(dump(path))
    assert all(change.undone for change in library.changes())
    for expected in reversed(states[:-1]):
        assert library.do_again()
        assert dump(path) == expected
    assert library.do_again() == []
    assert library.changes() == kept


def test_what_was_taken_back_is_gone_once_something_else_is_changed(library):
    swatch = by_code(library)["1"]
    library.decide([swatch], {"price": 1}, "one")
    library.undo()
    library.decide([swatch], {"price": 2}, "two")
    assert library.do_again() == []
    assert [change.what for change in library.changes()] == ["two", "import of Fen"]


def test_only_the_newest_change_is_taken_back_by_its_number(library, path):
    library.decide([by_code(library)["1"]], {"price": 1}, "one")
    one, imported = library.changes()
    before = dump(path)
    with pytest.raises(InputError, match=f"newest .that is {one.number}, one"):
        library.take_back(only=imported.number)
    assert dump(path) == before
    assert library.take_back(only=one.number) == [one]


def test_a_block_is_one_change_and_nothing_where_it_fails(library, path):
    library.close()
    with open_library(path, as_one=True) as whole:
        swatch = by_code(whole)["1"]
        whole.decide([swatch], {"price": 1}, "one")
        whole.decide([swatch], {"owned": 1}, "two")
    before = dump(path)
    with pytest.raises(ZeroDivisionError), open_library(path, as_one=True) as failing:
        failing.decide([swatch], {"price": 2}, "three")
        _ = 1 // 0
    assert dump(path) == before
    with open_library(path, as_one=True) as idle:
        idle.swatches()
    with open_library(path) as library:
        assert [change.what for change in library.changes()] == ["one; two", "import of Fen"]


def test_a_change_that_fails_leaves_nothing(library, path):
    before = dump(path)
    swatch = by_code(library)["1"]
    missing = Swatch("Fen", "none", (50, 0, 0))
    with pytest.raises(UnknownSwatchError):
        library.decide([swatch, missing], {"owned": 1}, "own")
    with pytest.raises(InputError):
        library.decide([swatch], {"nonsense": 1}, "own")
    with pytest.raises(LibraryError):
        library.decide([swatch], {"note": object()}, "own")
    assert dump(path) == before
    assert library.undo() == "import of Fen"


def test_hostile_text_is_stored_as_it_is_and_exported_harmlessly(path, tmp_path):
    with open_library(path) as library:
        for number, name in enumerate(HOSTILE):
            swatch = Swatch("Hostile", f"{number}{name}", (50 + number, 0, 0), name, note=name)
            entry = Entry(EntryKind.LAB, swatch.lab)
            library.add_swatch(swatch, entry, new_range=True, what="add")
        stored = library.swatches()
        assert [swatch.name for swatch in stored] == HOSTILE
    exported = tmp_path / "out.csv"
    exported.write_text(export_csv(stored), encoding="utf-8", newline="")
    cells = [cell for line in exported.read_text().splitlines() for cell in line.split(",")]
    assert not any(cell.strip('"').startswith(("=", "+", "@")) for cell in cells)
    again = read_range(exported, "Hostile", Convention("D50", 2, Source.TYPED))
    assert [swatch for swatch, _ in again.swatches] == [
        replace(one, code=seen(one.code), name=seen(one.name), note=seen(one.note))
        for one in stored
    ]


def seen(text):
    """As a file has it: what steers, and is not seen, is written out."""
    return "".join(c if c.isprintable() or c in "\n\t" else f"\\u{ord(c):04x}" for c in text)


def test_a_library_from_a_newer_stopgap_is_refused(library, path):
    library.close()
    with closing(sqlite3.connect(path)) as raw:
        raw.execute(f"PRAGMA user_version = {newest_version() + 1}")
    content = path.read_bytes()
    with pytest.raises(LibraryError, match="newer stopgap"):
        open_library(path)
    assert path.read_bytes() == content


def test_an_older_library_is_brought_up_to_date_with_a_copy_before(path, tmp_path):
    with open_library(path) as library:
        import_range(library, draft(tmp_path, ["1,Kelp,50,-10,20,3,"]))
    with closing(sqlite3.connect(path)) as raw:
        raw.execute("PRAGMA user_version = 0")
        tables = raw.execute("SELECT name FROM sqlite_schema WHERE type = 'table'").fetchall()
        raw.execute("PRAGMA foreign_keys = OFF")
        for (table,) in tables:
            if not table.startswith("sqlite_"):
                raw.execute(f"DROP TABLE {table}")
    with open_library(path, read_only=True) as library:
        assert library.swatches() == ()
    assert path.with_name(f"{path.name}.version-0").is_file()


@pytest.mark.parametrize("content", [b"not a library at all, by any means", b"\0" * 4096])
def test_a_file_that_is_no_library_is_refused(path, content):
    path.write_bytes(content)
    with pytest.raises(LibraryError, match=r"not a library"):
        open_library(path)
    assert path.read_bytes() == content


def test_somebody_elses_database_is_refused(path):
    with closing(sqlite3.connect(path)) as raw:
        raw.execute("CREATE TABLE mine (x)")
        raw.commit()
    with pytest.raises(LibraryError, match="not a library of stopgap"):
        open_library(path)


def test_a_damaged_library_is_told_in_a_sentence(library, path):
    library.close()
    content = bytearray(path.read_bytes())
    content[4096:] = os.urandom(len(content) - 4096)
    path.write_bytes(content)
    with pytest.raises(LibraryError), open_library(path) as damaged:
        damaged.swatches()


def test_a_locked_library_is_told_in_a_sentence(library, path, monkeypatch):
    monkeypatch.setattr("stopgap.library.store.connection.LOCK_PATIENCE", 0.05)
    with closing(sqlite3.connect(path, isolation_level=None)) as other, open_library(path) as mine:
        other.execute("BEGIN EXCLUSIVE")
        with pytest.raises(LibraryError, match="in use by another program"):
            mine.decide([Swatch("Fen", "1", (50, 0, 0))], {"owned": 1}, "own")


def test_a_full_disk_changes_nothing(library, path):
    before = dump(path)
    with library.reading() as connection:
        pages = connection.execute("PRAGMA page_count").fetchone()[0]
        connection.execute(f"PRAGMA max_page_count = {pages}")
    with pytest.raises(LibraryError, match="disk is full"):
        library.decide(library.swatches(), {"note": "x" * 100_000}, "notes")
    assert dump(path) == before


@contextmanager
def as_somebody():
    """Without root's right to read and write everything."""
    if os.geteuid() != 0:
        yield
        return
    os.seteuid(65534)
    try:
        yield
    finally:
        os.seteuid(0)


def test_no_permission_is_told_in_a_sentence(library, path, tmp_path):
    library.close()
    path.chmod(0)
    closed = tmp_path / "draft.csv"
    closed.chmod(0)
    with as_somebody():
        with pytest.raises(LibraryError, match="cannot be"):
            open_library(path)
        with pytest.raises(InputError, match="cannot be read"):
            read_range(closed, "Fen", Convention())


def test_reading_needs_no_right_to_write(library, path):
    with open_library(path, read_only=True) as readable:
        assert len(readable.swatches()) == 3
        with pytest.raises(LibraryError, match="may not be written"):
            readable.decide(readable.swatches(), {"owned": 1}, "own")


def test_there_is_no_library_yet(path):
    with pytest.raises(LibraryError, match="no library"):
        open_library(path, read_only=True)
    assert not path.exists()


def test_a_folder_is_no_library(tmp_path):
    with pytest.raises(LibraryError, match="folder"):
        open_library(tmp_path)


def test_backup_and_restore(library, path, tmp_path):
    copy = tmp_path / "copy.sqlite"
    backup(library, copy)
    with pytest.raises(InputError, match="exists already") as refused:
        backup(library, copy)
    assert refused.value.remedy is Remedy.OVERWRITE
    backup(library, copy, overwrite=True)
    before = dump(path)
    library.remove_range("Fen", "remove")
    library.close()
    kept = restore(copy, path)
    assert dump(path) == before
    assert kept is not None
    assert dump(kept)["swatch"] == []


def test_a_broken_backup_is_not_restored(library, path, tmp_path):
    library.close()
    before = path.read_bytes()
    broken = tmp_path / "broken.sqlite"
    broken.write_bytes(before[:4096] + os.urandom(len(before) - 4096))
    for source in (broken, tmp_path / "none.sqlite", tmp_path / "draft.csv"):
        with pytest.raises(LibraryError):
            restore(source, path)
        assert path.read_bytes() == before
    assert not list(tmp_path.glob("*.before-restore"))


def test_a_crash_amid_a_change_loses_only_that_change(library, path):
    before = dump(path)
    with pytest.raises(KeyboardInterrupt), library.changing("never") as connection:
        connection.execute("DELETE FROM swatch")
        raise KeyboardInterrupt
    assert dump(path) == before


def test_every_step_has_a_number_of_its_own():
    """Two of one number would leave a library that took the first for ever without the second."""
    numbers = [number for number, _ in steps()]
    assert numbers == list(range(1, len(numbers) + 1))


def test_other_names_that_a_file_had_before_they_were_known_are_names_now(tmp_path):
    path = tmp_path / "library.sqlite"
    with open_library(path) as library:
        entry = Entry(EntryKind.LAB, (50.0, 0.0, 0.0), "D50", 2)
        swatch = Swatch("Fen", "1", (50.0, 0.0, 0.0), extra={"also": "Old Kelp", "shelf": "3"})
        library.add_swatch(swatch, entry, new_range=True, what="adding")
    with closing(sqlite3.connect(path)) as raw:
        for (name,) in raw.execute(
            "SELECT name FROM sqlite_master WHERE type = 'trigger'"
        ).fetchall():
            raw.execute(f'DROP TRIGGER "{name}"')
        raw.execute("ALTER TABLE swatch DROP COLUMN also")
        raw.executescript(dict(steps())[number_of("other_names")])
    with open_library(path) as library:
        (swatch,) = library.swatches()
    assert (swatch.also, swatch.extra) == ("Old Kelp", {"shelf": "3"})


def test_sections_and_currencies_that_a_file_had_are_fields_now(tmp_path):
    path = tmp_path / "library.sqlite"
    mine = {"Section": "Greys", "currency": "EUR", "shelf": '3 "top"'}
    with open_library(path) as library:
        entry = Entry(EntryKind.LAB, (50.0, 0.0, 0.0), "D50", 2)
        first = Swatch("Fen", "1", (50.0, 0.0, 0.0), extra=mine)
        library.add_swatch(first, entry, new_range=True, what="adding")
        for pressure, currency in ((Pressure.LIGHT, "EUR"), (Pressure.MEDIUM, "CHF")):
            more = {"section": f"{pressure} greys", "currency": currency}
            library.add_swatch(
                replace(first, pressure=pressure, extra=more), entry, new_range=False, what="adding"
            )
        plain = Swatch("Fen", "2", (60.0, 0.0, 0.0), extra={"shelf": "4"})
        library.add_swatch(plain, entry, new_range=False, what="adding")
    with closing(sqlite3.connect(path)) as raw:
        for (name,) in raw.execute(
            "SELECT name FROM sqlite_master WHERE type = 'trigger'"
        ).fetchall():
            raw.execute(f'DROP TRIGGER "{name}"')
        for table, column in (
            ("swatch", "section"),
            ("swatch", "currency"),
            ("further_swatch", "section"),
        ):
            raw.execute(f"ALTER TABLE {table} DROP COLUMN {column}")
        raw.executescript(dict(steps())[number_of("section_and_currency")])
    with open_library(path) as library:
        one, other = library.pencils()
    told = [(swatch.section, swatch.currency, swatch.extra) for swatch in one.swatches]
    assert told == [
        ("Greys", "EUR", {"shelf": mine["shelf"]}),
        ("light greys", "EUR", {}),
        ("medium greys", "EUR", {"currency": "CHF"}),
    ]
    assert (other.first.section, other.first.currency, other.first.extra) == ("", "", plain.extra)


def test_stock_and_reasons_that_a_file_had_are_fields_now(tmp_path):
    path = tmp_path / "library.sqlite"
    with open_library(path) as library:
        entry = Entry(EntryKind.LAB, (50.0, 0.0, 0.0), "D50", 2)
        for code, extra in (
            ("1", {"Stock": " Stub", "avoid": "crumbles", "shelf": "3"}),
            ("2", {"stock": "two", "Avoid": "no"}),
            ("3", {"shelf": "4"}),
        ):
            swatch = Swatch("Fen", code, (50.0, 0.0, 0.0), extra=extra)
            library.add_swatch(swatch, entry, new_range=code == "1", what="adding")
    with closing(sqlite3.connect(path)) as raw:
        for (name,) in raw.execute(
            "SELECT name FROM sqlite_master WHERE type = 'trigger'"
        ).fetchall():
            raw.execute(f'DROP TRIGGER "{name}"')
        for column in ("stock", "avoid"):
            raw.execute(f"ALTER TABLE swatch DROP COLUMN {column}")
        raw.executescript(dict(steps())[number_of("stock_and_what_is_avoided")])
    with open_library(path) as library:
        told = [(each.stock, each.avoid, each.extra) for each in library.swatches()]
    assert told == [
        (Stock.STUB, "crumbles", {"shelf": "3"}),
        (None, "", {"stock (as written)": "two"}),
        (None, "", {"shelf": "4"}),
    ]


def number_of(step):
    """The number of the step that is called so."""
    folder = Path(connection_module.__file__).with_name("migrations")
    (file,) = folder.glob(f"*_{step}.sql")
    return int(file.name[:4])


def test_opacity_that_was_kept_of_whole_ranges_counts_for_no_pencil(tmp_path):
    known = Scattering(0.3, 0.2, 0.4)
    with open_library(tmp_path / "library.sqlite") as library:
        keep_calibration(library, replace(estimated_conditions(), opacity={"Test:1": known}))
        assert stored_calibration(library).opacity == {"Test:1": known}
        with library.changing("as it was") as connection:
            (text,) = connection.execute("SELECT hand FROM calibration").fetchone()
            older = {**json.loads(text), "opacity": {"Test": 0.4}}
            connection.execute("UPDATE calibration SET hand = ?", (json.dumps(older),))
        assert stored_calibration(library).opacity == {}


def test_a_shift_between_ranges_follows_their_colours_and_is_nobodys_change(path):
    rng = np.random.default_rng(5)
    labs = np.column_stack([rng.uniform(25, 85, 40), rng.uniform(-40, 40, (40, 2))])
    moved = RangeCorrection(0.03).lab(labs)

    def looked(connection):
        return connection.execute("SELECT count(*) FROM range_shift").fetchone()[0]

    def assert_read_as_pencils_tell(library):
        told = {}
        for swatch in library.swatches():
            told.setdefault(swatch.range, []).append(swatch.lab)
        assert stored_labs(library._connection, {1, 2}) == told

    with open_library(path) as library:
        for name, some in (("A", labs), ("B", moved)):
            with library.changing(name) as connection:
                entry = Entry(EntryKind.LAB, (0.0, 0.0, 0.0))
                of_id = find_or_make_range(connection, name, entry)
                for row, lab in enumerate(some.tolist()):
                    insert_swatch(connection, of_id, row, Swatch(name, f"{row}", tuple(lab)), entry)
        (found,) = library.shifts()
        assert (found.range, found.reference) == ("B", "A")
        assert found.flare == pytest.approx(-0.03, abs=0.005)
        library.decide(library.swatches()[:3], {"owned": 1}, "owned")
        assert library.shifts() == (found,)
        correct_range(library, "B", found.correction, "correction")
        assert library.shifts() == ()  # looked for, and none found
        assert_read_as_pencils_tell(library)
        assert looked(library._connection) == 1
        library.undo()
        assert library.shifts() == (found,)
        first = library.swatches()[0]
        edit_swatch(library, first, {"lab": (90.0, 0.0, 0.0)})
        assert_read_as_pencils_tell(library)
        assert library.shifts() != (found,)
        library.undo()
        assert library.shifts() == (found,)
        library.remove_range("A", "removal")
        assert looked(library._connection) == 0
        library.undo()
        assert library.shifts() == (found,)


def test_an_older_library_looks_for_shifts_with_its_next_change_not_when_it_is_read(path, tmp_path):
    with open_library(path) as library:
        import_range(library, draft(tmp_path, ["1,Kelp,50,-10,20,3,"]))
        import_range(library, draft(tmp_path, ["1,Kelp,50,-10,20,3,"], "Bog"))
    with closing(sqlite3.connect(path)) as raw:
        raw.execute("DELETE FROM range_shift")
        raw.commit()
        count = "SELECT count(*) FROM range_shift"
        with open_library(path) as library:
            assert library.shifts() == ()
            assert raw.execute(count).fetchone()[0] == 0
            library.decide(library.swatches(), {"owned": 1}, "owned")
        assert raw.execute(count).fetchone()[0] == 1
