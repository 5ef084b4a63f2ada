"""Figures are for who measures: everybody else is answered in words, from the same answer."""

import json
import re

import pytest

from stopgap.library import datasets
from stopgap.planner import find_stand_ins
from stopgap.reports.blocks import (
    Chip,
    Column,
    Command,
    Figures,
    Grid,
    Heading,
    Paragraph,
    Report,
    Strip,
    worded,
)
from stopgap.reports.terms import nearness_between, nearness_words
from stopgap.swatches import FreeColour, LaidStack, Swatch


def test_one_word_for_how_near_in_every_answer():
    """A tone's, a kit's and a hole's is that of a single question."""
    asked = FreeColour("", (52.0, 20.0, 10.0))
    said = set()
    for place in range(24):
        lab = (52.0 + place / 3.0, 20.0, 10.0)
        pencil = Swatch("A", f"{place}", lab, uncertainty=0.5 + place % 3, shared_uncertainty=0.3)
        (found,) = find_stand_ins(asked, [pencil]).matches
        assert nearness_between(asked, LaidStack.of(pencil)) == nearness_words(found)
        said.add(nearness_words(found))
    assert len(said) > 8


FIGURES = re.compile(
    r"ΔE|[Ll]ab\(|L\*|a\*|C\*|\bCIE|\bD50|metamer|\d\.\d+ (?:off|away|farther)|limit"
)
TYPED = re.compile(r"lab\(52 40 30\)")  # by who wrote the list
BLENDS = str(datasets() / "blends.csv")
LESSON = str(datasets() / "lesson.csv")
QUESTIONS = [
    ["match", "Fennmoor:FM017", "--no-layers"],
    ["match", "Fennmoor:FM055", "--owned", "--limit", "2"],
    ["match", "Brindlewick:BW05", "--under", "A", "--no-layers"],
    ["layer", "Fennmoor:FM017", "Fennmoor:FM003"],
    ["tones", "Fennmoor:FM017"],
    ["blend", "Fennmoor:FM017", "Fennmoor:FM003", "--no-layers"],
    ["gaps", BLENDS, "--no-layers"],
    ["translate", LESSON, "--no-layers", "--explain"],
    ["kit", "--size", "8"],
    ["table", "--from", "Quillet", "--to", "Fennmoor"],
    ["shop", "--blends", BLENDS, "--list", LESSON, "--no-layers"],
    ["family", "check", "--step", "12"],
    ["range", "show", "Quillet"],
    ["calibrate", str(datasets() / "layered.csv"), "--paper-colour", "lab(96 0 2)"],
]


@pytest.mark.parametrize("words", QUESTIONS, ids=lambda words: " ".join(words[:2]))
def test_an_answer_is_told_without_figures_unless_they_are_asked_for(demo, words):
    plain, told = demo(*words), demo(*words, "--figures")
    assert plain[0] == told[0]
    assert plain[1]
    assert not FIGURES.search(TYPED.sub("", plain[1]))
    assert told[1] != plain[1]


def test_programs_are_told_the_same_in_any_case(demo, monkeypatch, tmp_path):
    words = ["match", "Fennmoor:FM017", "--no-layers", "--json"]
    plain = demo(*words)[1]
    assert plain == demo(*words, "--figures")[1]
    monkeypatch.setenv("STOPGAP_CONFIG", str(tmp_path / "config.toml"))
    assert demo("settings", "figures", "yes")[0] == 0
    assert plain == demo(*words)[1]
    assert {"delta_E", "grade", "sigma"} <= json.loads(plain)["matches"][0].keys()
    assert "ΔE00" in demo(*words[:-1])[1]
    assert demo("settings", "figures", "no")[0] == 0
    assert "ΔE00" not in demo(*words[:-1])[1]
    assert demo("settings", "figures", "often")[0] == 1


def test_every_kind_of_block_leaves_its_figures_out():
    red, blue = (50.0, 40.0, 20.0), (40.0, 0.0, -40.0)
    step = Figures("14.2", "a gap")
    report = Report(
        "test/1",
        {},
        [
            Heading(worded("after ", step)),
            Heading(Figures("14.2 alone")),
            Paragraph(""),
            Paragraph(Figures("mean 3.1")),
            Paragraph(worded(Figures("ΔE 1 "), "near"), mark="!"),
            Command("stopgap demo"),
            Chip((red,), Figures("lab", "red"), captions=(Figures("L* 50"),)),
            Strip([Chip((red,), Figures("lab", "red")), Chip((blue,), "B")], [20.0], 12.0),
            Grid(
                [
                    Column(Figures("ΔE00"), number=True),
                    Column(Figures("step", "how near")),
                    Column(""),
                ],
                [["1.0", step, Chip((red,))]],
                {0: [Figures("1.0 off"), "→ B", Figures("1.0", "close")]},
            ),
        ],
    )
    assert report._replace(figures=True).shown == list(report.blocks)
    assert report.shown == [
        Heading("after a gap"),
        Paragraph(""),
        Paragraph("near", mark="!"),
        Command("stopgap demo"),
        Chip((red,), "red", captions=("",)),
        Strip([Chip((red,), "red"), Chip((blue,), "B")], [20.0], 12.0, figures=False),
        Grid(
            [Column("how near"), Column("")],
            [["a gap", Chip((red,))]],
            {0: ["→ B", "close"]},
            [],
        ),
    ]
