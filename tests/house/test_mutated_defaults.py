"""No copy of a default is left: whoever sets the one constant to another value sets it everywhere.

All constants are changed in a fresh interpreter before anything reads them. Then every option that
took an old value takes the new one, its help says so, every function agrees, and the answers of the
commands follow.
"""

import json
import os
import subprocess
import sys
from pathlib import Path

import pytest

from stopgap import defaults

pytestmark = pytest.mark.slow

CHILD = Path(__file__).with_name("mutated.py")

MUTATIONS = {
    "METRIC": "CIE 1976",
    "STEP": 14.5,
    "PATH": "straight",
    "PREFER": "smoothest",
    "TOLERANCE": 4.25,
    "LIGHTER": 4.5,
    "STAND_INS": 4,
    "HOLES": 7,
    "TONES": 6,
    "MAIN_COLOURS": 11,
    "PENCILS_BELOW": 3,
    "POCKET_STAND_INS": 6,
    "POCKET_RECIPES": 1,
    "POCKET_TITLE": "Another title",
    "PRICE": 7.75,
    "FOR_SALE": ["BWS 5"],
    "TIME_LIMIT": 45.5,
    "JOBS": 2,
    "CHART_PAPER": "Letter",
    "ADAPTATION": "CAT16",
    "LAMPS": {"A": "Bulb"},
}
"""Every default, and a value that it may have as well."""

NAMED = {
    "METRIC": {"metric"},
    "STEP": {"step", "limit"},
    "PATH": {"path", "kind"},
    "PREFER": {"prefer"},
    "TOLERANCE": {"tolerance", "radius"},
    "LIGHTER": {"tolerance"},
    "STAND_INS": {"limit", "count", "n_neighbors"},
    "HOLES": {"limit"},
    "TONES": {"count"},
    "MAIN_COLOURS": {"colours", "count"},
    "PENCILS_BELOW": {"below"},
    "POCKET_STAND_INS": {"limit"},
    "POCKET_RECIPES": {"limit"},
    "POCKET_TITLE": {"title"},
    "PRICE": {"price", "default_price"},
    "FOR_SALE": set(),
    "TIME_LIMIT": {"time_limit"},
    "JOBS": {"jobs"},
    "CHART_PAPER": {"paper", "sheet_size", "size"},
    "ADAPTATION": {"adaptation"},
    "LAMPS": set(),
}
"""What options and arguments that take a default are called."""

NO_OPTION = {"LAMPS", "LIGHTER", "PENCILS_BELOW", "POCKET_STAND_INS", "POCKET_RECIPES", "FOR_SALE"}
"""Defaults that nobody can change on the command line."""

ANOTHER_IDEA = {"best_recipes limit", "search limit", "LayerQuestion limit"}
ANOTHER_IDEA |= {"nearest_spellings limit"}
"""Arguments that bear the name of another one and happen to have the same value."""


def look(library, folder, values):
    """What a fresh interpreter finds after the constants were set to `values`.

    Its recipes are kept apart: they hang on constants as well as on the numbers they are kept by.
    """
    copy, out = folder / "library.sqlite", folder / "found.json"
    copy.write_bytes(library.read_bytes())
    words = [json.dumps(values), str(copy), str(out)]
    done = subprocess.run(
        [sys.executable, str(CHILD), *words],
        capture_output=True,
        text=True,
        cwd=folder,
        env={**os.environ, "STOPGAP_CACHE": str(folder / "cache")},
    )
    assert done.returncode == 0, done.stderr
    return json.loads(out.read_text(encoding="utf-8"))


@pytest.fixture(scope="module")
def before(demo_library, tmp_path_factory):
    return look(demo_library, tmp_path_factory.mktemp("before"), {})


@pytest.fixture(scope="module")
def after(demo_library, tmp_path_factory):
    return look(demo_library, tmp_path_factory.mktemp("after"), MUTATIONS)


def test_every_default_is_tried():
    constants = {name for name in vars(defaults) if name.isupper()}
    assert constants - {"GRADES", "DEFAULT_METRIC", "STEPS"} == set(MUTATIONS)  # tables of words


def changed(before, after, kind):
    """Where a value is another one: place -> (old, new)."""
    return {
        place: (old, after[kind][place])
        for place, old in before[kind].items()
        if after[kind][place] != old
    }


@pytest.mark.parametrize("kind", ["options", "arguments"])
def test_nothing_else_changes(kind, before, after):
    pairs = [(getattr(defaults, name), new) for name, new in MUTATIONS.items()]
    assert all(pair in pairs for pair in changed(before, after, kind).values())


@pytest.mark.parametrize("name", MUTATIONS)
@pytest.mark.parametrize("kind", ["options", "arguments"])
def test_no_copy_of_a_default_is_left(name, kind, before, after):
    old, new = getattr(defaults, name), MUTATIONS[name]
    found = changed(before, after, kind)
    names = {place.split()[-1] for place, pair in found.items() if pair == (old, new)}
    assert names <= NAMED[name]
    assert names or kind == "arguments" or name in NO_OPTION
    left = {
        place
        for place, value in after[kind].items()
        if place.split()[-1] in NAMED[name]
        and (value, type(value)) == (old, type(old))
        and place.rpartition(".")[-1] not in ANOTHER_IDEA
    }
    assert not left


def test_help_says_the_default(before, after):
    for place, (old, new) in changed(before, after, "options").items():
        path = place.rpartition(" ")[0]
        assert f"default: {old}" in before["helps"][path], place
        assert f"default: {new}" in after["helps"][path], place
    assert any("rated BWS 5 at least" in " ".join(text.split()) for text in after["helps"].values())


def test_answers_follow(after):
    """Each value is found where the answer has it; some blends of the file have their own."""
    answers = [json.loads(text) for text in after["answers"]]
    match, layered, blend, gaps, shop, colours, priceless, page = answers
    assert match["metric"] == MUTATIONS["METRIC"]
    assert len(match["matches"]) == MUTATIONS["STAND_INS"]
    assert layered["layers_first"]
    assert len(layered["matches"]) == MUTATIONS["PENCILS_BELOW"]
    limits = {MUTATIONS["STEP"], 12.0, 10.0}
    assert blend["limit"] == MUTATIONS["STEP"]
    assert {gap["limit"] for gap in gaps["gaps"]} == limits
    assert {need["before"]["limit"] for need in shop["needs"]} == limits
    laid = [need["before"] for need in colours["needs"] if need["before"]]
    assert {state["limit"] for state in laid} == {MUTATIONS["TOLERANCE"]}
    assert [one["price"] for one in priceless["buy"]] == [MUTATIONS["PRICE"]]
    for name, place in (("POCKET_STAND_INS", 1), ("POCKET_RECIPES", 2)):  # after those owned
        assert max(len(answer[place]) for answer in page["answers"]) == MUTATIONS[name]
