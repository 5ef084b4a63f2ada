"""Layers on the command line: recipes beside stand-ins, a stack's colour, what is learnt."""

import csv
import io
import json

import numpy as np
import pytest

from stopgap.cli.ask.demo import datasets
from stopgap.difference import GRADES, Promise, delta_E, grade

pytestmark = pytest.mark.slow


def recipes(demo, *arguments):
    status, out, error = demo("match", *arguments, "--json")
    assert (status, error) == (0, "")
    return json.loads(out)["layers"]


def test_a_recipe_has_the_documented_fields(demo):
    found = recipes(demo, "Fennmoor:FM055")
    assert found
    first = found[0]
    assert {"first", "second", "lab", "delta_E", "interval", "grade", "likely_grade"} <= set(first)
    assert set(first["first"]) == set(first["second"]) == {"swatch", "pressure"}
    assert first["interval"][0] <= first["delta_E"] <= first["interval"][1]
    words = list(GRADES)
    promised = [(words.index(one["grade"]), one["delta_E"]) for one in found]
    assert promised == sorted(promised)
    for one in found:
        assert one["grade"] == grade(one["interval"][1])
        assert one["likely_grade"] == grade(one["delta_E"])
        said = Promise(one["delta_E"], one["interval"][1])
        assert one["grade_probability"] == pytest.approx(said.grade_probability)
        assert one["likely_probability"] == pytest.approx(said.likely_probability)
    assert all(recipe["first"]["swatch"]["owned"] for recipe in found)
    pairs = [
        frozenset(r[layer]["swatch"]["code"] for layer in ("first", "second") if r[layer])
        for r in found
    ]
    assert len(set(pairs)) == len(pairs)


def test_recipes_are_offered_only_where_they_are_better(demo):
    # Fennmoor:FM031 has a twin in another range
    assert recipes(demo, "Fennmoor:FM031") == []
    assert recipes(demo, "Fennmoor:FM031", "--layers")
    assert recipes(demo, "Fennmoor:FM055", "--no-layers") == []


def test_the_best_answer_stands_first(demo):
    _, out, _ = demo("match", "Fennmoor:FM055")
    assert out.index("Layered") < out.index("Pencils alone") < out.index("Fennmoor:FM060")
    assert "perhaps close, 1 in" in out
    # a heavy layer beneath would come nearer still, if it held
    assert "perhaps very close, 1 in" in demo("match", "Fennmoor:FM055", "--heavy-first")[1]
    # no recipe promises more than the nearest pencil, 8.6 away
    _, out, _ = demo("match", "#7f9a8c", "--owned")
    assert out.index("stand-in, and how") < out.index("Layered")
    assert "Pencils alone" not in out


def test_fewer_pencils_stand_below_recipes_unless_a_limit_is_given(demo):
    def shown(*arguments):
        _, out, _ = demo("match", "Fennmoor:FM055", *arguments, "--json")
        answer = json.loads(out)
        assert answer["layers_first"] == bool(answer["layers"])
        return [match["swatch"]["code"] for match in answer["matches"]]

    assert len(shown("--no-layers")) == 5
    every = shown("--limit", "5")
    assert shown() == every[:2]
    assert shown("--limit", "1") == every[:1]
    assert shown("--limit", "4") == every[:4]


def test_a_pale_shade_is_a_deep_one_laid_lightly(demo):
    # the shade is made from the pigment of a deeper, owned one (datasets/README.md)
    # white over the deep one would tint it as well, and come in as near
    assert demo("disown", "Fennmoor:FM113", "Quillet:Q45")[0] == 0
    found = recipes(demo, "Fennmoor:FM079")
    single = [recipe for recipe in found if recipe["second"] is None]
    assert single
    assert single[0]["first"]["pressure"] == "light"


def test_the_target_is_never_layered(demo):
    assert demo("own", "Fennmoor:FM055")[0] == 0
    for recipe in recipes(demo, "Fennmoor:FM055", "--layers"):
        assert recipe["first"]["swatch"]["code"] != "FM055"


def test_within_may_leave_only_recipes(demo):
    status, out, _ = demo("match", "Fennmoor:FM055", "--within", "4", "--json")
    answer = json.loads(out)
    assert (status, answer["matches"]) == (0, [])
    assert answer["layers"]
    assert demo("match", "Fennmoor:FM055", "--within", "4", "--no-layers")[0] == 3


def test_layer_shows_a_stack(demo):
    # common practice, no source: yellow under red looks orange
    status, out, _ = demo("layer", "Fennmoor:FM003", "Fennmoor:FM013", "--json")
    answer = json.loads(out)
    hue = np.degrees(np.arctan2(answer["lab"][2], answer["lab"][1]))
    assert status == 0
    assert 40 < hue < 75
    assert answer["interval"][1] > 0
    _, text, _ = demo("layer", "Fennmoor:FM003", "Fennmoor:FM013", "Fennmoor:FM034")
    assert "try it on a scrap" in text
    assert max(map(len, text.splitlines())) <= 80


def test_how_hard_a_layer_is_laid_may_stand_behind_its_name(demo):
    told = demo("layer", "Fennmoor:FM003", "Fennmoor:FM013", "--pressure", "light")
    assert demo("layer", "Fennmoor:FM003 light", "Fennmoor:FM013 heavy") == told
    assert demo("layer", "Fennmoor:FM003 medium", "Fennmoor:FM013", "--pressure", "light") == told
    assert demo("layer", "Fennmoor:FM003", "Fennmoor:FM013") != told


def test_dark_paper_needs_an_opaque_pencil(demo):
    _, out, _ = demo(
        "layer", "Fennmoor:FM034", "Fennmoor:FM001", "--paper-colour", "lab(30 0 0)", "--json"
    )
    answer = json.loads(out)
    assert any("opaque" in note for note in answer["notes"])
    assert answer["interval"][1] > 15
    demo("swatch", "edit", "Fennmoor", "FM001", "--opacity", "transparent")
    _, out, _ = demo(
        "layer", "Fennmoor:FM034", "Fennmoor:FM001", "--paper-colour", "lab(30 0 0)", "--json"
    )
    told = json.loads(out)
    assert told["interval"][1] < answer["interval"][1]
    assert told["lab"][0] < answer["lab"][0]


def held_out(demo, *options):
    """ΔE00 between predicted and made colours of pairs that nothing was learnt from."""
    with (datasets() / "layered_held_out.csv").open(newline="") as stream:
        rows = list(csv.DictReader(stream))[::2]
    off = []
    for row in rows:
        _, out, _ = demo(
            "layer",
            row["first"],
            row["second"],
            "--pressure",
            row["first_pressure"],
            "--pressure",
            row["second_pressure"],
            "--json",
            *options,
        )
        made = [float(row[name]) for name in ("L", "a", "b")]
        off.append(float(delta_E(json.loads(out)["lab"], made)))
    return np.array(off)


PAPER = ("--paper-colour", "lab(96.15 -0.11 2.09)")


def test_six_layered_swatches_help_with_pairs_they_do_not_hold(demo):
    """The demo's samples come from another model (Kubelka-Munk films of partial coverage)."""
    before = held_out(demo, *PAPER)
    status, out, _ = demo("calibrate", datasets() / "layered.csv", *PAPER, "--json")
    answer = json.loads(out)
    assert status == 0
    assert np.mean(answer["after"]) < np.mean(answer["before"])
    after = held_out(demo)
    assert after.mean() < 0.75 * before.mean()
    assert demo("undo")[0] == 0
    np.testing.assert_array_equal(held_out(demo, *PAPER), before)


def test_calibration_is_kept_shown_and_forgotten(demo):
    _, out, _ = demo("calibrate", datasets() / "layered.csv", *PAPER, "--figures")
    assert "before" in out
    assert "Learnt from 6" in demo("layer", "FM003", "FM013")[1]
    assert demo("calibrate", "--forget")[0] == 0
    assert "Estimated" in demo("layer", "FM003", "FM013")[1]
    assert demo("calibrate", "--forget")[0] == 3


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("first,first_pressure,L,a,b\nFM003,heavy,80,0,60\n", "too few"),
        ("first,L,a,b\nFM003,80,0,60\n", "first_pressure"),
        ("first,first_pressure\nFM003,heavy\n", "no colour. Expected columns L, a, b"),
        ("first,first_pressure,hex\nFM003,heavy,\n", "row 2, column colour"),
        ("first,first_pressure,L,a,b\n", "one row for each layered swatch"),
        (
            "first,second,first_pressure,second_pressure,L,a,b\n"
            "FM003,NoSuch,heavy,hard,80,0,60\nFM003,FM013,heavy,heavy,x,0,60\n",
            "row 2, column second_pressure",
        ),
    ],
)
def test_samples_that_teach_nothing_change_nothing(demo, tmp_path, text, says):
    path = tmp_path / "samples.csv"
    path.write_text(text)
    status, out, error = demo("calibrate", path)
    assert (status, out) == (1, "")
    assert says in error
    assert "Estimated" in demo("layer", "FM003", "FM013")[1]


def learnt(run, *arguments):
    status, out, error = run("calibrate", *arguments, *PAPER, "--json")
    assert status == 0, error
    return json.loads(out)


def test_samples_in_hex_or_for_another_white_teach_what_their_lab_does(demo, tmp_path):
    from coloraide import Color

    with (datasets() / "layered.csv").open(newline="") as stream:
        rows = list(csv.DictReader(stream))
    kinds = {kind: [] for kind in ("lab", "hex", "of_hex", "xyz")}
    for row in rows:
        laid = {title: cell for title, cell in row.items() if title not in "Lab"}
        # coloraide: CSS Color 4, CIELAB D50, sRGB and XYZ of D65, adapted by Bradford
        color = Color(f"lab({row['L']} {row['a']} {row['b']})")
        digits = color.convert("srgb").fit(method="clip").to_string(hex=True)
        of_hex = Color(digits).convert("lab").coords()
        XYZ = [100 * value for value in color.convert("xyz-d65").coords()]
        kinds["lab"].append(row)
        kinds["hex"].append(laid | {"hex": digits})
        kinds["of_hex"].append(laid | dict(zip("Lab", of_hex)))
        kinds["xyz"].append(laid | dict(zip("XYZ", XYZ)))
    found = {}
    for kind, lines in kinds.items():
        path = tmp_path / f"{kind}.csv"
        with path.open("w", newline="") as stream:
            writer = csv.DictWriter(stream, list(lines[0]))
            writer.writeheader()
            writer.writerows(lines)
        white = ("--white", "D65", "--observer", "2") if kind == "xyz" else ()
        found[kind] = learnt(demo, path, *white)
    for one, other in (("hex", "of_hex"), ("xyz", "lab")):
        for field in ("before", "after", "tooth"):
            np.testing.assert_allclose(found[one][field], found[other][field], atol=0.05)
    assert not np.allclose(learnt(demo, tmp_path / "xyz.csv")["before"], found["xyz"]["before"])


def test_contradictory_samples_are_refused(demo, tmp_path):
    path = tmp_path / "samples.csv"
    row = "FM003,FM013,heavy,heavy"
    path.write_text(
        "first,second,first_pressure,second_pressure,L,a,b\n"
        f"{row},50,50,50\n{row},80,0,10\nFM003,FM034,heavy,light,50,-20,10\n"
    )
    status, _, error = demo("calibrate", path)
    assert status == 1
    assert "same layers" in error


def test_nothing_owned_is_said(stopgap_run, tmp_path):
    path = tmp_path / "range.csv"
    path.write_text("code,L,a,b\n1,50,0,0\n2,60,20,0\n")
    stopgap_run("range", "import", path, "--name", "Fen")
    status, out, _ = stopgap_run("match", "Fen:1", "--layers", "--json")
    answer = json.loads(out)
    assert (status, answer["layers"]) == (0, [])
    assert any("own" in note for note in answer["notes"])


@pytest.mark.parametrize(
    "arguments",
    [
        ("layer", "FM003", "FM013", "--pressure", "hard"),
        ("layer",),
        ("layer", "FM003", "FM013", *["--pressure", "light"] * 3),
        ("layer", "FM003", "FM013", "--grain", "white"),
        ("calibrate",),
        ("calibrate", "--forget", "--white", "D65"),
        ("match", "FM003", "--grain", "wet"),
    ],
    ids=" ".join,
)
def test_misuse(demo, arguments):
    status, out, error = demo(*arguments)
    assert (status, out) == (2, "")
    assert "Traceback" not in error


def test_recipes_of_many_pencils_are_kept_in_the_cache_folder(demo, tmp_path, monkeypatch):
    folder = tmp_path / "cache"
    monkeypatch.setenv("STOPGAP_CACHE", str(folder))
    asked = ("match", "lab(52 30 20)", "--layers", "--layer-with", "any", "--json")
    first = demo(*asked)
    (file,) = folder.rglob("*.recipes")
    assert not list(demo.library.parent.glob("library.sqlite.*"))
    assert first[0] == 0
    assert demo(*asked) == first
    file.write_bytes(file.read_bytes()[:1000])
    assert demo(*asked) == first
    demo("range", "remove", "Quillet")
    demo(*asked)
    assert len(list(folder.rglob("*.recipes"))) == 2


@pytest.mark.parametrize(
    ("grain", "earlier"), [("fine", "smooth"), ("Medium", "drawing"), ("rough", "Rough")]
)
def test_grain_is_the_tooth_that_paper_was_the_option_of(demo, grain, earlier):
    asked = ("layer", "FM003", "FM013", "--pressure", "light", "--json")
    new, old = demo(*asked, "--grain", grain), demo(*asked, "--paper", earlier)
    assert new == old == demo(*asked, "--grain", earlier)
    assert new[0] == 0


def stacks_in(answer):
    """Pressures of every recipe of an answer in JSON, the first laid first."""
    if isinstance(answer, dict):
        if {"first", "second"} <= answer.keys():
            yield [one["pressure"] for one in (answer["first"], answer["second"]) if one]
        if isinstance(layers := answer.get("layers"), list) and layers and "pressure" in layers[0]:
            yield [one["pressure"] for one in layers]
        answer = list(answer.values())
    if isinstance(answer, list):
        for part in answer:
            yield from stacks_in(part)


@pytest.mark.parametrize(
    "words",
    [
        ["match", "Fennmoor:FM055"],
        ["translate", datasets() / "lesson.csv", "--layers"],
        ["shop", "--for", "Fennmoor:FM055"],
        ["blend", "Fennmoor:FM003", "Fennmoor:FM013"],
    ],
    ids=lambda words: words[0],
)
def test_first_passes_are_light_or_medium_whatever_is_asked_unless_heavy_ones_are_allowed(
    words, demo
):
    pairs = {}
    for heavy in ([], ["--heavy-first"]):
        _, out, _ = demo(*words, "--json", *heavy)
        pairs[bool(heavy)] = [laid for laid in stacks_in(json.loads(out)) if len(laid) > 1]
    assert pairs[False]
    assert all(laid[0] != "heavy" for laid in pairs[False])
    if words[0] != "blend":
        assert any(laid[0] == "heavy" for laid in pairs[True])


def test_layers_that_are_asked_for_stay_as_asked(demo):
    _, out, _ = demo("layer", "Fennmoor:FM003", "Fennmoor:FM013", "--json")
    answer = json.loads(out)
    assert list(stacks_in(answer)) == [["heavy", "heavy"]]
    assert any("laid heavy burnishes" in note for note in answer["notes"])


def test_what_lies_there_is_a_ground(demo):
    lying = ("--over", "Fennmoor:FM003 medium", "--over", "Fennmoor:FM013 LIGHT")
    status, out, _ = demo("match", "lab(45 20 20)", *lying, "--json")
    answer = json.loads(out)
    over = answer["over"]
    assert (status, answer["matches"], answer["layers_first"]) == (0, [], True)
    assert [one["pressure"] for one in over["layers"]] == ["medium", "light"]
    asked = ("Fennmoor:FM003", "Fennmoor:FM013", "--pressure", "medium", "--pressure", "light")
    laid = json.loads(demo("layer", *asked, "--json")[1])
    assert over["lab"] == laid["lab"]
    assert len(over["pencils"]) == 2
    assert all(one["second"] is None for one in over["pencils"])
    assert all(recipe["first"]["swatch"]["owned"] for recipe in answer["layers"])
    _, table, _ = demo("match", "lab(45 20 20)", *lying, "--csv")
    rows = list(csv.DictReader(io.StringIO(table)))
    assert len(rows) == len(answer["layers"]) + 2
    assert rows[0]["first"] == "{range}:{code}".format(**answer["layers"][0]["first"]["swatch"])
    _, text, _ = demo("match", "lab(45 20 20)", *lying)
    assert text.index("Over what lies there") < text.index("Lay over it") < text.index("One pencil")
    assert max(map(len, text.splitlines())) <= 80
    assert json.loads(demo("match", "Fennmoor:FM055", "--json")[1])["over"] is None


@pytest.mark.parametrize(
    ("words", "status", "sentence"),
    [
        (["--over", "Fennmoor:FM003 hard"], 1, "No swatch is called 'Fennmoor:FM003 hard'"),
        (["--over", "Fennmoor:FM003", "--within", "0.01"], 3, "No candidate lies within"),
        (["--over", "Fennmoor:FM003", "--metric", "HyAB", "--cautious"], 2, "--cautious"),
    ],
)
def test_a_ground_that_cannot_be_is_told(words, status, sentence, demo):
    found, out, error = demo("match", "lab(45 20 20)", *words)
    assert (found, out) == (status, "")
    assert sentence in error
