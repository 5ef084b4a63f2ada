"""A library with wrong values: each is told by range, code and column, found, and left out."""

import sqlite3
from contextlib import closing
from functools import cache, partial

import pytest
import wrong_values
from test_store_faults import fill, price, state

from stopgap.errors import LibraryError, Remedy
from stopgap.library import ColumnMapping, check_library, open_library, rescue, stored_mapping

pytestmark = pytest.mark.slow


def damage(path, statement, *values):
    with closing(sqlite3.connect(path)) as raw:
        raw.execute("PRAGMA ignore_check_constraints = ON")
        raw.execute(statement, values)
        raw.commit()


@pytest.fixture(scope="module")
def something_everywhere(tmp_path_factory):
    folder = tmp_path_factory.mktemp("everywhere")
    first = wrong_values.prepare(folder, loose=True)
    return folder, first, cache(partial(wrong_values.told, folder, first))


@pytest.mark.parametrize("seed", [*range(20), 120, 301671, 301951])
def test_a_wrong_cell_is_told_or_changes_nothing_and_is_found(seed, something_everywhere):
    assert wrong_values.wrong_cell(*something_everywhere, seed)


@pytest.mark.parametrize("seed", [*range(3), 55, 166, 212, 868])
def test_a_flipped_bit_changes_no_answer_unless_it_is_found(seed, something_everywhere):
    assert wrong_values.flipped_bit(*something_everywhere, seed)


def test_damage_is_told_where_sqlite_cannot_even_say_it_in_utf_8(tmp_path):
    path = fill(tmp_path / "library.sqlite")
    whole = path.read_bytes()
    path.write_bytes(whole.replace(b"CREATE TABLE decision", b"CREATE TABL\xa0 decision"))
    with pytest.raises(LibraryError, match="is damaged or is not a library"):
        open_library(path, read_only=True)


@pytest.mark.parametrize(
    ("column", "value"),
    [
        *(("finish", "shiny"), ("lightness", 1e300), ("laydown", 9), ("entry", "{}")),
        *(("measurement", '{"mode": 7}'), ("extra", "[]"), ("readings", "[1]"), ("a", None)),
    ],
)
def test_an_ill_formed_cell_is_told_by_range_code_and_column(tmp_path, column, value):
    path = fill(tmp_path / "library.sqlite", 3)
    damage(path, f"UPDATE swatch SET {column} = ? WHERE code = '2'", value)
    found = check_library(path)
    assert f"Fen:2, column {column}" in found.unreadable
    if column == "entry":
        return  # what was entered is not read where it is no spectrum
    with open_library(path, read_only=True) as library:
        with pytest.raises(LibraryError, match=rf"not know: Fen:2, column {column}") as told:
            library.pencils()
        assert told.value.remedy is Remedy.CHECK_LIBRARY


@pytest.mark.parametrize(
    "stated",
    [
        *("[]", "{", '{"columns": [1], "accepted": []}', '{"columns": {}, "accepted": 3}'),
        *('{"columns": {"L": 3}, "accepted": []}', "[" * 5000),
    ],
)
def test_what_was_agreed_on_about_a_file_is_told_found_and_asked_anew(tmp_path, stated):
    path, new = fill(tmp_path / "library.sqlite"), tmp_path / "new.sqlite"
    damage(path, "UPDATE colour_range SET mapping = ?", stated)
    with open_library(path, read_only=True) as library:
        assert len(library.pencils()) == 1
        with pytest.raises(LibraryError, match="not know: range Fen, column mapping"):
            stored_mapping(library, "fen")
    assert rescue(path, new).unreadable == ("range Fen, column mapping",)
    with open_library(new, read_only=True) as library:
        assert library.range_names() == ["Fen"]
        assert stored_mapping(library, "Fen") == ColumnMapping()


def test_what_changed_by_itself_is_found_by_its_check_sum(tmp_path):
    path = fill(tmp_path / "library.sqlite", 3)
    assert check_library(path).everything == ()
    damage(path, "UPDATE swatch SET lightness = 50.5 WHERE code = '2'")
    assert check_library(path).altered == ("swatch 2 (Fen:2): not as written",)


def test_tables_that_are_made_otherwise_are_found(tmp_path):
    path = fill(tmp_path / "library.sqlite")
    whole = path.read_bytes()
    damaged = whole.replace(b"history (change, table_name,", b"history (change, table_namg,")
    path.write_bytes(damaged)
    assert damaged != whole
    assert check_library(path).altered == ("how its tables are made: not as written",)
    new = tmp_path / "new.sqlite"
    rescue(path, new)
    price(new, 3)
    assert state(new) == (1, 3)
    assert check_library(new).everything == ()


def test_all_that_can_be_read_is_saved_and_the_rest_listed(tmp_path):
    path, new = fill(tmp_path / "library.sqlite", 60), tmp_path / "new.sqlite"
    damage(path, "UPDATE swatch SET finish = 'shiny' WHERE code = '2'")
    assert rescue(path, new).unreadable == ("Fen:2, column finish",)
    assert state(new)[0] == 59
    assert check_library(new).everything == ()
    with closing(sqlite3.connect(path)) as raw:
        pages = raw.execute(
            "SELECT pageno FROM dbstat WHERE name = 'swatch' AND pagetype = 'leaf' ORDER BY pageno"
        ).fetchall()
        (size,) = raw.execute("PRAGMA page_size").fetchone()
    with path.open("r+b") as file:
        file.seek((pages[len(pages) // 2][0] - 1) * size)
        file.write(b"\xff" * size)
    other = tmp_path / "other.sqlite"
    found = rescue(path, other)
    assert any("on damaged pages" in line for line in found.unreadable)
    assert 20 < state(other)[0] < 59
    assert check_library(other).everything == ()


def test_the_command_lists_it_and_saves_the_rest(demo):
    status, said, _ = demo("library", "check")
    assert (status, "is sound: " in said) == (0, True)
    damage(demo.library, "UPDATE swatch SET finish = 'shiny' WHERE code = 'BW02'")
    status, said, error = demo("library", "check")
    assert (status, said) == (1, "Brindlewick:BW02, column finish\n")
    assert "--repair NEW" in error
    new = demo.library.with_name("new.sqlite")
    status, said, _ = demo("library", "check", "--repair", new)
    assert (status, "Left out: 1" in said) == (0, True)
    assert demo("match", "Fennmoor:FM010", "--json", library=new)[0] == 0
