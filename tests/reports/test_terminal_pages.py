"""Whole pages: every block at any width, with what strangers may have written in it."""

import re
from collections import Counter

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from stopgap.planner import find_stand_ins
from stopgap.reports.answers.stand_ins import stand_ins_report
from stopgap.reports.blocks import Chip, Column, Command, Grid, Heading, Paragraph, Report, Strip
from stopgap.reports.cells import cell_width
from stopgap.reports.console import Console
from stopgap.reports.render.terminal import render_terminal
from stopgap.reports.text import harmless
from stopgap.swatches import FreeColour, Swatch

reliably = settings(derandomize=True, deadline=None, max_examples=150)
GREY = (50.0, 0.0, 0.0)
RED = (50.0, 60.0, 40.0)
SEQUENCE = re.compile(r"\x1b\[(?:0|1|2|48;2;\d+;\d+;\d+|48;5;\d+)m")
PLAIN, STYLED = Console(), Console(styled=True)
MANY, ALL = (Console(styled=True, colours=colours) for colours in (256, 2**24))
CONSOLES = [PLAIN, STYLED, MANY, ALL]

said = st.text(max_size=30) | st.text(
    "ab \u00a0海\u0301❤\ufe0f👩\u200d🎨\x1b[m\n\u202e", max_size=30
)
chips = st.builds(
    Chip,
    st.lists(st.sampled_from([GREY, RED]), min_size=1, max_size=5).map(tuple),
    said,
    narrow=st.booleans(),
)
blocks = st.one_of(
    st.builds(Heading, said),
    st.builds(Paragraph, said, st.sampled_from(["", "!", " "])),
    chips,
    st.lists(chips, min_size=1, max_size=6).map(
        lambda row: Strip(row, [4.0 * place for place in range(1, len(row))], 10.0)
    ),
    st.lists(st.tuples(chips, said, said), max_size=4).map(
        lambda rows: Grid([Column(""), Column("x y", number=True), Column("z")], rows, {0: ["w"]})
    ),
)
pages = st.lists(blocks, max_size=4)


def page(found, console):
    return render_terminal(Report("test/1", {}, found), console)


@reliably
@given(pages, st.integers(4, 100), st.sampled_from(CONSOLES))
def test_no_line_is_wider_than_the_page(found, width, console):
    text = SEQUENCE.sub("", page(found, console._replace(width=width)))
    assert "\x1b" not in text
    assert all(cell_width(line) <= width for line in text.split("\n"))


@reliably
@given(pages, st.integers(4, 100))
def test_styles_change_no_text(found, width):
    plain, styled = (page(found, one._replace(width=width)) for one in (PLAIN, STYLED))
    assert SEQUENCE.sub("", styled).replace(" ", "") == plain.replace(" ", "")


@reliably
@given(st.lists(said, max_size=5), st.integers(4, 100), st.sampled_from(CONSOLES))
def test_nothing_is_lost_from_running_text(texts, width, console):
    kinds = (Heading, Paragraph, lambda text: Chip((GREY,), text))
    found = [kind(text) for text in texts for kind in kinds]
    shown = SEQUENCE.sub("", page(found, console._replace(width=width)))
    asked = "".join(harmless(text, 200) for text in texts for _ in kinds)
    assert "".join(shown.split()) == "".join(asked.split())


HOSTILE = [
    "\x1b[2J\x1b]0;title\x07 cleared",
    "\u202eesrever",
    "x" * 500,
    "海" * 150,
    "a" + "\u0301" * 150,
    "👩\u200d🎨" * 40,
    "line\nbreak\r\ttab\u2028\u0085",
    "\u00a0" * 100,
    " " * 100,
    "[bold]markup[/bold] :smile: {0} %s",
    "\ud800 lone",
]


@pytest.mark.parametrize("name", HOSTILE, ids=lambda name: ascii(name)[:20])
@pytest.mark.parametrize("width", [10, 20, 40, 80])
def test_a_range_with_hostile_names(name, width):
    swatches = [
        Swatch("Fen", "1", GREY, name, uncertainty=0.5),
        Swatch("Fen", "2" + name.strip()[:20], RED, "Gull", uncertainty=0.5),
    ]
    report = stand_ins_report(find_stand_ins(FreeColour(name or "x", GREY), swatches))
    for console in CONSOLES:
        text = SEQUENCE.sub("", render_terminal(report, console._replace(width=width)))
        assert not {"\x1b", "\x07", "\r", "\t", "\x85", "\u2028", "\u202e"} & set(text)
        assert all(cell_width(line) <= width for line in text.split("\n"))
        assert Counter("".join(text.split()))["G"] >= 1


def test_a_command_is_never_broken():
    command = "stopgap match 'My pencils:CODE' --owned"
    assert page([Command(command)], Console(20)) == f"  {command}\n"


def test_text_hangs_beside_its_mark():
    assert page([Paragraph("one two three", "!")], Console(9)).splitlines() == [
        "! one two",
        "  three",
    ]
    patch = "\x1b[48;2;119;119;119m   \x1b[0m"
    shown = page([Chip((GREY,), "one two three")], ALL._replace(width=12))
    assert shown.splitlines() == [f"{patch} one two", "    three"]


def test_text_follows_a_mark_that_takes_half_the_page():
    shown = page([Chip((GREY, RED), "one two")], ALL._replace(width=10))
    assert SEQUENCE.sub("", shown) == "       one\ntwo\n"


def test_a_blend_is_read_without_colour():
    strip = Strip([Chip((GREY,), "Q 1"), Chip((RED,), "Q 2"), Chip((GREY,), "Q 3")], [3, 14.7], 12)
    assert page([strip], Console(80)) == "Q 1 3.0 Q 2 ╳ 14.7 ╳ Q 3\n"
    assert page([strip], Console(12)).splitlines() == ["Q 1 3.0 Q 2", "╳ 14.7 ╳ Q 3"]


def test_a_step_at_the_limit_is_no_gap():
    strip = Strip([Chip((GREY,), "A"), Chip((RED,), "B")], [12.0], 12.0)
    assert page([strip], Console()) == "A 12.0 B\n"


def test_a_blend_in_colour():
    strip = Strip([Chip((GREY,), "A"), Chip((RED,), "B")], [14.7], 12)
    grey, bold = "\x1b[48;2;119;119;119m   \x1b[0m", "\x1b[1m╳ 14.7 ╳\x1b[0m"
    shown = page([strip], ALL._replace(width=80))
    assert shown.startswith(f"{grey}A {bold} \x1b[48;2;")
    assert shown.endswith("m   \x1b[0mB\n")
