"""A command asks one function and shows its answer by another: Python has the same two.

What paper an answer holds on, and what speaks against its pencils, is told beside by a third.
"""

import json

import pytest

from stopgap.library import check_range, datasets, find_target, open_library, read_blends, read_list
from stopgap.planner import (
    RecipeCache,
    Terms,
    conditions_on,
    cross_tables,
    find_blend,
    find_stand_ins,
    gaps_at_hand,
    ground_of,
    lay,
    look_at_hand,
    needs_of,
    plan_purchase,
    translate_list,
    user_filing,
)
from stopgap.reports import RENDERERS
from stopgap.reports.answers import (
    blend_report,
    check_report,
    gaps_report,
    layered_report,
    on_paper,
    shopping_report,
    stand_ins_report,
    table_report,
    translation_report,
)
from stopgap.swatches import Selection, Stack

pytestmark = pytest.mark.slow

OWN = Selection(owned=True)
BLENDS, LESSON = datasets() / "blends.csv", datasets() / "lesson.csv"


@pytest.fixture(scope="module")
def library(demo_library):
    with open_library(demo_library, read_only=True) as opened:
        yield opened


@pytest.fixture(scope="module")
def swatches(library):
    return library.swatches()


def match(library, swatches):
    answer = find_stand_ins(
        find_target("Fennmoor:FM017", swatches), swatches, selection=OWN, under=["A"]
    )
    return stand_ins_report(answer)


def layer(library, swatches):
    pencils = [find_target(code, swatches) for code in ("Fennmoor:FM003", "Fennmoor:FM013")]
    conditions = conditions_on("rough")
    return layered_report(
        lay(Stack.of(*pencils, pressures=["light", "heavy"]), conditions), conditions
    )


def blend(library, swatches):
    # recipes described from where they are kept may differ in the last bit from those made anew
    cache = RecipeCache(library.path.with_name("recipes"))
    at_hand = look_at_hand(swatches, OWN, layers=conditions_on(), cache=cache)
    return blend_report(find_blend(at_hand, "Fennmoor:FM001", "Fennmoor:FM070"))


def gaps(library, swatches):
    return gaps_report(gaps_at_hand(look_at_hand(swatches, OWN), read_blends(BLENDS)))


def families(library, swatches):
    filing = user_filing(library)
    found = gaps_at_hand(look_at_hand(swatches, OWN), step=14.0, arrangement=filing)
    return gaps_report(found)


def translate(library, swatches):
    return translation_report(translate_list(read_list(LESSON), swatches, selection=OWN))


def table(library, swatches):
    ranges = [library.colour_range(name) for name in ("Quillet", "Fennmoor", "Brindlewick")]
    return table_report(cross_tables(ranges[0], ranges[1:]))


def shop(library, swatches):
    needs = needs_of(swatches, blends=read_blends(BLENDS), shades=["Fennmoor:FM031"])
    return shopping_report(plan_purchase(needs, swatches, terms=Terms(budget=8.0)))


def check(library, swatches):
    return check_report(check_range(library.colour_range("Quillet")))


QUESTIONS = {
    check: "range check Quillet",
    match: "match Fennmoor:FM017 --owned --no-layers --under A",
    layer: "layer Fennmoor:FM003 Fennmoor:FM013 --pressure light --grain rough",
    blend: "blend Fennmoor:FM001 Fennmoor:FM070",
    gaps: f"gaps {BLENDS} --no-layers",
    families: "gaps --no-layers --step 14",
    translate: f"translate {LESSON} --no-layers",
    table: "table --from Quillet --to Fennmoor --to Brindlewick",
    shop: f"shop --blends {BLENDS} --for Fennmoor:FM031 --budget 8 --no-layers",
}


@pytest.mark.parametrize("ask", QUESTIONS, ids=lambda ask: ask.__name__)
def test_python_and_the_command_answer_alike(ask, library, swatches, stopgap_run, demo_library):
    report = ask(library, swatches)
    if "marked" in report.data:
        report = on_paper(report, [ground_of(library)])
    _, out, error = stopgap_run(*QUESTIONS[ask].split(), "--json", library=demo_library)
    asked, told = json.loads(RENDERERS["json"](report)), json.loads(out)
    notes = asked.pop("notes", []), told.pop("notes", [])
    assert asked == told, error
    # the command line adds what would help, in its own words
    assert all(its.startswith(text) for text, its in zip(*notes, strict=True))
