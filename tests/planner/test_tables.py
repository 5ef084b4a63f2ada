"""One range against another: nearest both ways and the shift of a whole range."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from planner_oracles import random_lab, swatch

from stopgap.difference import delta_E
from stopgap.errors import InputError
from stopgap.planner.comparison.shift import estimate_shift, sign_test
from stopgap.planner.comparison.tables import cross_table
from stopgap.swatches import RangeCorrection

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


def shifted_ranges(seed, shift, n=120, m=72):
    """The second range holds the first m colours of the first, laid again and shifted."""
    rng = np.random.default_rng(seed)
    labs = np.array([random_lab(rng) for _ in range(n)])
    again = labs[:m] + rng.normal(0, 1.5, (m, 3)) + shift
    return (
        [swatch(f"{i:03d}", lab) for i, lab in enumerate(labs)],
        [swatch(f"{i:03d}", lab, range_="B") for i, lab in enumerate(again)],
    )


@pytest.mark.parametrize("shift", [(4, 0, 0), (-3, 0, 2), (2, 0, 0), (0, 2.5, 0)])
@pytest.mark.parametrize("seed", range(3))
def test_a_known_shift_is_found_and_removed_on_request(seed, shift):
    first, second = shifted_ranges(seed, shift)
    table = cross_table(first, second)
    assert table.shift.significant
    assert table.shift.lab == pytest.approx(shift, abs=0.8)
    assert "lies off the first as a whole" in table.warning
    assert not table.removed
    assert table.rows[0].delta_E == pytest.approx(
        float(delta_E(first[0].lab, table.rows[0].best.lab))
    )
    clean = cross_table(first, second, remove_shift=True)
    assert clean.removed
    same = [row for row in clean.rows if row.best.code == row.swatch.code]
    off = [row for row in table.rows if row.best.code == row.swatch.code]
    assert len(same) >= len(off)
    assert np.median([row.delta_E for row in same]) < np.median([row.delta_E for row in off])


def test_flare_is_taken_out_of_a_table_on_request():
    """Flare by the same map in reverse: XYZ' = 0.04 W + 0.97 XYZ moves dark colours most."""
    rng = np.random.default_rng(4)
    labs = np.array([random_lab(rng) for _ in range(90)])
    lit = RangeCorrection(0.04, -0.03).lab(labs[:72])
    first = [swatch(f"{i:03d}", lab) for i, lab in enumerate(labs)]
    second = [swatch(f"{i:03d}", lab, range_="B") for i, lab in enumerate(lit)]
    asis, clean = cross_table(first, second), cross_table(first, second, remove_shift=True)
    assert asis.correction is None
    assert clean.removed
    assert clean.correction.flare == pytest.approx(-0.04, abs=0.01)
    right = [sum(row.best.code == row.swatch.code for row in table.rows) for table in (asis, clean)]
    assert right[1] >= 70 > right[0]


def test_unrelated_ranges_are_rarely_said_to_be_shifted():
    alarms = 0
    for seed in range(100):
        rng = np.random.default_rng(seed)
        labs_1, labs_2 = (np.array([random_lab(rng) for _ in range(n)]) for n in (80, 60))
        alarms += estimate_shift(labs_1, labs_2, "CIE 2000").significant
    assert alarms <= 3  # the level is 1 in 100


def test_too_few_pairs_prove_nothing():
    first, second = shifted_ranges(1, (4, 0, 0), n=6, m=6)
    table = cross_table(first, second, remove_shift=True)
    assert not table.shift.significant
    assert not table.removed
    assert table.warning == ""


def test_sign_test():
    # Conover, section 3.4, from memory of the method; values by hand: 2 (1 + 10) / 1024
    assert sign_test(np.array([-1.0] + [2.0] * 9 + [0.0])) == pytest.approx(22 / 1024)
    assert sign_test(np.zeros(5)) == 1.0


@pytest.mark.parametrize("seed", range(5))
def test_sign_test_equals_the_binomial_test_of_scipy(seed):
    from scipy.stats import binomtest  # scipy 1.17

    values = np.random.default_rng(seed).normal(0.3, 1, 30)
    expected = binomtest(int((values > 0).sum()), len(values)).pvalue
    assert sign_test(values) == pytest.approx(expected)


def test_empty_ranges_are_refused():
    with pytest.raises(InputError, match="at least one swatch"):
        cross_table([], [swatch("1", (50, 0, 0))])
