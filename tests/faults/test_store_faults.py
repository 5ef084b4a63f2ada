"""Crashes, restores beside writers, and many who start at once: nothing acknowledged is lost."""

import os
import shutil
import sqlite3
from concurrent.futures import ThreadPoolExecutor
from contextlib import closing
from pathlib import Path
from tempfile import TemporaryDirectory
from threading import Event

import pytest

from stopgap.errors import LibraryError
from stopgap.library import backup, open_library, restore
from stopgap.library.store.entry import Entry, EntryKind
from stopgap.swatches import Swatch

FIRST = Swatch("Fen", "1", (50.0, 0.0, 0.0))


def fill(path, many=1):
    with open_library(path, as_one=True) as library:
        for number in range(1, many + 1):
            swatch = Swatch("Fen", str(number), (50.0, 0.0, 0.0), note="x" * 300)
            entry = Entry(EntryKind.LAB, swatch.lab)
            library.add_swatch(swatch, entry, new_range=True, what=f"adding {number}")
    return path


def price(path, value):
    with open_library(path, as_one=True) as library:
        library.decide([FIRST], {"price": value}, f"price {value}")


def state(path):
    """How many pencils there are, and the price of the first."""
    with open_library(path, read_only=True) as library:
        found = library.swatches()
    return len(found), found[0].price


@pytest.fixture(scope="module")
def crashed(tmp_path_factory):
    """A library with the journal of a write that was cut off after pages had been written."""
    folder = tmp_path_factory.mktemp("crashed")
    path = fill(folder / "library.sqlite", 40)
    with closing(sqlite3.connect(path, isolation_level=None)) as raw:
        raw.execute("PRAGMA cache_size = 1")
        raw.execute("BEGIN IMMEDIATE")
        raw.execute("UPDATE swatch SET note = ?, lightness = 1", ("y" * 2000,))
        left = folder / "left"
        left.mkdir()
        for name in ("library.sqlite", "library.sqlite-journal"):
            shutil.copy(folder / name, left / name)
        raw.execute("ROLLBACK")
    return left


@pytest.fixture
def left(crashed, tmp_path):
    return shutil.copytree(crashed, tmp_path / "left") / "library.sqlite"


def test_a_command_that_only_reads_takes_back_what_a_crash_left(left):
    with closing(sqlite3.connect(f"file:{left}?mode=ro&immutable=1", uri=True)) as raw:
        assert raw.execute("SELECT min(lightness) FROM swatch").fetchone() == (1.0,)
    with open_library(left, read_only=True) as library:
        assert {swatch.lab for swatch in library.swatches()} == {FIRST.lab}
    assert not left.with_name("library.sqlite-journal").exists()


@pytest.mark.parametrize("rights", [0o444, 0o666])
def test_where_it_cannot_be_taken_back_a_sentence_says_so(crashed, rights):
    root = os.geteuid() == 0
    with TemporaryDirectory() as folder:  # those of tests are closed to others
        for file in crashed.iterdir():
            shutil.copy(file, folder)
            Path(folder, file.name).chmod(rights)
        Path(folder).chmod(0o555)
        if root:
            os.seteuid(65534)
        try:
            with pytest.raises(LibraryError, match="needs the file and its folder to be writable"):
                open_library(Path(folder, "library.sqlite"), read_only=True)
        finally:
            if root:
                os.seteuid(0)
            Path(folder).chmod(0o755)


@pytest.mark.parametrize("gone", [False, True])
def test_no_journal_is_played_into_what_is_restored(left, tmp_path, gone):
    copy = fill(tmp_path / "copy.sqlite", 3)
    if gone:
        left.unlink()
    kept = restore(copy, left)
    assert state(left) == (3, None)
    assert (kept is None) == gone
    if kept is not None:
        assert state(kept) == (40, None)


def test_a_first_start_that_was_cut_off_leaves_no_library_and_no_trap(left):
    os.truncate(left, 0)
    with pytest.raises(LibraryError, match="no library"):
        open_library(left, read_only=True)
    assert state(fill(left)) == (1, None)


def test_many_may_start_at_once(tmp_path):
    def start(number):
        with open_library(tmp_path / f"{number // 4}.sqlite", as_one=True) as library:
            swatch = Swatch("Fen", str(number % 4), (50.0, 0.0, 0.0))
            library.add_swatch(
                swatch, Entry(EntryKind.LAB, swatch.lab), new_range=True, what="adding"
            )

    with ThreadPoolExecutor(4) as many:
        list(many.map(start, range(32)))
    for number in range(8):
        assert state(tmp_path / f"{number}.sqlite")[0] == 4


def test_restoring_beside_a_writer_loses_nothing(tmp_path):
    """What was told as done before is in a copy that was kept, and what after is in the library."""
    path, copy = fill(tmp_path / "library.sqlite"), tmp_path / "copy.sqlite"
    with open_library(path, read_only=True) as library:
        backup(library, copy)
    over, done = Event(), []

    def write():
        while not over.is_set():
            price(path, len(done) + 1)
            done.append(len(done) + 1)

    kept = []
    with ThreadPoolExecutor(1) as other:
        writing = other.submit(write)
        for _ in range(6):
            before = len(done)
            kept.append((before, restore(copy, path)))
        over.set()
        writing.result()
    price(path, len(done) + 1)
    assert state(path) == (1, len(done) + 1)
    for before, was in kept:
        with open_library(was, read_only=True) as library:
            (found,) = library.swatches()
        assert found.price is None or found.price >= before - 1, (before, found.price)


def test_links_and_rights_stay(tmp_path):
    real = fill(tmp_path / "real.sqlite")
    real.chmod(0o600)
    path = tmp_path / "library.sqlite"
    path.symlink_to(real)
    copy, innocent = tmp_path / "copy.sqlite", tmp_path / "innocent"
    innocent.write_text("mine")
    for guessed in ("copy.sqlite.partial", "library.sqlite.before-restore"):
        (tmp_path / guessed).symlink_to(innocent)
    with open_library(path, read_only=True) as library:
        backup(library, copy)
    inode = real.stat().st_ino
    price(path, 3)
    kept = restore(copy, path)
    assert path.is_symlink()
    assert (real.stat().st_ino, state(path)) == (inode, (1, None))
    assert {file.stat().st_mode & 0o777 for file in (real, copy, kept)} == {0o600}
    assert innocent.read_text() == "mine"
    assert kept.name == "library.sqlite.before-restore-2"
    assert state(kept) == (1, 3)


def test_a_library_is_not_restored_from_itself_nor_copied_onto_itself(tmp_path):
    path = fill(tmp_path / "library.sqlite")
    with pytest.raises(LibraryError, match="the library itself"):
        restore(path, path)
    assert state(path) == (1, None)


def test_what_is_no_database_any_more_is_kept_byte_for_byte(tmp_path):
    path, copy = tmp_path / "library.sqlite", fill(tmp_path / "copy.sqlite")
    for content in (b"rubbish " * 1000, copy.read_bytes()[:4096] + b"\xff" * 8192):
        path.write_bytes(content)
        inode = path.stat().st_ino
        kept = restore(copy, path)
        assert kept.read_bytes()[4096:] == content[4096:]
        assert (path.stat().st_ino, state(path)) == (inode, (1, None))
