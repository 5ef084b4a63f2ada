"""Pencils read again are those of a library that is opened afresh, whoever changed it, and how."""

import shutil
import sqlite3
from contextlib import closing, nullcontext

import numpy as np
import pytest

from stopgap.library import LastRead, backup, edit_swatch, open_library, own, restore
from stopgap.library.store import rereading


@pytest.fixture
def path(demo_library, tmp_path):
    return shutil.copy(demo_library, tmp_path / "library.sqlite")


def fresh(path):
    with open_library(path, read_only=True) as library:
        return library.pencils()


def again(path, last_read):
    with open_library(path, read_only=True) as library:
        library.last_read = last_read
        return library.pencils()


def tick(library, draw):
    pencils = library.pencils()
    some = [pencils[at].first for at in draw.integers(len(pencils), size=draw.integers(1, 4))]
    own(library, some, owned=bool(draw.integers(2)))


def recolour(library, draw):
    pencils = library.pencils()
    edit_swatch(library, pencils[draw.integers(len(pencils))].first, {"lab": (40.0, 9.0, -7.0)})


def remove_one(library, draw):
    pencils = library.pencils()
    library.remove_swatch(pencils[draw.integers(len(pencils))].first, "remove")


def undo(library, draw):
    if sum(not change.undone for change in library.changes()) > 6:  # not the ranges themselves
        library.take_back(int(draw.integers(1, 4)))


def redo(library, draw):
    library.do_again(int(draw.integers(1, 3)))


def join(library, draw):
    done = [change.number for change in library.changes() if not change.undone]
    library.join_newest(done[1] if draw.integers(2) and len(done) > 1 else 0)


WITHIN, ALONE = (tick, tick, tick, tick, recolour, remove_one), (undo, redo, join)


@pytest.mark.parametrize("seed", range(4))
def test_whoever_changes_a_library_its_pencils_are_as_they_are_now(path, seed):
    draw, last_read = np.random.default_rng(seed), LastRead()
    for _ in range(40):
        deed = draw.choice([*WITHIN, *ALONE])
        with open_library(path, as_one=deed in WITHIN) as library:
            mine = draw.integers(4)
            with last_read.writing(library) if mine else nullcontext():
                deed(library, draw)
        if draw.integers(3):
            assert again(path, last_read) == fresh(path)
    assert again(path, last_read) == fresh(path)


def test_after_a_tick_of_ones_own_only_its_row_is_read(path, monkeypatch):
    last_read = LastRead()
    before = again(path, last_read)
    for _ in range(2):  # two ticks between two readings
        with open_library(path, as_one=True) as library, last_read.writing(library):
            own(library, [before[7].first], owned=not before[7].first.owned)
    asked = []

    def reading(connection, remembered, rows):
        asked.append(rows)
        return read(connection, remembered, rows=rows)

    read = rereading.read_pencils
    monkeypatch.setattr(rereading, "read_pencils", reading)
    after = again(path, last_read)
    assert again(path, last_read) is after
    assert [len(rows) for rows in asked] == [1]
    assert after == fresh(path) != before
    assert sum(one is not other for one, other in zip(before, after, strict=True)) == 1


def set_back(path, copy):
    restore(copy, path)


def put_in_place(path, copy):
    shutil.copy(copy, path.with_name("other")).replace(path)


def alter_unseen(path, copy):
    with closing(sqlite3.connect(path)) as connection, connection:
        connection.execute(
            "UPDATE swatch SET name = name || '+' WHERE id = (SELECT max(id) FROM swatch)"
        )


@pytest.mark.parametrize("how", [set_back, put_in_place, alter_unseen])
def test_another_library_in_its_place_is_read_as_it_is(path, tmp_path, how):
    last_read, copy = LastRead(), tmp_path / "copy.sqlite"
    first = again(path, last_read)[0].first
    with open_library(path, read_only=True) as library:
        backup(library, copy)
    for before, after in [(0, 0), (1, 0), (0, 1), (0, 0)]:
        if before:
            how(path, copy)
        with open_library(path, as_one=True) as library, last_read.writing(library):
            first = library.pencils()[0].first
            own(library, [first], owned=not first.owned)
        if after:
            how(path, copy)
        assert again(path, last_read) == fresh(path)


def test_what_is_not_landed_yet_is_seen_within(path):
    last_read = LastRead()
    before = again(path, last_read)
    with open_library(path, as_one=True) as library:
        library.last_read = last_read
        own(library, [before[0].first], owned=not before[0].first.owned)
        assert library.pencils() != before
    assert again(path, last_read) == fresh(path)


def test_what_is_read_of_a_file_that_lies_there_no_more_is_not_kept(path, tmp_path):
    last_read, copy = LastRead(), tmp_path / "copy.sqlite"
    with open_library(path, read_only=True) as library:
        backup(library, copy)
    alter_unseen(copy, None)  # of another name, and with the very same history
    with open_library(path, read_only=True) as library:
        library.last_read = last_read
        put_in_place(path, copy)
        library.pencils()
    assert again(path, last_read) == fresh(path)


def test_what_another_program_alters_before_ones_own_change_is_seen(path):
    last_read = LastRead()
    first = again(path, last_read)[0].first
    with open_library(path) as library, last_read.writing(library):
        alter_unseen(path, None)
        own(library, [first], owned=not first.owned)
    assert again(path, last_read) == fresh(path)
