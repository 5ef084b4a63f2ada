"""One range against another: nearest both ways and the shift of a whole range."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from planner_oracles import random_lab, swatch

from stopgap.difference import delta_E
from stopgap.errors import InputError
from stopgap.library import StoredShift
from stopgap.planner import find_stand_ins
from stopgap.planner.comparison.tables import cross_table
from stopgap.planner.nearness import FAR
from stopgap.swatches import RangeCorrection

pytestmark = pytest.mark.slow

seeds = st.integers(0, 10**6)


def random_range(rng, n, name):
    return [swatch(f"{i:03d}", random_lab(rng), range_=name) for i in range(n)]


@settings(derandomize=True, deadline=None, max_examples=40)
@given(seeds, st.integers(1, 12), st.integers(1, 12), st.randoms(use_true_random=False))
def test_rows_equal_looking_at_every_pair(seed, n, m, random):
    rng = np.random.default_rng(seed)
    first, second = random_range(rng, n, "A"), random_range(rng, m, "B")
    random.shuffle(first)
    table = cross_table(first, random.sample(second, m))
    assert [row.swatch for row in table.rows] == first
    for row in table.rows:
        near = sorted((float(delta_E(row.swatch.lab, one.lab)), one.address) for one in second)
        assert row.by_hue == (near[0][0] > FAR)
        if row.by_hue:  # as in a single question
            found = find_stand_ins(row.swatch, second, limit=2).matches
            assert [row.best, row.second][:m] == [match.swatch for match in found]
            assert row.delta_E == pytest.approx(found[0].delta_E)
            continue
        assert (row.delta_E, row.best.address) == (pytest.approx(near[0][0]), near[0][1])
        back = min((float(delta_E(one.lab, row.best.lab)), one.address) for one in first)
        assert row.mutual == (back[1] == row.swatch.address)
        if m > 1:
            assert (row.second_delta_E, row.second.address) == (
                pytest.approx(near[1][0]),
                near[1][1],
            )
        else:
            assert row.second is None


def test_equally_near_swatches_go_by_address():
    twins = [swatch("2", (50, 0, 0), range_="B"), swatch("1", (50, 0, 0), range_="B")]
    (row,) = cross_table([swatch("1", (52, 0, 0))], twins).rows
    assert [row.best.code, row.second.code] == ["1", "2"]


def measured_twice(seed, flare=0.0, gain=0.0, n=90, m=72):
    """The second range holds the first m colours of the first, laid again and measured otherwise.

    By the map in reverse: XYZ' = flare W + (1 + gain) XYZ moves dark colours most.
    """
    rng = np.random.default_rng(seed)
    labs = np.array([random_lab(rng) for _ in range(n)])
    lit = RangeCorrection(flare, gain).lab(labs[:m] + rng.normal(0, 0.5, (m, 3)))
    return (
        [swatch(f"{i:03d}", lab) for i, lab in enumerate(labs)],
        [swatch(f"{i:03d}", lab, range_="B") for i, lab in enumerate(lit)],
    )


def right(table):
    return sum(row.best.code == row.swatch.code for row in table.rows)


@pytest.mark.parametrize(("flare", "gain"), [(0.04, -0.03), (-0.012, 0.0), (0.0, 0.15)])
def test_another_measurement_is_told_and_taken_out_on_request(flare, gain):
    first, second = measured_twice(4, flare, gain)
    asis, clean = cross_table(first, second), cross_table(first, second, remove_shift=True)
    assert "B seems to be measured otherwise than A" in asis.warning
    assert not asis.removed
    assert clean.removed
    assert clean.correction.flare == pytest.approx(-flare / (1 + gain), abs=0.01)
    dark = min(range(72), key=lambda i: first[i].lab[0])
    assert asis.offset[0] * (second[dark].lab[0] - first[dark].lab[0]) > 0.0
    assert asis.size == pytest.approx(
        np.mean(delta_E([one.lab for one in first[:72]], [one.lab for one in second])), rel=0.35
    )
    assert right(clean) >= right(asis)
    assert right(clean) >= 68


def test_what_the_library_found_is_believed_in_either_direction():
    first, second = measured_twice(4, 0.04, -0.03)
    found = RangeCorrection(0.04, -0.03)
    forth = [StoredShift("A", "B", found.flare, found.gain, 0.0, 4.0)]
    (a, b) = (found.reversed.flare, found.reversed.gain)
    back = [StoredShift("B", "A", a, b, 0.0, 4.0)]
    told = [cross_table(first, second, remove_shift=True, known=known) for known in (forth, back)]
    forth, back = ((table.correction.flare, table.correction.gain) for table in told)
    assert forth == pytest.approx(back)
    np.testing.assert_allclose(
        found.reversed.lab(found.lab([40.0, 20.0, -9.0])), [40.0, 20.0, -9.0]
    )
    assert right(told[0]) >= 68
    assert cross_table(first, second, known=[]).note is None


def test_unrelated_and_small_ranges_are_not_said_to_be_measured_otherwise():
    for seed in range(12):
        rng = np.random.default_rng(seed)
        assert cross_table(random_range(rng, 80, "A"), random_range(rng, 60, "B")).note is None
    first, second = measured_twice(1, 0.04, n=12, m=12)
    assert not cross_table(first, second, remove_shift=True).removed


def test_empty_ranges_are_refused():
    with pytest.raises(InputError, match="at least one swatch"):
        cross_table([], [swatch("1", (50, 0, 0))])
