"""One rule of lightfastness: nothing below it is in any plan, whichever command is asked."""

import csv
import io
import json
from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from stopgap import defaults
from stopgap.errors import NothingFoundError
from stopgap.library import Listed
from stopgap.planner import (
    CalledOn,
    Terms,
    estimated_conditions,
    find_blend,
    find_stand_ins,
    find_tones,
    gaps_at_hand,
    look_at_hand,
    needs_of,
    pack_kit,
    plan_purchase,
    reach_of,
    running_out,
    to_take,
    translate_list,
)
from stopgap.planner.recipes.questions import LayerQuestion
from stopgap.swatches import (
    Lightfastness,
    LightfastnessScale,
    Selection,
    Stack,
    Swatch,
    rule_of,
)

pytestmark = pytest.mark.slow

DATA = Path(__file__).parents[2] / "datasets"
LESSON, BLENDS, OWNED = (str(DATA / name) for name in ("lesson.csv", "blends.csv", "owned.csv"))
ASTM, BWS, OWN = LightfastnessScale
ASKED_ABOUT = ("target", "asked", "after", "before", "swatch of table", "marked", "over", "owned")
PLANS = {
    "match": ("match", "Fennmoor:FM017"),
    "match_any_layers": ("match", "Fennmoor:FM017", "--layers", "--layer-with", "any"),
    "match_over": ("match", "lab(45 20 20)", "--over", "Fennmoor:FM049 light"),
    "find": ("find", "gull"),
    "tones": ("tones", "Fennmoor:FM017"),
    "kit": ("kit", "--size", "6", "--list", LESSON),
    "translate": ("translate", LESSON, "--no-layers"),
    "translate_range": ("translate", LESSON, "--range", "Brindlewick"),
    "class": ("translate", LESSON, "--box", "Quillet", "--box", OWNED, "--no-layers"),
    "table": ("table", "--from", "Quillet", "--to", "Fennmoor"),
    "blend": ("blend", "Fennmoor:FM049", "Fennmoor:FM112"),
    "gaps": ("gaps", BLENDS, "--no-layers"),
    "shop": ("shop", "--blends", BLENDS, "--list", LESSON, "--no-layers", "--budget", "20"),
    "shop_for": ("shop", "--for", "Brindlewick:BW03", "--no-layers"),
    "restock": ("shop", "--restock", "--list", LESSON),
}


def planned(answer, schema):
    """Every pencil that an answer lays, buys or offers, but not those it was asked about."""
    waiting, found = [answer], []
    while waiting:
        one = waiting.pop()
        if isinstance(one, list):
            waiting += one
        elif isinstance(one, dict):
            if {"range", "code", "lightfastness"} <= one.keys():
                found.append(one)
                continue
            asked = ("swatch",) if schema == "stopgap.table/1" else ()
            waiting += [each for key, each in one.items() if key not in (*ASKED_ABOUT, *asked)]
    return found


@pytest.mark.parametrize("name", PLANS)
def test_no_command_plans_with_less(demo, name):
    status, out, error = demo(*PLANS[name], "--for-sale", "--json")
    assert status in (0, 3), error
    answer = json.loads(out)
    pencils = planned(answer, answer["schema"])
    assert pencils
    for one in pencils:
        scale, grade = one["lightfastness"].split()
        assert grade in (("I", "II") if scale == "ASTM" else ("6", "7", "8")), one
    if "notes" in answer:
        assert any("Only pencils rated ASTM II or BWS 6" in note for note in answer["notes"])


def test_the_rule_stands_in_the_settings_and_gives_way_to_the_line(demo, tmp_path, monkeypatch):
    monkeypatch.setenv("STOPGAP_CONFIG", str(tmp_path / "config.toml"))
    ask = ("match", "Fennmoor:FM017", "--no-layers", "--limit", "300", "--json")

    def ratings(*more):
        rows = json.loads(demo(*ask, *more)[1])["matches"]
        return {row["swatch"]["lightfastness"] for row in rows}

    everything = ratings()
    assert None in everything
    assert "ASTM V" in everything
    assert ratings("--for-sale") == {"ASTM I", "ASTM II", "BWS 6", "BWS 7", "BWS 8"}
    assert ratings("--min-lightfastness", "BWS 8") == {"BWS 8"}
    assert ratings("--for-sale", "--min-lightfastness", "BWS 8") == {"ASTM I", "ASTM II", "BWS 8"}
    both = ("--min-lightfastness", "BWS 8", "--min-lightfastness", "ASTM I")
    assert ratings(*both) == {"ASTM I", "BWS 8"}
    assert demo("settings", "for-sale", "ASTM I", "BWS 7")[0] == 0
    assert ratings() == ratings("--for-sale") == {"ASTM I", "BWS 7", "BWS 8"}
    assert ratings("--not-for-sale") == everything
    assert demo("settings", "for-sale", "yes")[0] == 0
    assert ratings() == {"ASTM I", "ASTM II", "BWS 6", "BWS 7", "BWS 8"}
    twice = demo(*ask, "--min-lightfastness", "BWS 8", "--min-lightfastness", "BWS 6")
    assert (twice[0], "one rating for each scale" in twice[2]) == (2, True)
    assert demo("settings", "for-sale", "gold")[0] == 1


def test_every_pencil_is_shown_with_its_rating(demo):
    _, out, _ = demo("table", "--from", "Quillet", "--to", "Fennmoor", "--csv")
    data = json.loads(demo("table", "--from", "Quillet", "--to", "Fennmoor", "--json")[1])
    (table,) = data["tables"]
    for cells, row in zip(csv.DictReader(io.StringIO(out)), table["rows"], strict=True):
        for key, name in (("", "swatch"), ("given_", "best"), ("second_", "second")):
            pencil = row[name]
            assert cells[f"{key}lightfastness"] == (pencil["lightfastness"] or "")
    shown = " ".join(demo("match", "Quillet:Q8", "--no-layers")[1].split())
    for match in json.loads(demo("match", "Quillet:Q8", "--no-layers", "--json")[1])["matches"]:
        pencil = match["swatch"]
        rated = pencil["lightfastness"] or "–"
        assert f"{pencil['range']}:{pencil['code']} {pencil['name']} · {rated}" in shown


def test_a_kept_pencil_that_is_rated_less_is_refused(demo):
    status, _, error = demo("kit", "--size", "3", "--keep", "Fennmoor:FM049", "--for-sale")
    assert status == 2
    assert "--keep" in error
    assert "Fennmoor:FM049 is rated" in error


def test_marks_of_a_maker_s_own_come_through_a_library(stopgap_run, tmp_path):
    file = tmp_path / "stars.csv"
    file.write_text(
        "code,L,a,b,lightfastness,lightfastness_scale\n1,50,0,0,★★☆,OWN\n2,52,0,0,1 of 3,\n"
        "3,54,0,0,VII,OWN\n",
        encoding="utf-8",
    )
    assert stopgap_run("range", "import", file, "--name", "Bad", "--strict")[0] == 1
    file.write_text(file.read_text(encoding="utf-8").replace("VII", "3 of 3"), encoding="utf-8")
    assert stopgap_run("range", "import", file, "--name", "Stars", "--strict")[0] == 0
    answer = json.loads(stopgap_run("match", "Stars:1", "--json", "--no-layers")[1])
    assert answer["target"]["lightfastness"] == "own marks, 2 of 3"
    cautions = {row["swatch"]["code"]: row["cautions"] for row in answer["matches"]}
    assert cautions["3"] == []
    assert "less lightfast: own marks, 1 of 3" in cautions["2"][0]


def test_bare_stars_are_marks_of_a_maker_s_own(stopgap_run, tmp_path):
    """Of how many they are nobody says: they compare within their range, and with nothing else."""
    file = tmp_path / "stars.csv"
    rows = ["1,50,0,0,***", "2,52,0,0,*", "3,54,0,0,★★★", "4,56,0,0,2 of 3"]
    file.write_text("\n".join(["code,L,a,b,lightfastness", *rows]) + "\n", encoding="utf-8")
    assert stopgap_run("range", "import", file, "--name", "Stars", "--strict")[0] == 0
    file.write_text("code,L,a,b,lightfastness\n1,51,0,0,*\n", encoding="utf-8")
    assert stopgap_run("range", "import", file, "--name", "Others", "--strict")[0] == 0
    answer = json.loads(stopgap_run("match", "Stars:1", "--json", "--no-layers")[1])
    assert answer["target"]["lightfastness"] == "own marks, ***"
    cautions = {
        f"{row['swatch']['range']}:{row['swatch']['code']}": " ".join(row["cautions"])
        for row in answer["matches"]
    }
    assert "less lightfast: own marks, *" in cautions["Stars:2"]
    assert "less lightfast" not in "".join(cautions[one] for one in cautions if one != "Stars:2")
    out = tmp_path / "again.csv"
    assert stopgap_run("range", "export", "Stars", out)[0] == 0
    assert "***,OWN" in out.read_text(encoding="utf-8")
    assert (
        Lightfastness.parse("own marks, **") == Lightfastness.parse("++") == Lightfastness(OWN, 2)
    )


RATINGS = st.one_of(
    st.none(),
    st.builds(Lightfastness, st.just(ASTM), st.integers(1, 5)),
    st.builds(Lightfastness, st.just(BWS), st.integers(1, 8)),
    st.builds(Lightfastness, st.just(OWN), st.integers(1, 3), st.sampled_from((0, 3))),
)
BOXES = st.lists(
    st.builds(
        Swatch,
        range=st.just("R"),
        code=st.just(""),
        lab=st.tuples(st.integers(15, 90), st.integers(-40, 40), st.integers(-40, 40)),
        owned=st.booleans(),
        lightfastness=RATINGS,
        price=st.just(2.0),
    ),
    min_size=4,
    max_size=7,
    unique_by=lambda swatch: swatch.lab,
).map(lambda box: [replace(one, code=str(place)) for place, one in enumerate(box)])
RULES = st.sampled_from([rule_of(*defaults.FOR_SALE), rule_of("ASTM III"), rule_of("BWS 4")])


def laid_in(plan):
    """Every pencil that a plan holds, wherever."""
    if isinstance(plan, Swatch):
        return [plan]
    if isinstance(plan, Stack):
        return list(plan.swatches)
    if isinstance(plan, list | tuple):
        return [pencil for one in plan for pencil in laid_in(one)]
    return []


def points(blends):
    return [point.laid.stack for one in blends for point in one.points if point.laid is not None]


CONDITIONS = estimated_conditions()


def stand_ins(box, selection):
    question = LayerQuestion.among(box, selection, CONDITIONS, always=True)
    wide = selection._replace(owned=False)
    found = find_stand_ins(box[0], box, selection=wide, layering=question)
    return [*(one.swatch for one in found.matches), *(one.stack for one in found.layers)]


def translation(box, selection):
    listed = [Listed("", 1, box[0].address), Listed("", 2, "#808080")]
    found = translate_list(listed, box, selection=selection, layers=CONDITIONS)
    return [row.given.stack for row in found.rows if row.given]


def blended(box, selection):
    at_hand = look_at_hand(box, selection, layers=CONDITIONS)
    return points([find_blend(at_hand, box[0].address, box[1].address)])


def gaps(box, selection):
    found = gaps_at_hand(look_at_hand(box, selection))
    return [*points(found.blends), *(gap.closing for gap in found.gaps)]


def bought(box, selection):
    needs = needs_of(box, shades=[box[0].address, "lab(50 30 0)"], tolerance=15.0)
    terms = Terms(partial=True)
    found = plan_purchase(needs, box, selection=selection._replace(owned=False), terms=terms)
    return [one.swatch for one in found.buy]


def restocked(box, selection):
    called = frozenset(one.address for one in box)
    found = running_out([CalledOn("", box, called)], selection=selection)
    return [each for row in found.rows for each in (row.swatch, *(i.swatch for i in row.stand_ins))]


def packed(box, selection):
    candidates, _ = to_take(selection, box)
    return pack_kit(reach_of(candidates), candidates, 2).pencils


def shaded(box, selection):
    found = find_tones(box[0], to_take(selection, box)[0], 3, conditions=CONDITIONS)
    return [tone.given.stack for tone in found.tones]


def found_once():
    """Of whose recipes none can go elsewhere: there was nothing to recover, and no plan."""
    labs = ((17, 8, 29), (25, 4, 34), (43, -25, 12), (34, 22, -21))
    ratings = (Lightfastness(BWS, 8), None, Lightfastness(OWN, 1, 3), None)
    return [
        Swatch("R", str(place), lab, owned=place != 2, lightfastness=rating, price=2.0)
        for place, (lab, rating) in enumerate(zip(labs, ratings, strict=True))
    ]


@settings(max_examples=20, deadline=None)
@example(found_once(), rule_of("BWS 4"))
@given(BOXES, RULES)
def test_nothing_below_the_rule_is_in_any_plan(box, rule):
    selection = Selection(owned=True, lightfast=rule)
    for plan in (stand_ins, translation, blended, gaps, bought, restocked, packed, shaded):
        try:
            held = laid_in(plan(box, selection))
        except NothingFoundError:
            continue
        for pencil in held:
            assert pencil.lightfastness is not None, plan
            assert any(pencil.lightfastness.is_at_least(least) for least in rule), plan


def test_what_the_rule_leaves_out_is_counted_in_good_english():
    rule = Selection(lightfast=(Lightfastness(ASTM, 2),))
    weak = [
        Swatch("R", code, (50.0, 0.0, 0.0), lightfastness=Lightfastness(ASTM, 4)) for code in "12"
    ]
    for many, said in ((1, ": 1 is rated lower"), (2, ": 2 are rated lower")):
        (note,) = rule.rule_notes(weak[:many])
        assert said in note.text
