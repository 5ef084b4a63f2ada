"""Pages as text: nothing to load, a policy that fits, colours that can be read, small enough."""

import base64
import hashlib
import json
import re
from dataclasses import replace
from html.parser import HTMLParser

import coloraide
import numpy as np
import pytest
from make_nearness import FILE, made

from stopgap.blends import families, file_swatches
from stopgap.difference import grade_words
from stopgap.planner import (
    LayerQuestion,
    ToBuy,
    estimated_conditions,
    find_stand_ins,
    precompute_stand_ins,
)
from stopgap.reports.blocks import Chip, Column, Grid, Heading, Paragraph, Report, Strip
from stopgap.reports.pocket import pocket_data, render_pocket
from stopgap.reports.render.filling import source
from stopgap.reports.render.html import render_html
from stopgap.reports.render.paint import css_lab, paint_rules, paints
from stopgap.swatches import FreeColour, Swatch

pytestmark = pytest.mark.slow

REPORT = Report(
    "stopgap.test/1",
    {},
    [
        Heading("Chips"),
        Chip(((50.0, 20.0, 10.0),), "one"),
        Paragraph("Careful.", mark="!"),
        Grid([Column(""), Column("name")], [[Chip(((50, 0, 0), (60, 0, 0))), "two"]], {0: ["! x"]}),
        Strip([Chip(((50, 0, 0),), "a"), Chip(((70, 0, 0),), "b")], [18.0], 12.0),
    ],
)


class Elements(HTMLParser):
    """Start tags with their attributes, and the text inside style and script."""

    def __init__(self, text):
        super().__init__()
        self.tags, self.inside, self._open = [], {"style": [], "script": []}, ""
        self.feed(text)

    def handle_starttag(self, tag, attributes):
        self.tags.append((tag, dict(attributes)))
        if tag in self.inside:
            self._open = tag
            self.inside[tag].append("")

    def handle_endtag(self, tag):
        if tag == self._open:
            self._open = ""

    def handle_data(self, data):
        if self._open:
            self.inside[self._open][-1] += data


def pencils(count, rng):
    labs = np.column_stack([rng.uniform(15, 95, count), *rng.uniform(-60, 60, (2, count))])
    return [
        Swatch(
            f"Range {place % 7}",
            f"R{place:04d}",
            tuple(lab),
            f"A pencil with a rather long name {place}",
            owned=place % 4 == 0,
            uncertainty=0.5,
        )
        for place, lab in enumerate(labs.tolist())
    ]


@pytest.fixture(scope="module")
def pocket():
    swatches = pencils(30, np.random.default_rng(1))
    answers = precompute_stand_ins(swatches)
    return render_pocket(answers, title="Mine", to_buy=[ToBuy(swatches[1], 2.0, "for the sea")])


def test_who_does_not_measure_sees_no_figure_on_the_phone(pocket):
    data = json.loads(re.search(r'id="data">(.*?)</script>', pocket, re.DOTALL)[1])
    assert data["figures"] is False
    words = re.sub(r"<script.*?</script>|<style.*?</style>", "", pocket, flags=re.DOTALL)
    assert "ΔE" not in words
    assert "lab(" not in words


def digest(text):
    return f"'sha256-{base64.b64encode(hashlib.sha256(text.encode()).digest()).decode()}'"


def policy(elements):
    (found,) = (
        attributes["content"]
        for tag, attributes in elements.tags
        if tag == "meta" and attributes.get("http-equiv") == "Content-Security-Policy"
    )
    return dict(part.strip().split(" ", 1) for part in found.split(";"))


def test_the_policy_admits_this_style_and_script_and_nothing_else(pocket):
    apart = Elements(render_html(Report("x", {}, [Chip(((50.0, 0.0, 0.0),), "nothing touches")])))
    assert "script-src" not in policy(apart)
    assert apart.inside["script"] == []
    sheet = Elements(render_html(REPORT))
    (script,) = sheet.inside["script"]
    assert policy(sheet) == {
        "default-src": "'none'",
        "style-src": digest(sheet.inside["style"][0]),
        "script-src": digest(script),
        "base-uri": "'none'",
        "form-action": "'none'",
    }
    page = Elements(pocket)
    _, script = page.inside["script"]
    assert policy(page)["default-src"] == "'none'"
    assert policy(page)["script-src"] == digest(script)
    assert policy(page)["style-src"] == digest(page.inside["style"][0])


def test_a_page_loads_nothing(pocket):
    for text in (render_html(REPORT), pocket):
        elements = Elements(text)
        for tag, attributes in elements.tags:
            assert tag not in ("img", "link", "iframe", "object", "form")
            assert not {"src", "srcset", "style", "action"} & set(attributes)
            assert not [name for name in attributes if name.startswith("on")]
            assert attributes.get("href", "#").startswith("#")
        for rules in elements.inside["style"]:
            assert not re.search(r"url\(|@import|@font-face", rules)
        assert not re.search(r"https?:|fetch\(|XMLHttp|WebSocket|sendBeacon|innerHTML|eval\(", text)


def test_a_report_becomes_a_page():
    text = render_html(REPORT)
    assert text.startswith("<!DOCTYPE html>")
    assert "<h1>Chips</h1>" in text
    assert "<h2" not in text
    titled = render_html(REPORT, "Tide <pools>")
    assert "<h1>Tide &lt;pools&gt;</h1>" in titled
    assert ">Chips</h2>" in titled
    assert "<h1>stopgap.test/1</h1>" in render_html(Report("stopgap.test/1", {}, []))


def test_a_cell_says_of_what_kind_it_is():
    columns = [Column("name"), Column("ΔE", number=True), Column("note")]
    rows = [["Sandeel", "1.25", "Anemone-and-Cuttlefish"]]
    text = render_html(Report("x", {}, [Grid(columns, rows)]))
    kinds = [one.split() for one in re.findall(r'<td class="([a-z ]*)"', text)]
    assert kinds == [
        ["short", "brief", "titled"],
        ["short", "number", "brief", "titled"],
        [],
    ]


def test_a_repeated_colour_is_stated_once():
    lab = (50.0, 20.0, 10.0)
    assert len(paints([lab, lab, (50.0, 20.0, 11.0)])) == 2
    assert paints([]) == {}


def test_colours_in_css():
    rules = paint_rules(paints([(50.0, 20.0, 10.0), (86.0, -105.0, 85.0)]))
    # coloraide 8.13.1: Color("lab(50 20 10)").convert("srgb").to_string(hex=True)
    assert ".k0{background:#9b6a67}" in rules
    assert coloraide.Color("lab(50 20 10)").convert("srgb").to_string(hex=True) == "#9b6a67"
    inside, outside = rules.splitlines()[-2:]
    assert inside == "@supports (color:lab(50 0 0)){.k0{background:lab(50 20 10)}}"
    assert outside == "@media (color-gamut:p3){.k1{background:lab(86 -105 85)}}"


@pytest.mark.parametrize(
    ("lab", "text"),
    [
        ((52.0, 40.126, -0.001), "lab(52 40.13 0)"),
        ((100.4, 0.0, 0.0), "lab(100 0 0)"),
        ((-0.2, 0.0, 0.0), "lab(0 0 0)"),
        ((1e-9, 123.456, -99.999), "lab(0 123.46 -100)"),
    ],
)
def test_css_lab(lab, text):
    assert css_lab(lab) == text


def colours(part):
    return dict(re.findall(r"--(\w+): (#\w+)", part))


def test_text_can_be_read_on_every_ground():
    light, dark = source("ground.css").split("prefers-color-scheme: dark")
    light, dark = colours(light), colours(light) | colours(dark.split("@media print")[0])
    for scheme in (light, dark):
        for text in ("text", "quiet"):
            for ground in ("page", "panel"):
                # WCAG 2.2, success criterion 1.4.3: 4.5 to 1, as coloraide 8.13.1 computes it
                ratio = coloraide.Color(scheme[text]).contrast(scheme[ground], method="wcag21")
                assert ratio >= 4.5
        for edge in ("quiet", "ground"):
            # success criterion 1.4.11: 3 to 1 for the bounds of controls and of chips
            ratio = coloraide.Color(scheme[edge]).contrast(scheme["page"], method="wcag21")
            assert ratio >= 3.0
        assert coloraide.Color("#fff").contrast(scheme["ground"], method="wcag21") >= 4.5
        for name in scheme:
            # nothing but the colours judged has a hue
            assert coloraide.Color(scheme[name]).convert("lch")["chroma"] < 0.1


def test_a_thousand_swatches_stay_small():
    swatches = pencils(1000, np.random.default_rng(2))
    some = swatches[:40]
    layered = LayerQuestion(estimated_conditions(), some[:40:4], always=True, limit=2)
    found = precompute_stand_ins(some, layering=layered)
    assert all(len(answer.recipes) == 2 for answer in found)
    answers = [
        found[place % len(found)]._replace(swatch=swatch) for place, swatch in enumerate(swatches)
    ]
    size = len(render_pocket(answers).encode("utf-8"))
    assert 300_000 < size < 2_000_000


def test_the_data_are_those_of_the_answers():
    swatches = pencils(12, np.random.default_rng(3))
    answers = precompute_stand_ins(swatches, limit=2)
    data = json.loads(json.dumps(pocket_data(answers, families(swatches), [])))
    assert data["schema"] == "stopgap.pocket/1"
    words = data["words"]
    for row, swatch, (owned, others, recipes, layers_first), answer in zip(
        data["swatches"], swatches, data["answers"], answers, strict=True
    ):
        assert row[1:3] == [swatch.code, swatch.name]
        assert row[3:6] == pytest.approx(swatch.lab, abs=0.005)
        assert row[7] & 1 == swatch.owned
        for found, expected in ((owned, answer.owned), (others, answer.others)):
            assert [swatches[one[0]] for one in found] == [one.swatch for one in expected]
            assert [words[one[2]] for one in found] == [one.words for one in expected]
        assert (recipes, layers_first) == ([], 0)
    filed = {each.swatch.address: each.family for each in file_swatches(swatches)}
    for row, swatch in zip(data["swatches"], swatches, strict=True):
        assert words[row[9]] == filed[swatch.address]
    hung = [(words[name], swatches[place]) for name, places in data["wall"] for place in places]
    assert sorted(hung, key=str) == sorted(
        ((filed[swatch.address], swatch) for swatch in swatches), key=str
    )
    assert data["grades"][-1] == ["different", None]


def test_words_for_a_typed_colour_are_those_of_a_question():
    """On the phone, by what a pencil errs by and how far off it is, on a grid of both."""
    swatches = [
        replace(one, uncertainty=size, shared_uncertainty=0.0)
        for one, size in zip(pencils(12, np.random.default_rng(8)), (0.5, 1.0, 5.0) * 4)
    ]
    data = json.loads(json.dumps(pocket_data(precompute_stand_ins(swatches, limit=2), (), [])))
    assert [row[:2] for row in data["errors"]] == [[one.uncertainty, 0.0] for one in swatches]
    for swatch in swatches:
        L, a, b = swatch.lab
        asked = FreeColour("", (L + 2.0, a, b))
        (found,) = find_stand_ins(asked, [swatch]).matches
        words = data["nearness"][data["sizes"].index(swatch.uncertainty)]
        step = next(k for k, end in enumerate(data["apart"]) if found.delta_E <= end)
        said = data["words"][words[step]]
        assert said.removeprefix("probably ").removeprefix("perhaps ").startswith(found.grade)
        chance = grade_words(found.grade, found.grade_probability).rpartition(", ")[2]
        beside = {
            data["words"][words[k]].rpartition(", ")[2] for k in range(max(step - 3, 0), step + 4)
        }
        assert chance in beside


def test_words_kept_for_a_typed_colour_are_those_worked_out():
    assert FILE.read_text("utf-8") == made(), "write it again: python make_nearness.py"


def test_recipes_are_carried_with_what_they_promise():
    # some recipes of muted colours promise much
    swatches = [
        replace(swatch, lab=(50.0 + L / 3.0, a / 3.0, b / 3.0), uncertainty=0.2)
        for swatch in pencils(80, np.random.default_rng(4))
        for L, a, b in [swatch.lab]
    ]
    question = LayerQuestion(estimated_conditions(), swatches[:32], limit=2)
    answers = precompute_stand_ins(swatches, layering=question)
    data = json.loads(json.dumps(pocket_data(answers, (), [])))
    carried = [row for _, _, recipes, _ in data["answers"] for row in recipes]
    recipes = [recipe for answer in answers for recipe in answer.recipes]
    assert len({recipe.promise.grade for recipe in recipes}) > 1
    for row, recipe in zip(carried, recipes, strict=True):
        assert row[5:7] == pytest.approx(recipe.interval, abs=0.05)
        words = [data["words"][number] for number in row[-2:]]
        assert words == [recipe.promise.grade, recipe.promise.chance]
    first = [bool(answer[3]) for answer in data["answers"]]
    assert first == [answer.layers_first for answer in answers]
    assert len(set(first)) == 2


def test_data_cannot_end_their_block():
    swatch = Swatch("Fen", "1", (50.0, 0.0, 0.0), "</script><!--<script>")
    elements = Elements(render_pocket(precompute_stand_ins([swatch])))
    assert len(elements.inside["script"]) == 2
    assert json.loads(elements.inside["script"][0])["swatches"][0][2] == swatch.name
