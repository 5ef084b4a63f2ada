"""Every renderer over one report: text for each kind of terminal, JSON and CSV."""

import csv
import io
import json

import pytest

from stopgap.planner import find_stand_ins
from stopgap.reports import RENDERERS
from stopgap.reports.answers import stand_ins_report
from stopgap.reports.render.console import make_console
from stopgap.reports.render.terminal import render_terminal
from stopgap.reports.text import harmless
from stopgap.swatches import FreeColour, Lightfastness, LightfastnessScale, Status, Swatch


@pytest.fixture
def report():
    swatches = [
        Swatch(
            "Fen",
            "1",
            (52.0, 0.0, 2.0),
            "Wet Slate",
            owned=True,
            status=Status.DISCONTINUED,
            uncertainty=0.5,
            lightfastness=Lightfastness(LightfastnessScale.ASTM, 1),
        ),
        Swatch("Fen", "2", (70.0, 0.0, 2.0), "=Gull", uncertainty=0.5),
    ]
    return stand_ins_report(find_stand_ins(FreeColour("#777777", (50.0, 0.0, 0.0)), swatches))


def test_the_page_in_a_pipe(report):
    assert RENDERERS["terminal"](report).splitlines() == [
        "Stand-ins for #777777",
        "medium grey",
        "",
        " how near                stand-in, and how it is off",
        " probably close, 9 in 10 Fen:1 Wet Slate · ASTM I (owned, discontinued)",
        "                         lighter, warmer",
        " different               Fen:2 =Gull · –",
        "                         much lighter, warmer",
        "· Fen:1 is surely the nearest.",
    ]


def test_the_page_for_who_measures(report):
    lines = RENDERERS["terminal"](report._replace(figures=True)).splitlines()
    assert lines == [
        "Stand-ins for #777777",
        "lab(50.0 0.0 0.0), medium grey",
        "",
        " ΔE00   ± how near                stand-in, and how it is off",
        "  2.8 0.5 probably close, 9 in 10 Fen:1 Wet Slate · ASTM I (owned, discontinued)",
        "                                  lighter, warmer",
        " 17.7 0.5 different               Fen:2 =Gull · –",
        "                                  much lighter, warmer",
        "· Fen:1 is the nearest with a probability of more than 99 %.",
    ]


class Terminal(io.StringIO):
    def isatty(self):
        return True


def page(report, width=80, **environment):
    console = make_console(Terminal(), width=width, environment={"TERM": "xterm", **environment})
    return render_terminal(report, console)


def test_chips_in_true_colour(report):
    text = page(report, COLORTERM="truecolor")
    # coloraide 8.13.1: Color("lab(50 0 0)").convert("srgb") is rgb(119 119 119)
    assert "\x1b[48;2;119;119;119m" in text


@pytest.mark.parametrize(
    "environment",
    [
        {"COLORTERM": "truecolor", "NO_COLOR": "1"},
        {"TERM": "dumb"},
        {"TERM": "xterm"},
    ],
    ids=["NO_COLOR", "dumb", "sixteen colours"],
)
def test_no_chips_where_they_would_mislead(report, environment):
    text = page(report, **environment)
    assert "48;" not in text
    assert "Wet Slate" in text
    assert "lighter, warmer" in text


def test_256_colours():
    swatch = Swatch("Fen", "1", (61.0, 33.0, 12.0))
    answer = find_stand_ins(FreeColour("", (60.0, 30.0, 10.0)), [swatch])
    assert "\x1b[48;5;" in page(stand_ins_report(answer), TERM="xterm-256color")


@pytest.mark.parametrize("width", [40, 60, 80, 200])
def test_no_line_is_wider_than_the_terminal(report, width):
    text = page(report, width, TERM="dumb")
    assert max(map(len, text.splitlines())) <= width
    assert "".join(text.split()).count("WetSlate") == 1


def test_json_and_csv_say_the_same(report):
    data = json.loads(RENDERERS["json"](report))
    rows = list(csv.DictReader(io.StringIO(RENDERERS["csv"](report))))
    assert data["schema"] == "stopgap.match/1"
    for match, row in zip(data["matches"], rows, strict=True):
        assert float(row["delta_E"]) == match["delta_E"]
        assert row["words"] == match["words"]
    assert rows[1]["name"] == "'=Gull"
    assert data["matches"][1]["swatch"]["name"] == "=Gull"


@pytest.mark.parametrize("form", RENDERERS)
def test_every_renderer_ends_its_text_with_a_line_end(report, form):
    text = RENDERERS[form](report)
    assert text.endswith("\n")
    assert text.isprintable() or "\n" in text


@pytest.mark.parametrize(
    ("text", "shown"),
    [
        ("a\x1b[2Jb", r"a\x1b[2Jb"),
        ("a\nb", r"a\x0ab"),
        ("\u202eabc", r"\u202eabc"),
        ("\u2066abc\u2069", r"\u2066abc\u2069"),
        ("\x9b31m", r"\x9b31m"),
        ("\x00", r"\x00"),
        ("שלום", "שלום"),
        ("👩‍🎨", "👩‍🎨"),
        ("x" * 70, "x" * 59 + "…"),
    ],
)
def test_harmless(text, shown):
    assert harmless(text) == shown
