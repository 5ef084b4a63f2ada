"""Answers worked out beforehand are those that each question would get."""

import pytest

from stopgap.errors import InputError
from stopgap.library import open_library
from stopgap.planner import (
    LayerQuestion,
    estimated_conditions,
    find_stand_ins,
    precompute_stand_ins,
)
from stopgap.swatches import Selection, Swatch

pytestmark = pytest.mark.slow


@pytest.fixture(scope="module")
def swatches(demo_library):
    with open_library(demo_library, read_only=True) as library:
        found = library.swatches()
    owned = [swatch for swatch in found if swatch.owned]
    gone = [swatch for swatch in found if swatch.discontinued]
    return (*owned[::3], *gone, *[swatch for swatch in found if not swatch.owned][::9])


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
        assert answer.owned == alone.matches
        assert [one.stack for one in answer.recipes] == [one.stack for one in alone.layers]
        for one, other in zip(answer.recipes, alone.layers, strict=True):
            assert one.delta_E == pytest.approx(other.delta_E, abs=1e-9)
            assert one.interval == pytest.approx(other.interval, abs=1e-6)
        others = [swatch for swatch in swatches if not swatch.owned]
        assert answer.others == find_stand_ins(answer.swatch, others, limit=3).matches


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
