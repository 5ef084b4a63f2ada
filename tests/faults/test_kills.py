"""A short run of what `kills.py` does at length."""

import shutil
import subprocess
import sys
from pathlib import Path

import pytest

from stopgap.cli.program import run

pytestmark = pytest.mark.slow


@pytest.mark.skipif(shutil.which("cc") is None, reason="strikes are compiled")
def test_a_command_that_is_cut_short_leaves_the_library_as_before_or_after():
    script = Path(__file__).with_name("kills.py")
    done = subprocess.run(
        [sys.executable, script, "0:34", "interrupted", "torn"], capture_output=True, text=True
    )
    assert done.returncode == 0, done.stderr[-3000:]
    assert "torn: before 17" in done.stdout


def test_what_was_done_before_an_interrupt_is_told(demo, monkeypatch):
    def stop(*_arguments, **_more):
        raise KeyboardInterrupt

    monkeypatch.setattr("stopgap.cli.session.Session.say", stop)
    status, _, error = demo("own", "Fennmoor:FM017")
    assert (status, error.strip()) == (
        1,
        "stopgap: stopped after the change was made: own Fennmoor:FM017.",
    )
    monkeypatch.setattr("stopgap.library.ownership.find_several", stop)
    status, _, error = demo("own", "Fennmoor:FM018")
    assert (status, error.strip()) == (1, "stopgap: stopped before anything was changed.")


def test_an_interrupt_while_a_class_is_made_is_told_as_one(monkeypatch, capsys):
    """Python before 3.12 wraps it in an error of its own."""

    def made(**_):
        raise RuntimeError("Error calling __set_name__") from KeyboardInterrupt()

    monkeypatch.setattr("stopgap.cli.program.program.main", made)
    assert run(["undo"]) == 1
    assert capsys.readouterr().err == "stopgap: stopped before anything was changed.\n"
