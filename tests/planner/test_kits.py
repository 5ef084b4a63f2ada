"""A box to take along: against every choice there is, alone and in layers."""

import csv
import itertools
import json

import numpy as np
import pytest

from stopgap.difference import delta_E_ciede2000
from stopgap.errors import InputError, NothingFoundError
from stopgap.planner import estimated_conditions, free_colours, pack_kit, reach_of
from stopgap.planner.kits.exchanging import choose_by_exchange
from stopgap.planner.kits.task import Options, Packing
from stopgap.planner.recipes.kept import recipes_under
from stopgap.planner.solver import Clock
from stopgap.swatches import Swatch

pytestmark = pytest.mark.slow


def pencils(seed, count):
    random = np.random.default_rng(seed)
    labs = np.column_stack([random.uniform(25, 90, count), random.normal(0, 25, (count, 2))])
    return [Swatch("Own", f"O{place:02}", tuple(lab.tolist())) for place, lab in enumerate(labs)]


def colours(seed, count):
    random = np.random.default_rng([7, seed])
    labs = np.column_stack([random.uniform(20, 95, count), random.normal(0, 22, (count, 2))])
    return free_colours(labs, random.uniform(0.2, 3.0, count))


@pytest.mark.parametrize("size", [1, 3, 4])
@pytest.mark.parametrize("largest", [False, True])
def test_no_choice_loses_less(size, largest):
    """Every choice of `size` of 20: 4845 of them at 4."""
    box, asked = pencils(size, 20), colours(size, 30)
    apart = delta_E_ciede2000(
        np.array([one.lab for one in asked])[:, np.newaxis], np.array([one.lab for one in box])
    )
    lost = apart - apart.min(axis=1, keepdims=True)
    weights = np.array([one.weight for one in asked])
    weights /= weights.sum()

    def value(some):
        its = lost[:, list(some)].min(axis=1)
        return (float(its.max()) if largest else 0.0, float(weights @ its))

    best = min(map(value, itertools.combinations(range(20), size)))
    found = pack_kit(asked, box, size, largest=largest)
    assert found.proved
    assert len(found.pencils) == size
    assert found.mean_lost == pytest.approx(best[1], abs=1e-5)
    if largest:
        assert found.largest_lost == pytest.approx(best[0], abs=1e-5)
    assert found.bound == pytest.approx(best[0] if largest else best[1], abs=1e-4)
    given = [colour.given.swatches[0] for colour in found.colours]
    assert {one.address for one in given} <= {one.address for one in found.pencils}
    own = [float(delta_E_ciede2000(one.asked.lab, one.given.lab)) for one in found.colours]
    assert [one.delta_E for one in found.colours] == pytest.approx(own)


def test_no_choice_loses_less_in_layers():
    """Every choice of 2 of 5, each with the recipes of a box of its own."""
    box, asked, conditions = pencils(3, 5), colours(3, 6), estimated_conditions()
    labs = np.array([one.lab for one in asked])
    weights = np.array([one.weight for one in asked])

    def nearest(some):
        made = recipes_under(conditions, some)
        alone = np.array([one.lab for one in some])
        laid = np.concatenate([alone, made.index.lab])
        return delta_E_ciede2000(labs[:, np.newaxis], laid).min(axis=1)

    of_all = nearest(box)
    best = min(weights @ nearest(some) for some in itertools.combinations(box, 2))
    found = pack_kit(asked, box, 2, layers=conditions)
    assert found.proved
    assert [one.of_all_delta_E for one in found.colours] == pytest.approx(of_all)
    assert found.mean_delta_E == pytest.approx(best / weights.sum(), abs=1e-5)
    taken = {one.address for one in found.pencils}
    assert all(one.given.addresses <= taken for one in found.colours)
    without_time = pack_kit(asked, box, 2, layers=conditions, time_limit=0.0)
    assert not without_time.proved
    assert without_time.bound == 0.0
    assert without_time.mean_delta_E >= found.mean_delta_E - 1e-9
    assert all(len(one.given.swatches) == 1 for one in without_time.colours)
    assert "before layers were counted" in without_time.notes[0].text


def test_where_there_are_too_many_colours_those_alike_count_as_one(monkeypatch):
    """Three tight clouds of 20, 12 and 4 colours around three pencils of five: at most three."""
    box, random = pencils(8, 5), np.random.default_rng(8)
    centres = [np.floor(np.array(box[place].lab) / 12.0) * 12.0 + 6.0 for place in (0, 2, 4)]
    clouds = [centre + random.uniform(-2, 2, (20, 3)) for centre in centres]
    asked = free_colours(np.concatenate([cloud[:n] for cloud, n in zip(clouds, (20, 12, 4))]))
    each = pack_kit(asked, box, 3)
    monkeypatch.setattr("stopgap.planner.kits.kit._PAIRS", 100)
    found = pack_kit(asked, box, 3)
    assert sorted(one.asked.weight for one in found.colours) == [4.0, 12.0, 20.0]
    assert "colours alike count as one" in found.notes[0].text
    assert {one.address for one in found.pencils} == {one.address for one in each.pencils}
    assert not any("count as one" in note.text for note in each.notes)


def test_no_exchange_of_one_pencil_costs_less():
    """Told colour by colour: of its options the cheapest of which every pencil is taken."""
    random, count, n, size = np.random.default_rng(5), 9, 7, 4
    pairs = np.array([*itertools.combinations_with_replacement(range(count), 2)])
    cost = random.uniform(1.0, 9.0, (n, len(pairs)))
    cost[:, pairs[:, 0] == pairs[:, 1]] += 6.0
    options = Options(cost, np.broadcast_to(pairs, (n, *pairs.shape)), np.full(n, np.inf))
    weights = random.uniform(0.5, 2.0, n)

    def mean(choice):
        there = [place for place, pair in enumerate(pairs) if {*pair} <= {*choice}]
        return weights @ cost[:, there].min(axis=1)

    task = Packing(count, size, weights, (2,), lambda _: options, mean)
    found = {*choose_by_exchange(task, options, Clock(None)).tolist()}
    assert 2 in found
    exchanged = [found - {out} | {into} for out in found - {2} for into in range(count)]
    choices = [one for one in exchanged if len(one) == size]
    assert mean(found) <= min(map(mean, choices))
    every = [one for one in itertools.combinations(range(count), size) if 2 in one]
    assert mean(found) == pytest.approx(min(map(mean, every)))


def test_what_is_kept_is_taken_and_more_never_loses_more():
    box, asked = pencils(1, 12), colours(1, 20)
    worst = box[-1]
    lost = [pack_kit(asked, box, size, keep=[worst]).mean_lost for size in range(1, 13)]
    assert lost == sorted(lost, reverse=True)
    assert lost[-1] == 0.0
    assert pack_kit(asked, box, 3, keep=[worst]).mean_lost >= pack_kit(asked, box, 3).mean_lost
    assert worst in pack_kit(asked, box, 3, keep=[worst]).pencils
    everything = pack_kit(reach_of(box), box, 40)
    assert (everything.proved, everything.largest_lost, everything.lost) == (True, 0.0, [])
    assert len(everything.pencils) == everything.within() == 12


def test_what_cannot_be_asked():
    box, asked = pencils(1, 3), colours(1, 3)
    with pytest.raises(NothingFoundError, match="no pencil"):
        pack_kit(asked, [], 3)
    with pytest.raises(NothingFoundError, match="no colour"):
        pack_kit([], box, 3)
    with pytest.raises(InputError, match="at least 2"):
        pack_kit(asked, box, 1, keep=box[:2])


def test_the_command(demo, tmp_path):
    status, out, _ = demo("kit", "--size", "24", "--json")
    answer = json.loads(out)
    assert (status, answer["proved"], answer["among"]) == (0, True, 68)
    assert len(answer["pencils"]) == 24
    assert all(one["swatch"]["owned"] for one in answer["pencils"])
    assert answer["mean_lost"] == pytest.approx(answer["bound"], abs=1e-5)
    status, out, _ = demo("kit", "--size", "24", "--csv")
    rows = list(csv.DictReader(out.splitlines()))
    assert [f"{row['range']}:{row['code']}" for row in rows] == [row["colour"] for row in rows]
    kit = tmp_path / "kit.csv"
    kit.write_text(out, encoding="utf-8")
    assert demo("own", "--from", kit)[0] == 0
    # colours of a list that nobody knows are told, the others answered
    asked = tmp_path / "list.csv"
    asked.write_text("colour\n#c04a2b\nnobody's\n", encoding="utf-8")
    status, out, error = demo("kit", "--size", "1", "--list", asked)
    assert status == 1
    assert "Take along: 1 of 68" in out
    assert "nobody's" in error
    assert demo("kit", "--size", "1", "--list", asked, "--photo", asked)[0] == 2
    arranged = demo("kit", "--size", "5", "--arrangement", "proposal", "--range", "Quillet")
    assert (arranged[0], "along: 5 of 4" in arranged[1]) == (0, True)
