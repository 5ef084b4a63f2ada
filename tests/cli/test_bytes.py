"""What comes out is UTF-8 and harmless whatever the console is, and what cannot be is told."""

import io
import json
import os
import sys

import pytest

from stopgap.cli.program import prepare_streams, run
from stopgap.library.tables.cells import UNSEEN

NAME = "Blåbær ✓ 漢"
HOSTILE = "x\x1b[31m\u202ey\x9bz\x07\u2066"
ENCODINGS = ("ascii", "cp1252", "cp437", "utf-16", "utf-8")


@pytest.fixture
def bær(stopgap_run, tmp_path):
    """A runner on a library with a name that few consoles have the characters for."""
    path = tmp_path / "bær.csv"
    path.write_text(f"code,name,L,a,b\n1,{NAME},50,0,0\n2,Dune,60,0,0\n", encoding="utf-8")
    assert stopgap_run("range", "import", path, "--name", "Bær")[0] == 0
    return stopgap_run


@pytest.fixture
def console(bær, monkeypatch):
    """What a command writes to a console of some encoding, and its status."""

    def call(encoding, *command):
        streams = [io.TextIOWrapper(io.BytesIO(), encoding=encoding) for _ in range(2)]
        with monkeypatch.context() as patched:
            patched.setattr(sys, "stdout", streams[0])
            patched.setattr(sys, "stderr", streams[1])
            prepare_streams()
            status = run(["--library", str(bær.library), *command])
            for stream in streams:
                stream.flush()
        return status, *(stream.buffer.getvalue() for stream in streams)

    return call


DATA = (
    ("range", "show", "Bær", "--json"),
    ("range", "show", "Bær", "--csv"),
    ("find", "blå", "--json"),
    ("match", "Bær:2", "--no-layers", "--csv"),
    ("range", "export", "Bær", "-"),
    ("sheet", "-", "--for", "match", "Bær:2", "--no-layers"),
    ("kit", "--size", "2", "--csv"),
    ("family", "wall", "--csv"),
)


@pytest.mark.parametrize("command", DATA, ids=" ".join)
def test_data_is_utf_8_whatever_the_console_is(command, console):
    found = [console(encoding, *command) for encoding in ENCODINGS]
    assert {status for status, _, _ in found} == {0}
    assert len({out for _, out, _ in found}) == 1
    assert NAME in found[0][1].decode("utf-8")


def test_a_schema_is_utf_8_whatever_the_console_is(console):
    found = {console(encoding, "schema", "match")[1] for encoding in ENCODINGS}
    assert "Δ" in found.pop().decode("utf-8")
    assert not found


@pytest.mark.parametrize("encoding", ENCODINGS)
def test_a_console_loses_no_letter_of_a_name(encoding, console):
    status, out, _ = console(encoding, "range", "show", "Bær")
    text = out.decode(encoding)
    assert status == 0
    assert "?" not in text
    lost = NAME if encoding.startswith("utf") else NAME.encode(encoding, "backslashreplace")
    assert (lost if isinstance(lost, str) else lost.decode(encoding)) in text
    status, _, error = console(encoding, "match", "Blåbar Dünenweiß")
    said = error.decode("utf-8" if encoding == "ascii" else encoding)  # click takes ASCII for UTF-8
    assert status == 1
    assert "'Blåbar Dünenweiß'" in said


TYPED = "x\udce5"
NOT_UTF_8 = (
    ("match", TYPED),
    ("swatch", "add", "Bær", TYPED, "--hex", "#aabbcc"),
    ("swatch", "add", "Bær", "3", "--name", TYPED, "--hex", "#aabbcc"),
    ("own", TYPED),
    ("range", "import", f"{TYPED}.csv", "--name", "Two"),
    ("range", "import", "there.csv", "--name", TYPED),
    ("range", "remove", TYPED),
    ("paper", "add", TYPED, "--colour", "tan"),
    ("arrangement", "new", TYPED),
    ("family", "new", TYPED),
)


@pytest.mark.parametrize("command", NOT_UTF_8, ids=lambda command: " ".join(command[:2]))
def test_what_is_not_utf_8_is_told_in_a_sentence(command, bær, tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    for name in (f"{TYPED}.csv", "there.csv"):
        try:
            (tmp_path / name).write_text("code,L,a,b\n1,50,0,0\n")
        except OSError:  # a file system that has no such names
            pytest.skip("no file can be called so here")
    before = bær("range", "list", "--json")[1]
    status, out, error = bær(*command)
    assert (status in (1, 2), out) == (True, "")
    assert "Traceback" not in error
    assert error.endswith((".\n", "?\n"))
    assert bær("range", "list", "--json")[1] == before


def test_nothing_that_steers_reaches_a_terminal_or_a_file(bær, tmp_path):
    status, _, error = bær("swatch", "add", "Bær", "9", "--name", HOSTILE, "--hex", "#aabbcc")
    assert status == 0, error
    shown = {
        form: bær(*command)[1]
        for form, command in {
            "terminal": ("range", "show", "Bær"),
            "CSV": ("range", "show", "Bær", "--csv"),
            "JSON": ("range", "show", "Bær", "--json"),
            "file": ("range", "export", "Bær", "-"),
            "CGATS": ("range", "export", "Bær", "-", "--format", "CGATS"),
        }.items()
    }
    for form, text in shown.items():
        assert "9" in text
        assert not UNSEEN.search(text), form
    swatches = json.loads(shown["JSON"])["swatches"]
    assert swatches[-1]["swatch"]["name"] == HOSTILE  # as it is, since JSON can tell it
    for form in ("XLSX", "CGATS", "CxF"):
        path = tmp_path / f"out.{form}"
        assert bær("range", "export", "Bær", path, "--format", form)[0] == 0
        status, _, error = bær("range", "import", path, "--name", form, "--yes")
        assert status == 0, (form, error)


def test_a_closed_pipe_ends_quietly(bær, monkeypatch, capsys):
    for form in ("--json", "--csv", "--quiet"):
        reader, writer = os.pipe()
        os.close(reader)
        with monkeypatch.context() as patched, os.fdopen(writer, "w") as stream:
            patched.setattr(sys, "stdout", stream)
            words = ("--quiet", "range", "show", "Bær") if form == "--quiet" else ()
            words = words or ("range", "show", "Bær", form)
            assert run(["--library", str(bær.library), *words]) == 0
        assert capsys.readouterr().err == ""


def test_a_closed_standard_output_or_input_is_an_error(bær, monkeypatch, capsys):
    with monkeypatch.context() as patched:
        patched.setattr(sys, "stdout", None)
        assert run(["--library", str(bær.library), "own", "Bær:1"]) == 1
    assert capsys.readouterr().err == ("stopgap: Standard output is closed, so nothing was done.\n")
    found = json.loads(bær("range", "show", "Bær", "--json")[1])
    assert not any(each["swatch"]["owned"] for each in found["swatches"])
    monkeypatch.setattr(sys, "stdin", None)
    for command in (
        ("own", "--from", "-"),
        ("restore", "-"),
        ("range", "import", "-", "--name", "S"),
    ):
        status, out, error = bær(*command)
        assert (status, out) == (1, ""), command
        assert "Standard input is closed" in error


@pytest.mark.parametrize(("tag", "depth"), [("a", 100_000), ("Resources", 3000)])
def test_a_file_of_deep_elements_is_refused_in_a_sentence(bær, tmp_path, tag, depth):
    path = tmp_path / "deep.cxf"
    inner = f"<c:{tag}>" * depth + f"</c:{tag}>" * depth
    space = "http://colorexchangeformat.com/CxF3-core"
    path.write_text(f'<?xml version="1.0"?><c:CxF xmlns:c="{space}">{inner}</c:CxF>')
    status, out, error = bær("range", "import", path, "--name", "Deep")
    assert (status, out) == (1, "")
    assert "lie within each other" in " ".join(error.split())
