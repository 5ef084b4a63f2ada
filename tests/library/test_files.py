"""Files, links and pipes: nothing is replaced that is not of the same kind."""

import os
import threading
from pathlib import Path

import pytest
from workbook_parts import number, ods, ods_number, ods_row, xlsx

from stopgap.errors import InputError, Remedy
from stopgap.library import backup, open_library
from stopgap.library.files import as_file, check_free, kind_of, read_bounded, write_whole

CSV = b"code,L,a,b\n1,50,0,0\n"
KINDS = {
    "a table in CSV": CSV,
    "a text": b"a line\nand another",
    "an XLSX workbook": xlsx(f"<row>{number('A1', 1)}</row>"),
    "an ODS workbook": ods(ods_row(ods_number(1))),
    "a PDF": b"%PDF-1.4\n",
    "a web page": b"<!doctype html>\n<HTML lang='en'>",
    "an SVG drawing": b'<?xml version="1.0"?>\n<svg>',
    "a CxF file": b'<?xml version="1.0"?><cc:CxF xmlns:cc="x">',
    "an XML file": b"<other/>",
    "a CGATS file": b"CGATS.17\n",
    "a database of another program": b"SQLite format 3\0" + bytes(100),
    "a file of another kind": b"\x7fELF\0\0",
    "": b"",
}


@pytest.mark.parametrize("kind", KINDS)
def test_a_file_is_known_by_its_first_bytes(kind):
    assert kind_of(KINDS[kind][:4096]) == kind


@pytest.mark.parametrize("kind", KINDS)
def test_only_a_file_of_the_same_kind_is_replaced(kind, tmp_path):
    path = tmp_path / "file"
    path.write_bytes(KINDS[kind])
    with pytest.raises(InputError, match="exists already") as caught:
        write_whole(path, CSV)
    assert caught.value.remedy is Remedy.OVERWRITE
    if kind in ("", "a table in CSV"):
        write_whole(path, CSV + b"2,60,0,0\n", overwrite=True)
        assert path.read_bytes() == CSV + b"2,60,0,0\n"
    else:
        with pytest.raises(InputError, match=f"holds {kind}, and what .* a table in CSV"):
            write_whole(path, CSV, overwrite=True)
        assert path.read_bytes() == KINDS[kind]
    assert [*tmp_path.iterdir()] == [path]


def test_a_backup_replaces_a_library_and_nothing_else(tmp_path):
    sheet, copy = tmp_path / "my.csv", tmp_path / "copy.sqlite"
    sheet.write_bytes(CSV)
    with open_library(tmp_path / "library.sqlite") as library:
        with pytest.raises(InputError, match=r"my\.csv holds a table in CSV"):
            backup(library, sheet, overwrite=True)
        backup(library, copy)
        backup(library, copy, overwrite=True)
    assert sheet.read_bytes() == CSV
    assert kind_of(copy.read_bytes()) == "a library of stopgap"
    with pytest.raises(InputError, match="holds a library of stopgap"):
        write_whole(copy, CSV, overwrite=True)


def test_links_are_followed(tmp_path):
    there = tmp_path / "there"
    there.mkdir()
    link = tmp_path / "link.csv"
    link.symlink_to(there / "file.csv")
    write_whole(link, CSV)
    write_whole(link, CSV * 2, overwrite=True)
    assert link.is_symlink()
    assert (there / "file.csv").read_bytes() == CSV * 2 == read_bounded(link)
    assert [*there.iterdir()] == [there / "file.csv"]
    lost = tmp_path / "lost.csv"
    lost.symlink_to(tmp_path / "nowhere" / "file.csv")
    with pytest.raises(InputError, match="no folder"):
        check_free(lost)


def test_the_mode_of_a_file_stays(tmp_path):
    path = tmp_path / "file.csv"
    path.write_bytes(CSV)
    path.chmod(0o600)
    write_whole(path, CSV, overwrite=True)
    assert path.stat().st_mode & 0o777 == 0o600


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="the system has no named pipes")
def test_pipes_are_streams(tmp_path):
    pipe = tmp_path / "pipe"
    os.mkfifo(pipe)
    writer = threading.Thread(target=write_whole, args=(pipe, CSV))
    writer.start()
    assert read_bounded(pipe) == CSV
    writer.join()
    writer = threading.Thread(target=pipe.write_bytes, args=(CSV,))
    writer.start()
    with as_file(pipe) as copy:
        assert copy.read_bytes() == CSV
    writer.join()
    assert pipe.is_fifo()
    write_whole(Path(os.devnull), CSV)
    assert read_bounded(Path(os.devnull)) == b""
