"""No copy of a default is left: whoever sets the one constant to another value sets it everywhere.

Each constant is changed in an interpreter of its own before anything reads it. Then every option
that took the old value takes the new one, its help says so, every function agrees, and the answers
of the commands follow.
"""

import json
import subprocess
import sys
from pathlib import Path

import pytest

from stopgap import defaults

CHILD = Path(__file__).with_name("mutated.py")

MUTATIONS = {
    "METRIC": "CIE 1976",
    "STEP": 14.5,
    "TOLERANCE": 4.25,
    "STAND_INS": 4,
    "POCKET_STAND_INS": 2,
    "POCKET_RECIPES": 1,
    "POCKET_TITLE": "Another title",
    "PRICE": 7.75,
    "TIME_LIMIT": 45.5,
    "JOBS": 2,
    "CHART_PAPER": "Letter",
    "ADAPTATION": "CAT16",
}
"""Every default, and a value that it may have as well."""

NO_OPTION = {"POCKET_STAND_INS", "POCKET_RECIPES"}
"""Defaults that nobody can change on the command line."""

ANOTHER_IDEA = {"best_recipes limit", "search limit", "LayerQuestion limit"}
ANOTHER_IDEA |= {"nearest_spellings limit"}
"""Arguments that bear the name of another one and happen to have the same value."""


@pytest.fixture(scope="module")
def looked(demo_library, tmp_path_factory):
    """Ask a fresh interpreter: the name of a constant and its value -> what `look` found."""
    known = {}

    def ask(name, value):
        if (name, value) not in known:
            folder = tmp_path_factory.mktemp("defaults")
            library = folder / "library.sqlite"
            library.write_bytes(demo_library.read_bytes())
            words = [name, json.dumps(value), str(library), str(folder / "found.json")]
            done = subprocess.run(
                [sys.executable, str(CHILD), *words], capture_output=True, text=True, cwd=folder
            )
            assert done.returncode == 0, done.stderr
            known[name, value] = json.loads((folder / "found.json").read_text(encoding="utf-8"))
        return known[name, value]

    return ask


def test_every_default_is_tried():
    constants = {name for name in vars(defaults) if name.isupper()}
    assert constants - {"GRADES", "DEFAULT_METRIC"} == set(MUTATIONS)


@pytest.mark.parametrize("name", MUTATIONS)
def test_no_copy_of_a_default_is_left(name, looked):
    old, new = getattr(defaults, name), MUTATIONS[name]
    before, after = looked("METRIC", defaults.METRIC), looked(name, new)
    for kind in ("options", "arguments"):
        values = after[kind]
        changed = {place for place, value in before[kind].items() if values[place] != value}
        assert all((before[kind][place], values[place]) == (old, new) for place in changed)
        names = {place.split()[-1] for place in changed}
        left = {
            place
            for place, value in values.items()
            if place.split()[-1] in names
            and (value, type(value)) == (old, type(old))
            and place.rpartition(".")[-1] not in ANOTHER_IDEA
        }
        assert not left


@pytest.mark.parametrize("name", sorted(set(MUTATIONS) - NO_OPTION))
def test_help_says_the_default(name, looked):
    before, after = looked("METRIC", defaults.METRIC), looked(name, MUTATIONS[name])
    changed = {
        place for place, value in before["options"].items() if after["options"][place] != value
    }
    assert changed
    for path in {place.rpartition(" ")[0] for place in changed}:
        assert f"default: {MUTATIONS[name]}" in after["helps"][path], path
        assert before["helps"][path] != after["helps"][path]


def test_answers_follow(looked):
    """Each value is found where the answer has it."""
    (match,) = answers(looked, "METRIC")
    assert match["metric"] == MUTATIONS["METRIC"]
    blend, gaps, shop = answers(looked, "STEP")
    in_the_file = {12.0, 10.0}
    assert blend["limit"] == MUTATIONS["STEP"]
    assert {gap["limit"] for gap in gaps["gaps"]} == {MUTATIONS["STEP"]} | in_the_file
    limits = {need["before"]["limit"] for need in shop["needs"]}
    assert limits == {MUTATIONS["STEP"]} | in_the_file
    (shop,) = answers(looked, "TOLERANCE")
    limits = {state["limit"] for need in shop["needs"] for state in (need["before"],) if state}
    assert limits == {MUTATIONS["TOLERANCE"]}
    (match,) = answers(looked, "STAND_INS")
    assert len(match["matches"]) == MUTATIONS["STAND_INS"]
    (shop,) = answers(looked, "PRICE")
    assert [one["price"] for one in shop["buy"]] == [MUTATIONS["PRICE"]]


def test_the_page_for_the_phone_follows(looked):
    """Its answers are lists of stand-ins owned, others, and recipes."""
    for name, place in (("POCKET_STAND_INS", 1), ("POCKET_RECIPES", 2)):
        (page,) = answers(looked, name)
        assert max(len(answer[place]) for answer in page["answers"]) == MUTATIONS[name]


def answers(looked, name):
    return [json.loads(text) for text in looked(name, MUTATIONS[name])["answers"]]
