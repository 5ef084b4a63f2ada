"""blend, gaps and shop list the same steps of the same blends."""

import csv
import itertools
import json

import pytest

from stopgap.library.demo import datasets

pytestmark = pytest.mark.slow

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


STOPS = {
    "by way of two": ("Fennmoor:FM044", "Fennmoor:FM032", "lab(50 -20 -20); Quillet:Q20", ""),
    "by lightness": ("Quillet:Q1", "Quillet:Q43", "", "yes"),
    "both": ("Quillet:Q1", "Quillet:Q43", "Quillet:Q13", "yes"),
}


def test_stops_and_the_way_by_lightness_are_the_same_for_all_three(demo, tmp_path):
    path = tmp_path / "stops.csv"
    rows = [(name, *asked) for name, asked in STOPS.items()]
    with path.open("w", encoding="utf-8", newline="") as file:
        csv.writer(file).writerows([("name", "von", "bis", "via", "by_lightness"), *rows])
    told = ["--no-layers", "--way", "round"]
    needs = answer(demo, "shop", "--blends", path, *told, "--budget", "0")["needs"]
    gaps = answer(demo, "gaps", path, *told)["gaps"]
    for (name, start, end, via, light), need in zip(rows, needs, strict=True):
        stops = [word for each in filter(None, via.split("; ")) for word in ("--via", each)]
        alone = answer(demo, "blend", start, end, *stops, *["--by-lightness"] * bool(light), *told)
        chain = [address(step["swatch"]) for step in alone["steps"]]
        before = need["before"]
        assert [stop["label"] for stop in before["stops"]] == chain
        assert set(via.split("; ")[-1:]) <= {*chain, ""}
        over = [
            (one, other)
            for (one, other), step in zip(itertools.pairwise(chain), before["steps"])
            if step > before["limit"]
        ]
        found = [gap for gap in gaps if gap["blend"] == name]
        assert sorted((address(g["after"]), address(g["before"])) for g in found) == sorted(over)


def test_a_stop_that_cannot_be_passed_is_told_by_its_row(demo, tmp_path):
    path = tmp_path / "stops.csv"
    asked = "name,from,to,via,by_lightness\n"
    for row, said in (
        ("a,Quillet:Q1,Quillet:Q43,Quillet:Q99,", "row 2, column via"),
        ("a,Quillet:Q1,Quillet:Q43,Quillet:Q1,", "row 2"),
        ("a,Quillet:Q1,Quillet:Q43,,perhaps", "row 2, column by_lightness"),
        ("a,lab(50 0 0),lab(50 20 0),,ja", "row 2"),
    ):
        path.write_text(asked + row + "\n", encoding="utf-8")
        for command in (("gaps", path), ("shop", "--blends", path)):
            status, out, error = demo(*command)
            assert (status, out) == (1, ""), command
            assert said in error, error


def test_a_chain_that_closes_far_off_the_way_says_so_in_all_three(stopgap_run, tmp_path):
    """A pencil 16 off a way whose limit is 14; the sentence is of one function."""
    pencils = tmp_path / "far.csv"
    rows = ["p,58,0,0,yes", "q,42.9,0,0,yes", "off,50.4,0,-16,yes", "z,51,0,60,yes"]
    pencils.write_text("\n".join(["code,L,a,b,owned", *rows]), encoding="utf-8")
    blends = tmp_path / "blends.csv"
    blends.write_text("name,from,to,by_lightness\ngrey,T:p,T:q,yes\n", encoding="utf-8")
    assert stopgap_run("range", "import", pencils, "--name", "T")[0] == 0
    told = ["--no-layers", "--step", "14"]
    for command in (
        ["blend", "T:p", "T:q", "--by-lightness", *told],
        ["gaps", blends, *told],
        ["shop", "--blends", blends, *told],
    ):
        notes = answer(stopgap_run, *command)["notes"]
        assert [
            note for note in notes if "closes through T:off, " in note and " off the way" in note
        ]
