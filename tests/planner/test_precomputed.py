"""Answers worked out beforehand are those that each question would get."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from stopgap.errors import InputError
from stopgap.library import open_library
from stopgap.planner import (
    LayerQuestion,
    estimated_conditions,
    find_stand_ins,
    precompute_stand_ins,
)
from stopgap.planner.doubt import reach_of_rivals
from stopgap.planner.draws import Draws, Expected
from stopgap.planner.stand_ins.carried import CarriedStandIn
from stopgap.swatches import Selection, Source, Swatch

pytestmark = pytest.mark.slow


@pytest.fixture(scope="module")
def swatches(demo_library):
    with open_library(demo_library, read_only=True) as library:
        found = library.swatches()
    owned = [swatch for swatch in found if swatch.owned]
    gone = [swatch for swatch in found if swatch.discontinued]
    return (*owned[::3], *gone, *[swatch for swatch in found if not swatch.owned][::9])


def as_carried(matches):
    """Of each all that a page tells."""
    fields = CarriedStandIn._fields
    return tuple(CarriedStandIn(*(getattr(one, name) for name in fields)) for one in matches)


@pytest.mark.parametrize("always", [False, True])
def test_each_swatch_is_answered_as_if_it_were_asked_alone(swatches, always):
    owned = Selection(owned=True).of(swatches)
    question = LayerQuestion(estimated_conditions(), owned, always=always, limit=2)
    answers = precompute_stand_ins(swatches, limit=3, layering=question)
    assert [answer.swatch for answer in answers] == list(swatches)
    assert any(answer.recipes for answer in answers)
    for answer in answers[::6]:
        alone = find_stand_ins(
            answer.swatch, swatches, selection=Selection(owned=True), limit=3, layering=question
        )
        assert answer.owned == as_carried(alone.matches)
        assert [one.stack for one in answer.recipes] == [one.stack for one in alone.layers]
        for one, other in zip(answer.recipes, alone.layers, strict=True):
            assert one.delta_E == pytest.approx(other.delta_E, abs=1e-9)
            assert one.interval == pytest.approx(other.interval, abs=1e-6)
        others = [swatch for swatch in swatches if not swatch.owned]
        found = find_stand_ins(answer.swatch, others, limit=3)
        assert answer.others == as_carried(found.matches)


def test_nothing_owned_and_nothing_else():
    one = Swatch("Fen", "1", (50.0, 0.0, 0.0))
    two = Swatch("Fen", "2", (52.0, 0.0, 0.0), owned=True)
    (alone,) = precompute_stand_ins([one])
    assert (alone.owned, alone.others, alone.recipes) == ((), (), ())
    first, second = precompute_stand_ins([one, two])
    assert [match.swatch for match in first.owned] == [two]
    assert [match.swatch for match in second.others] == [one]
    assert precompute_stand_ins([]) == []


def test_pencils_that_cannot_be_layered_leave_the_rest_as_it_is():
    white = Swatch("Fen", "1", (99.9, 0.0, 0.0), owned=True)
    question = LayerQuestion(estimated_conditions(), [white])
    (answer,) = precompute_stand_ins([white], layering=question)
    assert answer.recipes == ()


def test_progress_and_refusal(swatches):
    owned = Selection(owned=True).of(swatches)[:4]
    told = []
    question = LayerQuestion(estimated_conditions(), owned)
    precompute_stand_ins(
        swatches[:3], layering=question, progress=lambda done, total: told.append((done, total))
    )
    assert told == [(1, 3), (2, 3), (3, 3)]
    with pytest.raises(InputError, match="limit"):
        precompute_stand_ins(swatches, limit=0)


def many_pencils(seed, count):
    """Of two ranges that were measured or scanned, each with doubts of its own; some are alike."""
    rng = np.random.default_rng(seed)
    labs = rng.uniform([30, -25, -25], [80, 25, 25], (count, 3)).round(int(rng.integers(0, 3)))
    return [
        Swatch(
            ("Fen", "Moor")[row % 2],
            f"{row:03}",
            tuple(lab),
            uncertainty=float(rng.choice([0.1, 0.4, 2.0])),
            shared_uncertainty=float(rng.choice([0.0, 0.3, 1.5])),
            source=(Source.MEASURED, Source.SCANNED)[row % 2],
        )
        for row, lab in enumerate(labs.tolist())
    ]


def test_those_beyond_reach_change_nothing():
    pencils = many_pencils(3, 150)
    owned = [replace(one, owned=True) for one in pencils[:70]]
    answers = precompute_stand_ins([*owned, *pencils[70:]], limit=3)
    for answer in answers[::9]:
        own, other = (find_stand_ins(answer.swatch, few, limit=3) for few in (owned, pencils[70:]))
        assert answer.owned == as_carried(own.matches)
        assert answer.others == as_carried(other.matches)


@settings(derandomize=True, deadline=None, max_examples=60)
@given(seed=st.integers(0, 10**6), count=st.integers(2, 40), doubt=st.sampled_from([0.0, 1.0, 8.0]))
def test_nothing_beyond_the_reach_is_able_to_be_the_nearest(seed, count, doubt):
    colours = many_pencils(seed, count)
    target = replace(many_pencils(seed + 1, 1)[0], uncertainty=doubt)
    ours, theirs = Expected.of(colours, {None: 0}), Expected.of([target], {None: 0})
    every = np.arange(count)[np.newaxis]
    box = Draws.of(theirs, ours, np.zeros((1, 1), dtype=np.intp), every)
    apart = np.linalg.norm(box.steps, axis=-1)
    reach = reach_of_rivals(theirs, ours, apart.min(axis=1))
    assert not (box.able() & (apart > reach[:, np.newaxis] + 1e-9)).any()
