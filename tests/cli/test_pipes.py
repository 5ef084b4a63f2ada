"""`-` is standard input and output wherever a file is read or written."""

import io
import sys

import pytest

from stopgap.cli.program import run

pytestmark = pytest.mark.slow


@pytest.fixture
def stopgap(demo_library, tmp_path, monkeypatch, capfdbinary):
    """A function that runs a command on a copy of the demo's library, given standard input."""
    library = tmp_path / "library.sqlite"
    library.write_bytes(demo_library.read_bytes())

    def call(*command, given=b"", status=0):
        monkeypatch.setattr(sys, "stdin", io.TextIOWrapper(io.BytesIO(given)))
        capfdbinary.readouterr()
        assert run(["--library", str(library), *command]) == status
        return capfdbinary.readouterr()

    return call


def test_a_range_goes_through_a_pipe_to_the_last_bit(stopgap):
    for form in ("CSV", "XLSX", "CGATS", "CxF"):
        out = stopgap("range", "export", "Fennmoor", "-", "--format", form)
        assert b"to standard output" in out.err
        said = stopgap("range", "import", "-", "--name", form, given=out.out)
        assert b"standard input" in said.out
        again = stopgap("range", "export", form, "-", "--format", form)
        assert again.out == out.out


LISTS = {
    ("own", "--from", "-"): b"colour\nFennmoor:FM010\n",
    ("disown", "--from", "-"): b"colour\nFennmoor:FM010\n",
    ("translate", "-", "--json"): b"colour\n#c04a2b\n",
    ("gaps", "-", "--json"): b"name;from;to\nx;Fennmoor:FM113;Fennmoor:FM112\n",
    ("shop", "--list", "-", "--json", "--no-layers"): b"colour\nFennmoor:FM010\n",
}


@pytest.mark.parametrize("command", LISTS, ids=" ".join)
def test_lists_are_read_from_standard_input(command, stopgap):
    assert stopgap(*command, given=LISTS[command]).out
    refused = stopgap(*command, status=1)
    assert refused.err.startswith(b"stopgap: standard input: the file is empty")
    assert refused.out == b""


def test_layered_swatches_are_read_from_standard_input(stopgap):
    from stopgap.cli.ask.demo import datasets

    given = (datasets() / "layered.csv").read_bytes()
    assert stopgap("calibrate", "-", given=given).out


def test_a_library_goes_through_a_pipe(stopgap):
    copy = stopgap("backup", "-")
    assert copy.out.startswith(b"SQLite format 3")
    stopgap("range", "remove", "Quillet")
    stopgap("restore", "-", given=copy.out)
    assert b"Quillet" in stopgap("range", "list").out
    stopgap("restore", "-", given=b"no library", status=1)
    assert b"Quillet" in stopgap("range", "list").out


PAGES = {
    ("sheet", "-", "--for", "match", "Fennmoor:FM010"): b"<!DOCTYPE html>",
    ("pocket", "-", "--no-recipes"): b"<!DOCTYPE html>",
    ("chart", "-", "--range", "Quillet"): b"%PDF-",
    ("plot", "-", "--kind", "lightness"): b"%PDF-",
}


@pytest.mark.parametrize("command", PAGES, ids=" ".join)
def test_pages_and_drawings_are_written_to_standard_output(command, stopgap):
    out = stopgap(*command)
    assert out.out.startswith(PAGES[command])
    assert b"standard output" in out.err


def test_only_a_file_of_its_own_kind_is_overwritten(stopgap, tmp_path):
    sheet = tmp_path / "my.csv"
    sheet.write_bytes(b"code,L,a,b\n1,50,0,0\n")
    for command in (
        ("backup", str(sheet), "--overwrite"),
        ("pocket", str(sheet), "--no-recipes", "--overwrite"),
        ("range", "export", "Quillet", str(sheet), "--format", "XLSX", "--overwrite"),
    ):
        assert b"holds a table in CSV" in stopgap(*command, status=1).err
    assert sheet.read_bytes() == b"code,L,a,b\n1,50,0,0\n"
