"""A gap is reported where there is one, exactly there, and nowhere else."""

import csv
import json
from itertools import islice

import networkx
import numpy as np
import pytest
from munsell_columns import columns, holes, munsell_swatches

from stopgap.blends import DEFAULT_LIMIT, blend, find_gaps
from stopgap.blends.path import path_through
from stopgap.difference import delta_E
from stopgap.library import datasets, open_library
from stopgap.swatches import Selection, Swatch

pytestmark = pytest.mark.slow

PAIRS = 200


@pytest.mark.parametrize("attribute", ["value", "chroma", "hue"])
def test_a_munsell_column_with_one_chip_out_has_exactly_that_gap(attribute: str) -> None:
    """Every eleventh of them; all are counted by tests/benchmarks/bench_blends.py."""
    chips = munsell_swatches()
    asked = [
        (column, hole, limit)
        for name, column in columns(chips)
        if name == attribute
        for hole, limit in holes(column)
    ]
    assert len(asked) > 500
    for column, hole, limit in islice(asked, 0, None, 11):
        left = column[:hole] + column[hole + 1 :]
        found = blend(left[0], left[-1], left, limit=limit)
        (gap,) = find_gaps([found], [column[hole]])
        assert (gap.after.swatch, gap.before.swatch) == (column[hole - 1], column[hole + 1])
        assert gap.closing == (column[hole],)


@pytest.fixture(scope="module")
def swatches(demo_library):
    with open_library(demo_library, read_only=True) as library:
        return library.swatches()


def random_pairs(swatches, seed: int) -> list[tuple[Swatch, Swatch]]:
    draw = np.random.default_rng(seed)
    rows = (draw.choice(len(swatches), 2, replace=False) for _ in range(PAIRS))
    return [(swatches[one], swatches[other]) for one, other in rows]


def reachable(one: Swatch, other: Swatch, pencils, limit: float) -> bool:
    """Whether networkx finds steps within the limit that make progress inside the tube."""
    path = path_through([one.lab, other.lab])
    for each in (path, path.chord()):
        found = each.locate([pencil.lab for pencil in pencils])
        near = found.distance <= min(limit, each.usual_corridor)
        inside = np.flatnonzero(near & (found.progress > 1e-6) & (found.progress < 1.0 - 1e-6))
        lab = np.array([one.lab, *(pencils[row].lab for row in inside), other.lab])
        progress = np.array([0.0, *found.progress[inside], 1.0])
        steps = np.asarray(delta_E(lab[:, None], lab[None]))
        links = (steps <= limit) & (progress - progress[:, None] > 1e-6)
        graph = networkx.from_numpy_array(links, create_using=networkx.DiGraph)
        if networkx.has_path(graph, 0, len(lab) - 1):
            return True
    return False


def test_where_steps_within_the_limit_lead_there_no_gap_is_reported(swatches) -> None:
    pencils = Selection().of(swatches)
    closed = 0
    for one, other in random_pairs(pencils, seed=1):
        found = blend(one, other, pencils)
        if reachable(one, other, pencils, found.limit):
            assert found.closed
            assert found.notes == ()
            closed += 1
    assert 40 < closed < PAIRS - 40


def test_what_closes_only_far_off_the_way_is_said() -> None:
    one, other = Swatch("T", "p", (58.0, 0.0, 0.0)), Swatch("T", "q", (42.9, 0.0, 0.0))
    for blue, far in ((-13.0, False), (-16.0, True)):
        off = Swatch("T", "off", (50.4, 0.0, blue))
        found = blend(one, other, [off], limit=14.0, corridor=40.0)
        assert found.closed
        assert found.points[1].swatch == off
        stray = found.points[1].stray
        assert (stray > found.limit) == far
        said = f"closes through T:off, {stray:.0f} off the way"
        assert [str(note) for note in found.notes] == ([said] if far else [])


def answer(demo, *arguments):
    status, out, error = demo(*arguments, "--json")
    assert status in (0, 3), error
    return json.loads(out)


@pytest.fixture
def wanted(swatches):
    """The demo's blends and random ones of all its pencils: name -> start, end, limit."""
    by_address = {swatch.address: swatch for swatch in swatches}
    with (datasets() / "blends.csv").open(encoding="utf-8") as file:
        named = {
            row["name"]: (
                by_address[row["from"]],
                by_address[row["to"]],
                float(row["step"] or DEFAULT_LIMIT),
            )
            for row in csv.DictReader(file)
        }
    for number, (one, other) in enumerate(random_pairs(swatches, 2)):
        named[str(number)] = one, other, DEFAULT_LIMIT
    return named


def test_blend_gaps_and_shop_list_the_same_steps(demo, tmp_path, wanted, swatches) -> None:
    """Without layers and without money: every blend, its steps and its gaps."""
    path = tmp_path / "blends.csv"
    with path.open("w", newline="", encoding="utf-8") as file:
        writer = csv.writer(file)
        writer.writerow(["name", "from", "to", "step"])
        for name, (one, other, limit) in wanted.items():
            writer.writerow([name, one.address, other.address, limit])
    gaps = answer(demo, "gaps", path, "--no-layers")["gaps"]
    needs = answer(demo, "shop", "--blends", path, "--no-layers", "--budget", "0")["needs"]
    shop = {need["need"]: need for need in needs}
    assert len(shop) == len(wanted) == PAIRS + 3
    owned = Selection(owned=True).of(swatches)
    for number, (name, (one, other, limit)) in enumerate(wanted.items()):
        found = blend(one, other, owned, limit=limit)
        addresses = [point.swatch.address for point in found.points]
        for state in (shop[name]["before"], shop[name]["after"]):
            assert [stop["label"] for stop in state["stops"]] == addresses
            np.testing.assert_allclose(state["steps"], found.steps, atol=1e-9)
        expected = {place: found.steps[place] for place in found.over_limit}
        assert {gap["place"]: gap["step"] for gap in gaps if gap["blend"] == name} == expected
        if number < 10:
            ends = one.address, other.address
            shown = answer(demo, "blend", *ends, "--no-layers", "--step", limit)
            codes = [
                f"{step['swatch']['range']}:{step['swatch']['code']}" for step in shown["steps"]
            ]
            assert codes == addresses
            assert [gap["step"] for gap in shown["gaps"]] == list(expected.values())
