"""Families, blends and gaps on the command line."""

import csv
import io
import json

import pytest

from stopgap.cli.ask.demo import datasets

pytestmark = pytest.mark.slow


def answer(demo, *arguments, status=0):
    found, out, error = demo(*arguments, "--json")
    assert (found, error) == (status, "")
    return json.loads(out)


def filing(demo):
    """Codes by family; fits may differ in the last bit from run to run on some machines."""
    return {
        family["name"]: [filed["swatch"]["code"] for filed in family["swatches"]]
        for family in answer(demo, "family")["families"]
    }


def family_of(demo, address):
    for family in answer(demo, "family")["families"]:
        for filed in family["swatches"]:
            if f"{filed['swatch']['range']}:{filed['swatch']['code']}" == address:
                return family, filed
    raise AssertionError(address)


def test_every_swatch_is_filed_once(demo):
    families = answer(demo, "family")["families"]
    filed = [entry for family in families for entry in family["swatches"]]
    addresses = [(entry["swatch"]["range"], entry["swatch"]["code"]) for entry in filed]
    assert len(addresses) == len(set(addresses)) == 240
    assert {"swatch", "also", "odd", "misleading"} <= set(filed[0])
    # common practice, no source: metallics and fluorescents stand apart
    assert {"metallics", "fluorescents"} <= {family["name"] for family in families}
    for family in families:
        assert len(family["steps"]) == len(family["swatches"]) - 1


def test_one_family_and_its_page(demo):
    (family,) = answer(demo, "family", "Muted  Roses")["families"]
    assert family["name"] == "muted roses"
    _, text, _ = demo("family", "muted roses")
    for filed in family["swatches"]:
        assert filed["swatch"]["code"] in text
    assert max(map(len, text.splitlines())) <= 80
    assert demo("family", "nonsense")[0] == 1
    assert demo("family", "blacks", "--owned", "--range", "Brindlewick")[0] == 3


def test_a_misleading_name_is_flagged(demo):
    # the demo's Green Crab Claw is a red-brown (datasets/README.md)
    _, filed = family_of(demo, "Fennmoor:FM093")
    assert filed["misleading"] == "green"


def test_the_users_filing_has_the_last_word(demo):
    before, _ = family_of(demo, "Fennmoor:FM024")
    assert demo("family", "move", "Fennmoor:FM024", "reds", "--after", "Fennmoor:FM014")[0] == 0
    family, filed = family_of(demo, "Fennmoor:FM024")
    codes = [entry["swatch"]["code"] for entry in family["swatches"]]
    assert (family["name"], filed["yours"]) == ("reds", True)
    assert codes.index("FM024") == codes.index("FM014") + 1
    assert "filed here by you" in demo("family", "reds")[1]
    renewed = demo(
        "range", "import", datasets() / "fennmoor.csv", "--name", "Fennmoor", "--replace"
    )
    assert renewed[0] == 0
    assert family_of(demo, "Fennmoor:FM024")[0]["name"] == "reds"
    assert demo("family", "release", "Fennmoor:FM024")[0] == 0
    assert family_of(demo, "Fennmoor:FM024")[0]["name"] == before["name"]
    assert demo("family", "release", "Fennmoor:FM024")[0] == 3
    assert demo("undo")[0] == 0
    assert family_of(demo, "Fennmoor:FM024")[0]["name"] == "reds"


def test_a_range_and_a_span_of_it_are_filed_at_once(demo):
    assert demo("arrangement", "new", "mine")[0] == 0
    assert demo("family", "new", "all")[0] == 0
    status, out, error = demo("family", "release", "Quillet:Q3")
    assert (status, error) == (3, "stopgap: Quillet:Q3 is not filed yet.\n")
    _, out, _ = demo("family", "move", "Quillet:Q1-Q7", "Fennmoor:FM003", "all")
    assert out.startswith("Filed 8 pencils under all")
    assert demo("family", "move", "Quillet", "all")[1].startswith("Filed 48 pencils under all")
    families = json.loads(demo("family", "--json")[1])["families"]
    filed = {one["name"]: len(one["swatches"]) for one in families}
    assert filed["all"] == 49
    assert "--fill" in demo("family")[1]
    for act, kept in (
        (("arrangement", "use", "mine", "--fill"), range(200, 241)),
        (("undo",), (49,)),
    ):
        assert demo(*act)[0] == 0
        (mine,) = json.loads(demo("arrangement", "list", "--json")[1])["arrangements"]
        assert mine["pencils"] in kept  # some melt into no family and wait


@pytest.mark.parametrize(
    ("arguments", "status"),
    [
        (("family", "move", "Fennmoor:FM024", "nonsense"), 1),
        (("family", "move", "Fennmoor:FM999", "reds"), 1),
        (("family", "move", "Fennmoor:FM024", "reds", "--after", "Fennmoor:FM024"), 1),
        (("blend", "Fennmoor:FM113", "Fennmoor:FM113"), 2),
        (("blend", "Fennmoor:FM113", "lab(20 0 0)", "--step", "0"), 2),
        (("blend", "Fennmoor:FM113", "lab(20 0 0)", "--max-pencils", "0"), 2),
        (("blend", "Fennmoor:FM113", "lab(20 0 0)", "--finish", "fluorescent", "--owned"), 3),
        (("gaps", "none.csv"), 1),
        (("gaps", "--step", "-1"), 2),
    ],
    ids=str,
)
def test_bad_input(demo, arguments, status):
    before = filing(demo)
    found, out, error = demo(*arguments)
    assert (found, out) == (status, "")
    assert error.strip()
    assert "Traceback" not in error
    assert filing(demo) == before


def test_blend(demo):
    found = answer(demo, "blend", "Fennmoor:FM113", "Fennmoor:FM112")
    steps = found["steps"]
    assert (steps[0]["swatch"]["code"], steps[-1]["swatch"]["code"]) == ("FM113", "FM112")
    assert steps[0]["step"] is None
    assert found["largest_step"] == max(step["step"] for step in steps[1:])
    assert found["gaps"] == []
    short = answer(
        demo, "blend", "Fennmoor:FM113", "Fennmoor:FM112", "--max-pencils", "4", status=3
    )
    assert len(short["steps"]) == 4
    assert short["gaps"]
    _, text, _ = demo("blend", "Fennmoor:FM113", "Fennmoor:FM112", "--max-pencils", "4")
    assert "╳" in text


def test_blend_between_bare_colours_through_a_stop(demo):
    found = answer(
        demo, "blend", "#f2efe6", "lab(25 0 0)", "--via", "Fennmoor:FM018", "--step", "40"
    )
    assert {"label", "lab"} == set(found["steps"][0]["swatch"])
    assert "FM018" in [step["swatch"].get("code") for step in found["steps"]]


def test_csv_of_a_blend(demo):
    _, out, _ = demo("blend", "Fennmoor:FM113", "Fennmoor:FM112", "--csv")
    rows = list(csv.DictReader(io.StringIO(out)))
    assert rows[0]["code"] == "FM113"
    assert rows[0]["step"] == ""
    assert all(float(row["step"]) > 0 for row in rows[1:])


def test_what_layers_carry_across_is_not_told_as_a_gap_of_the_blend(demo):
    """The heading of a blend counts its own gaps, that of a gap says that it is without layers."""
    gaps = answer(demo, "gaps", datasets() / "blends.csv")["gaps"]
    crossed = {gap["blend"] for gap in gaps if gap["layered"]}
    closed = crossed - {gap["blend"] for gap in gaps if not gap["layered"]}
    assert closed
    text = " ".join(demo("gaps", datasets() / "blends.csv", "--figures")[1].split())
    for gap in gaps:
        assert f"{gap['blend']}: between pencils alone a gap of {gap['step']:.1f}" in text
    for name in closed:
        count = sum(gap["blend"] == name for gap in gaps)
        assert f"{name}: no gap with layers, largest step" in text
        assert f"; {count} gap{'s' if count > 1 else ''} between pencils alone" in text
    assert text.count("Layered across with") == sum(gap["layered"] for gap in gaps)
    assert text.count("do not carry across") == sum(not gap["layered"] for gap in gaps)
    without = " ".join(demo("gaps", datasets() / "blends.csv", "--no-layers")[1].split())
    assert "layers" not in without
    assert "alone" not in without


def test_gaps_of_the_demos_blends(demo):
    gaps = answer(demo, "gaps", datasets() / "blends.csv")["gaps"]
    assert {gap["blend"] for gap in gaps} == {
        "weed, tip to holdfast",
        "anemone",
        "pool, rim to deep",
    }
    assert [gap["hurt"] for gap in gaps] == sorted((gap["hurt"] for gap in gaps), reverse=True)
    for gap in gaps:
        assert gap["step"] > gap["limit"]
        assert gap["layered"] is bool(gap["recipes"])
        assert not any(swatch["owned"] for swatch in gap["closing"])
        assert {"blend", "after", "before", "step", "layered"} <= set(gap)
    without = answer(demo, "gaps", datasets() / "blends.csv", "--no-layers")["gaps"]
    assert len(without) == len(gaps)
    assert not any(gap["layered"] for gap in without)
    assert answer(demo, "gaps", datasets() / "blends.csv", "--any", "--step", "30")["gaps"] != gaps


def test_a_bad_blends_file_is_told_by_row(demo, tmp_path):
    path = tmp_path / "blends.csv"
    path.write_text("name,from,to,step\na,Fennmoor:FM001,Fennmoor:FM002,0\nb,x,y,abc\n")
    status, _, error = demo("gaps", path)
    assert status == 1
    assert "row 2, column step" in error
    assert "row 3, column step" in error
    path.write_text("name,from,to\na,Fennmoor:FM998,Fennmoor:FM001\nb,Fennmoor:FM001,FM999\n")
    error = demo("gaps", path)[2]
    assert "row 2, column from: No swatch is called 'Fennmoor:FM998'" in error
    assert "row 3, column to: No swatch is called 'FM999'" in error
    path.write_text("name,from,to\nb,Fennmoor:FM001,Fennmoor:FM001\n")
    assert "row 2: the ends and stops of a blend must be different" in demo("gaps", path)[2]
