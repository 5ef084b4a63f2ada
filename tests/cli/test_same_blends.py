"""blend, gaps and shop list the same steps of the same blends."""

import csv
import itertools
import json

import pytest

from stopgap.library.demo import datasets

BLENDS = datasets() / "blends.csv"


def answer(demo, *arguments):
    _, out, error = demo(*arguments, "--json")
    assert error == ""
    return json.loads(out)


def address(swatch):
    return f"{swatch['range']}:{swatch['code']}"


@pytest.mark.parametrize("spelling", ["--no-layers", "--no-layering"])
def test_three_commands_list_the_same_steps(demo, spelling):
    listed = answer(demo, "shop", "--blends", BLENDS, spelling, "--budget", "0")
    gaps = answer(demo, "gaps", BLENDS, "--no-layers")["gaps"]
    with BLENDS.open(encoding="utf-8-sig", newline="") as file:
        rows = list(csv.DictReader(file))
    assert len(rows) == len(listed["needs"]) == 3
    assert listed["buy"] == []
    for row, need in zip(rows, listed["needs"]):
        limit = row["step"] or "12"
        asked = ("blend", row["from"], row["to"], "--no-layers", "--prefer", "enough")
        alone = answer(demo, *asked, "--step", limit)
        before = need["before"]
        assert need["after"] == before
        assert [stop["label"] for stop in before["stops"]] == [
            address(step["swatch"]) for step in alone["steps"]
        ]
        assert before["steps"] == [
            step["step"] for step in alone["steps"] if step["step"] is not None
        ]
        assert before["largest_step"] == alone["largest_step"]
        over = {
            (stop["label"], following["label"], step)
            for (stop, following), step in zip(itertools.pairwise(before["stops"]), before["steps"])
            if step > float(limit)
        }
        assert over == {
            (address(gap["after"]), address(gap["before"]), gap["step"])
            for gap in gaps
            if gap["blend"] == row["name"]
        }
        assert need["met"] is False  # the demo's user lacks an end of each
