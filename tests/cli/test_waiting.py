"""What standard error says while somebody waits, and what it never lets through."""

import io
import re
import threading
import time
from types import SimpleNamespace

import click
import pytest

from stopgap.cli import session as session_module
from stopgap.cli import waiting as waiting_module
from stopgap.cli.program import run
from stopgap.cli.session import Session
from stopgap.planner import ClassBox, Translation, translate_for_class
from stopgap.swatches import Selection

SEQUENCE = re.compile(r"\x1b\[[?0-9;]*[A-Za-z]")


class Terminal(io.StringIO):
    def isatty(self):
        return True


@pytest.fixture
def waiting(monkeypatch):
    """Standard error as a terminal, and a clock that stands until it is moved."""
    clock = [0.0]
    monkeypatch.setattr(session_module, "monotonic", lambda: clock[0])
    for name, value in {"TERM": "xterm", "COLUMNS": "80"}.items():
        monkeypatch.setenv(name, value)
    monkeypatch.delenv("NO_COLOR", raising=False)
    terminal = Terminal()
    monkeypatch.setattr(session_module, "sys", SimpleNamespace(stderr=terminal))
    return clock, terminal


def test_nothing_is_said_before_a_second_has_passed(waiting):
    clock, terminal = waiting
    with click.Context(click.Command("any")):
        show = Session().counter("recipes")
        for done in range(0, 101, 10):
            show(done, 100)
        assert terminal.getvalue() == ""
        clock[0] = 1.1
        show(100, 100)
    assert terminal.getvalue() == ""


def test_who_waits_longer_is_told_how_far_it_is(waiting):
    clock, terminal = waiting
    with click.Context(click.Command("any")):
        show = Session().counter("recipes")
        clock[0] = 1.1
        for done in (1_000, 2_000):  # the second time is another task
            show(done, 4_000)
            assert f"{done:,} of 4,000 recipes" in SEQUENCE.sub("", terminal.getvalue())
            show(4_000, 4_000)
    assert terminal.getvalue().count("\x1b[?25h") == 2


def test_the_cursor_comes_back_when_a_task_is_broken_off(waiting):
    clock, terminal = waiting

    def broken_off():
        show = Session().counter("recipes")
        clock[0] = 1.1
        show(1, 4)
        raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt), click.Context(click.Command("any")):
        broken_off()
    hidden, shown = (terminal.getvalue().rfind(f"\x1b[?25{end}") for end in "lh")
    assert 0 <= hidden < shown


def test_nothing_is_counted_for_who_wants_quiet_or_sits_at_no_terminal(waiting, monkeypatch):
    assert Session(quiet=True).counter("recipes") is None
    monkeypatch.setattr(session_module, "sys", SimpleNamespace(stderr=io.StringIO()))
    assert Session().counter("recipes") is None


@pytest.mark.parametrize(
    "arguments",
    [
        ["match", "--no\x1b[2J\u202esuch"],
        ["no\x1b[2J\u202esuch"],
        ["match", "Fennmoor\x1b[2J\u202e:FM010"],
        ["match", "Fennmoor:FM010", "--limit", "\x1b[2J\u202e"],
    ],
)
def test_no_error_steers_the_terminal(arguments, demo_library, capfd):
    assert run(["--library", str(demo_library), *arguments]) in (1, 2)
    said = capfd.readouterr().err
    assert not {"\x1b", "\u202e"} & set(said)
    assert r"\x1b[2J" in said
    assert r"\u202e" in said


def test_a_time_limit_is_for_the_whole_command():
    run = Session()
    run.started -= 3.0  # it was at work for so long before it was asked
    assert run.left(0.0) is None
    assert 1.5 < run.left(5.0) <= 2.0
    assert run.left(2.0) == 0.0


def test_boxes_of_a_class_share_the_time(monkeypatch):
    given = []

    def translated(_, *, selection, time_limit):
        given.append(time_limit)
        time.sleep(0.02)
        return Translation((), ())

    monkeypatch.setattr("stopgap.planner.translation.boxes.translate_on_papers", translated)
    box = ClassBox("one", Selection())
    translate_for_class([], [box, box], time_limit=10.0)
    assert given[0] <= 10.0
    assert given[1] <= given[0] - 0.02


def drawn(terminal, text):
    """Wait until a line bears it."""
    for _ in range(500):
        if text in terminal.getvalue():
            return
        time.sleep(0.01)
    raise AssertionError(terminal.getvalue())


def test_who_waits_where_nothing_is_counted_is_told_for_how_long(waiting, monkeypatch):
    _, terminal = waiting
    monkeypatch.setattr(waiting_module, "PATIENCE", 0.01)
    current = Session()
    with current.waiting("stopgap family"):
        drawn(terminal, "stopgap family: 0 s …")
        current.rest()
        assert terminal.getvalue().endswith("\x1b[2K")  # away before an answer is printed
        told = terminal.getvalue()
        time.sleep(0.05)
        assert terminal.getvalue() == told
        with current.waiting("one within the other"):
            current.progress("Reading box.csv")
            drawn(terminal, "Reading box.csv …\n\x1b[?25l")
    assert "one within" not in terminal.getvalue()
    assert terminal.getvalue().endswith("\x1b[2K")


def test_a_line_that_counts_goes_on_while_nothing_is_counted(waiting, monkeypatch):
    clock, terminal = waiting
    monkeypatch.setattr(waiting_module, "PATIENCE", 0.01)
    with click.Context(click.Command("any")), (current := Session()).waiting("stopgap pocket"):
        show = current.counter("pencils")
        clock[0] = 1.1
        show(1, 4)
        told = len(terminal.getvalue())
        for _ in range(500):
            if "1 of 4 pencils" in SEQUENCE.sub("", terminal.getvalue()[told:]):
                break
            time.sleep(0.01)
        else:
            pytest.fail("it stands still")
        show(4, 4)
        told = len(terminal.getvalue())
        drawn(terminal, "stopgap pocket")
        assert "of 4 pencils" not in terminal.getvalue()[told:]


def test_the_line_goes_when_a_command_is_broken_off(waiting, monkeypatch):
    _, terminal = waiting
    monkeypatch.setattr(waiting_module, "PATIENCE", 0.01)
    with pytest.raises(KeyboardInterrupt), Session().waiting("stopgap shop"):
        drawn(terminal, "stopgap shop")
        raise KeyboardInterrupt
    hidden, shown = (terminal.getvalue().rfind(f"\x1b[?25{end}") for end in "lh")
    assert 0 <= hidden < shown
    assert not any(thread.name == "waiting" for thread in threading.enumerate())


def test_every_command_that_works_says_so(waiting, monkeypatch, demo_library):
    monkeypatch.setattr(Session, "waiting", lambda _, what: pytest.fail(what))
    for arguments in (["family"], ["match", "FM010"], ["gaps"], ["translate", "no.csv"]):
        with pytest.raises(pytest.fail.Exception, match=f"stopgap {arguments[0]}"):
            run(["--library", str(demo_library), *arguments])


def test_nothing_is_drawn_for_who_wants_quiet_or_sits_at_no_terminal(waiting, monkeypatch):
    _, terminal = waiting
    monkeypatch.setattr(waiting_module, "PATIENCE", 0.001)
    with Session(quiet=True).waiting("any"):
        time.sleep(0.02)
    assert terminal.getvalue() == ""
    monkeypatch.setattr(session_module, "sys", SimpleNamespace(stderr=io.StringIO()))
    with Session().waiting("any") as nothing:
        assert nothing is None
        assert not any(thread.name == "waiting" for thread in threading.enumerate())
