"""Pages for a terminal: every block at any width, with what strangers may have written in it."""

import io
import os
import re
import unicodedata
from collections import Counter
from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from rich.cells import cell_len

from stopgap.blends import Family, Filed
from stopgap.colorimetry import srgb_to_lab
from stopgap.difference import delta_E
from stopgap.planner import find_stand_ins
from stopgap.reports import RENDERERS
from stopgap.reports.answers import families_report, stand_ins_report
from stopgap.reports.blocks import Chip, Column, Command, Grid, Heading, Paragraph, Report, Strip
from stopgap.reports.render.console import Counting, make_console
from stopgap.reports.render.strips import backgrounds
from stopgap.reports.render.terminal import render_terminal
from stopgap.reports.text import harmless, unstacked
from stopgap.reports.wording import target_called, target_facts, target_title
from stopgap.swatches import (
    NO_COLOUR,
    Finish,
    FreeColour,
    Lightfastness,
    Source,
    Status,
    Swatch,
)

reliably = settings(derandomize=True, deadline=None, max_examples=100)
GREY, RED, BLUE = (50.0, 0.0, 0.0), (50.0, 60.0, 40.0), (40.0, 0.0, -45.0)
SEQUENCE = re.compile(r"\x1b\[[0-9;]*m")
CHIP = re.compile(r"\x1b\[48;([0-9;]+)m( +)\x1b\[0m")


class Terminal(io.StringIO):
    def isatty(self):
        return True


XTERM = {"TERM": "xterm"}
MANY = {"TERM": "xterm-256color"}
ALL = {"TERM": "xterm", "COLORTERM": "truecolor"}
PLACES = [{}, XTERM, MANY, ALL, {**ALL, "NO_COLOR": "1"}]


def page(found, width=80, environment=None):
    """What a terminal in `environment` shows, a file where there is none."""
    file = Terminal() if environment else io.StringIO()
    console = make_console(file, width=width, environment=environment or {})
    return render_terminal(Report("test/1", {}, found, figures=True), console)


def bare(text):
    return SEQUENCE.sub("", text)


# what a console shows


@pytest.mark.parametrize(
    ("environment", "shown"),
    [
        ({"TERM": "dumb"}, None),
        ({"TERM": "unknown", "COLORTERM": "truecolor"}, None),
        (XTERM, None),
        ({"TERM": "linux"}, None),
        (MANY, "5;243"),
        ({"TERM": "xterm-kitty"}, "5;243"),
        (ALL, "2;119;119;119"),
        ({"TERM": "xterm", "COLORTERM": "24bit"}, "2;119;119;119"),
        ({**ALL, "NO_COLOR": "1"}, None),
        ({**ALL, "NO_COLOR": ""}, "2;119;119;119"),
    ],
)
def test_chips_where_there_are_256_colours_or_more(environment, shown):
    """no-color.org: NO_COLOR counts where it is not empty.

    coloraide 8.13.1: Color("lab(50 0 0)").convert("srgb") is rgb(119 119 119); 243 of
    xterm's palette is rgb(118 118 118), from memory.
    """
    found = CHIP.search(page([Chip((GREY,), "slate")], 80, environment))
    if shown is None:
        assert found is None
    else:
        assert found[1] == shown


def test_a_file_is_coloured_only_if_somebody_asks():
    """force-color.org: FORCE_COLOR counts where it is not empty, whatever it says."""
    for forced, coloured in (
        ({}, False),
        ({"FORCE_COLOR": ""}, False),
        ({"FORCE_COLOR": "1"}, True),
    ):
        console = make_console(io.StringIO(), width=80, environment={**ALL, **forced})
        assert (backgrounds([GREY], console) is not None) is coloured


@pytest.mark.parametrize(
    ("stated", "columns", "width"),
    [
        (None, "100", 100),
        (60, "100", 60),
        *((None, wrong, 80) for wrong in ("", "0", "-5", "wide", "²", "9" * 5000)),
    ],
)
def test_width_without_a_terminal(stated, columns, width):
    console = make_console(io.StringIO(), width=stated, environment={"COLUMNS": columns})
    assert console.width == width


@pytest.mark.skipif(os.name != "posix", reason="pseudo-terminals are POSIX's")
@pytest.mark.parametrize(("columns", "width"), [(57, 57), (0, 80)])
def test_width_of_a_terminal(columns, width):
    import fcntl
    import pty
    import struct
    import termios

    ours, theirs = pty.openpty()
    with open(ours, "rb", buffering=0), open(theirs, "w") as file:
        fcntl.ioctl(theirs, termios.TIOCSWINSZ, struct.pack("HHHH", 24, columns, 0, 0))
        assert make_console(file, environment=XTERM).width == width


def test_the_nearest_of_256_colours():
    """Palette of xterm, from memory: a cube of six levels from 16, 24 greys from 232."""
    levels = (0, 95, 135, 175, 215, 255)
    cube = [(r, g, b) for r in levels for g in levels for b in levels]
    palette = srgb_to_lab(np.array([*cube, *((n, n, n) for n in range(8, 248, 10))]) / 255.0)
    generator = np.random.default_rng(5)
    labs = list(map(tuple, generator.uniform((0, -70, -70), (100, 70, 70), (40, 3)).tolist()))
    labs += map(tuple, palette[::17].tolist())
    console = make_console(Terminal(), width=80, environment=MANY)
    for lab, ink in backgrounds(labs, console).items():
        one_by_one = [float(delta_E(lab, other, metric="CIE 2000")) for other in palette]
        assert ink.bgcolor.number == 16 + one_by_one.index(min(one_by_one))


# every block, any width

said = st.text(max_size=30) | st.text(
    "ab \u00a0海\u0301❤\ufe0f👩\u200d🎨\x1b[m\n\u202e", max_size=30
)
chips = st.builds(
    Chip,
    st.lists(st.sampled_from([GREY, RED]), min_size=1, max_size=9).map(tuple),
    said,
    narrow=st.booleans(),
)
strips = st.lists(chips, min_size=1, max_size=9).map(
    lambda row: Strip(row, [4.0 * place for place in range(1, len(row))], 10.0)
)
grids = st.lists(st.tuples(chips, said, st.integers(-999, 9999).map(str), said), max_size=4).map(
    lambda rows: Grid(
        [Column(""), Column("x"), Column("y z", number=True), Column("w")], rows, {0: ["v", " u"]}
    )
)
texts = st.builds(Heading, said) | st.builds(Paragraph, said, st.sampled_from(["", "!", " "]))
pages = st.lists(texts | chips | strips | grids, max_size=4)


@reliably
@given(pages, st.integers(24, 130), st.sampled_from(PLACES))
def test_no_line_is_wider_than_the_page(found, width, environment):
    text = bare(page(found, width, environment))
    assert not {"\x1b", "\u202e"} & set(text)
    assert all(cell_len(line) <= width for line in text.split("\n"))


@reliably
@given(pages, st.integers(24, 130))
def test_styles_change_no_text(found, width):
    plain, styled = (page(found, width, environment) for environment in ({}, XTERM))
    assert bare(styled).replace(" ", "") == plain.replace(" ", "")


@reliably
@given(pages, st.integers(24, 130))
def test_without_colour_a_terminal_shows_what_a_file_holds(found, width):
    refused = page(found, width, {**ALL, "NO_COLOR": "1"})
    assert not re.search(r"\x1b\[(?:[0-9;]*;)?[34]8", refused)
    assert bare(refused).replace(" ", "") == page(found, width).replace(" ", "")


@reliably
@given(grids | strips, st.integers(24, 130), st.sampled_from(PLACES))
def test_nothing_is_lost(found, width, environment):
    text = bare(page([found], width, environment))
    asked = []
    if isinstance(found, Strip):
        asked += [harmless(chip.label) for chip in found.chips]
    else:
        asked += [harmless(column.title, 200) for column in found.columns]
        asked += [
            harmless(cell.label if isinstance(cell, Chip) else cell, 200)
            for row in found.rows
            for cell in row
        ]
        asked += [harmless(remark, 300) for remark in found.remarks[0]] if found.rows else []
    shown = Counter("".join(text.split()))
    wanted = Counter("".join("".join(map(unstacked, asked)).split()))
    assert not wanted - shown


@reliably
@given(st.lists(said, max_size=5), st.integers(24, 100), st.sampled_from(PLACES))
def test_running_text_is_whole_and_in_order(found, width, environment):
    kinds = (Heading, Paragraph, lambda text: Chip((GREY,), text))
    text = bare(page([kind(one) for one in found for kind in kinds], width, environment))
    asked = "".join(unstacked(harmless(one, 200)) for one in found for _ in kinds)
    assert "".join(text.split()) == "".join(asked.split())


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
    "[bold]markup[/bold] [/] :smile: {0} %s",
    "\ud800 lone",
]


@pytest.mark.parametrize("name", HOSTILE, ids=lambda name: ascii(name)[:20])
@pytest.mark.parametrize("width", [24, 40, 80])
def test_a_range_with_hostile_names(name, width):
    swatches = [
        Swatch("Fen", "1", GREY, name, uncertainty=0.5),
        Swatch("Fen", "2" + name.strip()[:20], RED, "Gull", uncertainty=0.5),
    ]
    report = stand_ins_report(find_stand_ins(FreeColour(name or "x", GREY), swatches))
    for environment in PLACES:
        text = bare(page(report.blocks, width, environment))
        assert not {"\x1b", "\x07", "\r", "\t", "\x85", "\u2028", "\u202e"} & set(text)
        assert "\u0301" * 3 not in text
        assert all(cell_len(line) <= width for line in text.split("\n"))
        assert "".join(text.split()).count("Gull") == 1


def test_markup_and_emoji_codes_are_text():
    for name in ("[/]", "[red]x[/red]", ":smile:", "[link=a]b"):
        assert page([Heading(name), Paragraph(name, "!"), Chip((GREY,), name)]).count(name) == 3


def test_a_command_is_never_broken():
    command = "stopgap match 'My pencils:CODE' --owned"
    assert page([Command(command)], 20) == f"  {command}\n"


def test_text_hangs_beside_its_mark():
    assert page([Paragraph("one two three", "!")], 9).splitlines() == ["! one two", "  three"]
    shown = page([Chip((GREY, RED), "one two three")], 16, ALL)
    assert CHIP.sub("#", shown).splitlines() == ["## one two", "       three"]


# grids


def cells_of(text):
    """Unicode Standard Annex 11: wide and fullwidth characters take two cells; marks none."""
    wide = {"W": 2, "F": 2}
    return sum(
        0 if unicodedata.combining(one) else wide.get(unicodedata.east_asian_width(one), 1)
        for one in text
    )


NARROW = Grid(
    [
        Column("code"),
        Column("name"),
        Column("L*", number=True),
        Column("largest step", number=True),
    ],
    [("FM001", "Sandeel Gleam", "92.3", "2.0"), ("FM002", "", "88.0", "12.5")],
    {0: ["! lightfastness unknown"]},
)


def test_columns_side_by_side():
    grid = Grid(NARROW.columns, [*NARROW.rows, ("海1", "e\u0301te\u0301 海の青", "7.0", "1.0")])
    lines = page([grid], 42).splitlines()
    assert lines == [
        "code  name            L* largest step",
        "FM001 Sandeel Gleam 92.3          2.0",
        "FM002               88.0         12.5",
        "海1   e\u0301te\u0301 海の青     7.0          1.0",
    ]
    assert len(set(map(cells_of, lines))) == 1


def test_the_widest_column_of_text_folds():
    grid = Grid(
        [Column("code"), Column("L*", number=True), Column("name")], [("A", "5.0", "one " * 9)]
    )
    assert page([grid], 30).splitlines() == [
        "code  L* name",
        "A    5.0 one one one one one",
        "         one one one one",
    ]


def test_a_row_becomes_a_paragraph_where_columns_have_no_room():
    assert page([NARROW], 24).splitlines() == [
        "code  name  L*",
        "  largest step",
        "FM001  Sandeel Gleam",
        "  L* 92.3  largest step",
        "  2.0",
        "  ! lightfastness",
        "  unknown",
        "FM002  L* 88.0",
        "  largest step 12.5",
    ]


def test_columns_of_bare_chips_need_colours():
    columns = [Column(""), Column("named"), Column("text")]
    rows = [(Chip((GREY,)), Chip((GREY,), "slate"), "one"), ("", Chip((GREY,)), "two")]
    assert page([Grid(columns, rows)], 40).splitlines() == ["named text", "slate one", "      two"]
    assert page([Grid(columns, rows)], 40, ALL).count("48;2;119;119;119") == 3


def test_a_run_of_colours_stays_on_one_line_while_text_can_fold():
    columns = [Column("family"), Column("owned", number=True), Column("light to dark")]
    grid = Grid(columns, [("turquoises that lean to green", "3", Chip((GREY,) * 17, narrow=True))])
    lines = CHIP.sub("#", page([grid], 42, ALL)).splitlines()[1:]
    assert [line.split() for line in lines] == [
        ["turquoises", "that", "3", "#" * 17],
        ["lean", "to", "green"],
    ]
    lines = CHIP.sub("#", page([grid], 32, ALL)).splitlines()[1:]
    assert sum(line.count("#") for line in lines) == 17
    assert lines[0].count("#") > 6


def test_titles_are_dim():
    styled = page([NARROW], 80, XTERM)
    assert styled.startswith("\x1b[2mcode\x1b[0m  \x1b[2mname\x1b[0m ")


def test_a_grid_of_nothing():
    assert page([Grid([], [])]) == ""
    assert page([Grid([Column("a")], [])]) == "a\n"
    assert page([Grid([Column("")], [("b",)])]) == "b\n"


# strips


def strip_of(count, steps=(), limit=12.0):
    labs = [(20.0 + 70.0 * place / count, 0.0, 0.0) for place in range(count)]
    chips = [Chip((lab,), f"FM{place:03}") for place, lab in enumerate(labs)]
    return Strip(chips, list(steps) or [9.3] * (count - 1), limit)


def test_a_blend_is_read_without_colour():
    strip = Strip([Chip((GREY,), "Q 1"), Chip((RED,), "Q 2"), Chip((GREY,), "Q 3")], [3, 14.7], 12)
    assert page([strip], 80) == "Q 1 3.0 Q 2 ╳ 14.7 ╳ Q 3\n"
    assert page([strip], 12).splitlines() == ["Q 1 3.0 Q 2", "╳ 14.7 ╳ Q 3"]


def test_a_step_at_the_limit_is_no_gap():
    strip = Strip([Chip((GREY,), "A"), Chip((RED,), "B")], [12.0], 12.0)
    assert page([strip]) == "A 12.0 B\n"


def test_a_blend_in_colour_has_its_codes_and_steps_below():
    strip = strip_of(4, [9.3, 14.7, 10.0])
    chips, codes, steps = bare(page([strip], 60, ALL)).splitlines()
    assert codes == "FM000 FM001  FM002  FM003"
    assert steps == "     9.3 ╳ 14.7 ╳ 10.0"
    assert chips == " " * 26


def test_a_long_label_takes_several_lines_and_a_colour_stays_whole():
    labels = ["Q33+Q1 light, medium", "lab(52 40 -30)", "FM040"]
    chips = [Chip((lab,), label) for lab, label in zip((GREY, RED, BLUE), labels, strict=True)]
    shown = bare(page([Strip(chips, [4.1, 5.9], 5.0)], 60, ALL)).splitlines()
    assert [line.rstrip() for line in shown[1:]] == [
        "Q33+Q1 lab(52 40 -30) FM040",
        "light,",
        "medium",
        "      4.1          ╳ 5.9 ╳",
    ]


def touching(text):
    """Pairs of colours side by side, line by line."""
    for line in text.splitlines():
        if not bare(line).strip():
            yield from pairwise(colour for colour, _ in CHIP.findall(line))


@pytest.mark.parametrize("width", [24, 60, 80, 120])
@pytest.mark.parametrize("count", [2, 9, 30])
def test_each_two_neighbours_touch_once_with_their_step_where_they_meet(count, width):
    strip = strip_of(count, [1.0 + place for place in range(count - 1)], limit=17.5)
    console = make_console(Terminal(), width=width, environment=ALL)
    inks = backgrounds([lab for chip in strip.chips for lab in chip.labs], console)
    numbers = [ink.bgcolor.triplet for ink in inks.values()]
    text = page([strip], width, ALL)
    assert list(touching(text)) == [
        tuple("2;{};{};{}".format(*one) for one in pair) for pair in pairwise(numbers)
    ]
    lines = text.splitlines()
    for chips, _, below in zip(lines[::3], lines[1::3], lines[2::3], strict=True):
        edges = np.cumsum([len(cells) for _, cells in CHIP.findall(chips)])
        found = list(re.finditer(r"╳ [\d.]+ ╳|[\d.]+", bare(below)))
        middles = [(match.start() + match.end()) / 2 for match in found]
        assert np.abs(np.array(middles) - edges[:-1]).max() <= 1
    assert re.findall(r"\d+\.\d", bare(text)) == [f"{step:.1f}" for step in strip.steps]
    assert bare(text).count("╳") == 2 * sum(step > 17.5 for step in strip.steps)


# waiting


def test_counting_says_how_far_it_is_and_leaves_nothing(monkeypatch):
    for name, value in {**XTERM, "COLUMNS": "80"}.items():
        monkeypatch.setenv(name, value)
    file = Terminal()
    counting = Counting("recipes [/]", file)
    counting.show(1_000, 4_462_578)
    assert "1,000 of 4,462,578 recipes [/]" in bare(file.getvalue())
    assert "0 of 0" not in bare(file.getvalue())
    counting.show(4_462_578, 4_462_578)
    counting.stop()
    assert file.getvalue().endswith("\x1b[?25h\r\x1b[1A\x1b[2K")  # cursor shown, line taken away


# what a target is called


@pytest.mark.parametrize(("source", "name"), [("measured", "strong red"), ("typed", "red")])
def test_a_typed_colour_gets_a_plain_name_only(source, name):
    """A colour of that source is known to ΔE00 5, and could as well be vivid or deep."""
    known = Swatch("Fen", "1", (50.0, 55.0, 35.0), source=Source(source), uncertainty=0.5)
    colour = replace(known, shared_uncertainty=0.0)
    assert target_called(colour) == (name, "")
    assert target_called(replace(colour, uncertainty=5.0)) == (name, "reddish orange")
    report = stand_ins_report(find_stand_ins(colour, [Swatch("Fen", "2", RED)], limit=1))
    assert report.data["called"] == {"name": name, "also": ""}


def test_beside_a_limit_both_names_stand_in_the_first_line():
    grey = FreeColour("sky", (85.0, 0.0, 0.0))
    assert target_title(grey) == "sky"
    assert target_facts(grey) == "lab(85.0 0.0 0.0), light grey, also called white"


def test_the_wall_says_in_characters_what_a_page_says_by_form():
    fen = {"range": "Fen", "lab": (50.0, 30.0, 20.0)}
    pencils = [
        Swatch(code="1", owned=True, lightfastness=Lightfastness.parse("ASTM II"), **fen),
        Swatch(code="2", status=Status.DISCONTINUED, **fen),
        Swatch(code="3", owned=True, status=Status.DISCONTINUED, **fen),
        Swatch(code="4", finish=Finish.METALLIC, **fen),
    ]
    filed = [Filed(each, "reds") for each in pencils]
    named = Filed(Swatch("Quay", "7", NO_COLOUR), "reds")
    report = families_report(
        [Family("reds", tuple(filed), (0.0,) * 3, proved=True, names=(named,))],
        whole=False,
        wall=True,
    )
    lines = RENDERERS["terminal"](report).splitlines()
    assert lines[0] == "The wall: 5 pencils, 2 of them yours"
    assert lines[3].strip() == "F·1▲ II  F·2× –  F·3▲× –  F·4m –  Q·7? –"
