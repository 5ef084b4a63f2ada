"""A systematic shift between ranges: found where there is one, left alone where there is none."""

import numpy as np
import pytest
from coloraide import Color

from stopgap.difference import delta_E
from stopgap.errors import InputError, NothingFoundError, Remedy
from stopgap.library.flare import find_unpaired, fit_pairs
from stopgap.planner import shift_of_pairs, shift_without_pairs
from stopgap.swatches import Swatch

pytestmark = pytest.mark.slow


def pairs(offset, scatter, count=12, seed=3):
    generator = np.random.default_rng(seed)
    lab = np.column_stack(
        [generator.uniform(30, 80, count), generator.uniform(-40, 40, (count, 2))]
    )
    moved = lab + offset + generator.normal(0, scatter, lab.shape)
    return [
        (
            Swatch("One", f"{row}", tuple(map(float, lab[row]))),
            Swatch("Two", f"{row}", tuple(map(float, moved[row]))),
        )
        for row in range(count)
    ]


def test_a_shift_is_found_with_its_uncertainty():
    found = shift_of_pairs(pairs((1.0, -0.5, 2.0), 0.4))
    # a mean of 12 with a standard deviation of 0.4: 0.115 (GUM, JCGM 100:2008, 4.2.3)
    np.testing.assert_allclose(found.standard_errors, 0.4 / np.sqrt(12), rtol=0.5)
    off = np.subtract(found.offset, (1.0, -0.5, 2.0)) / found.standard_errors
    assert np.abs(off).max() < 3
    assert found.significant
    assert found.after < 0.5 * found.before


def test_chance_is_told_from_a_shift_as_often_as_stated():
    # no shift at all: 5 in 100 are called significant
    called = sum(
        shift_of_pairs(pairs((0, 0, 0), 0.5, count=8, seed=seed)).significant for seed in range(400)
    )
    assert 0.02 < called / 400 < 0.085


def test_the_probability_is_scipys():
    found = pairs((0.3, 0.1, -0.2), 0.5)
    steps = np.array([np.subtract(other.lab, one.lab) for one, other in found])
    # Hotelling's T² by hand, its F by scipy.stats 1.17
    from scipy.stats import f

    squared = 12 * steps.mean(0) @ np.linalg.inv(np.cov(steps.T)) @ steps.mean(0)
    expected = f.sf(squared * 9 / 33, 3, 9)
    assert shift_of_pairs(found).chance == pytest.approx(expected, rel=1e-6)


def test_equal_measurements():
    same = [(one, one) for one, _ in pairs((0, 0, 0), 0.0)]
    found = shift_of_pairs(same)
    assert (found.before, found.after) == pytest.approx((0, 0), abs=1e-9)
    assert not found.significant


def test_too_few_or_repeated_pairs():
    with pytest.raises(InputError, match="4 are too few"):
        shift_of_pairs(pairs((0, 0, 0), 1.0, count=4))
    five = pairs((0, 0, 0), 1.0, count=5)
    with pytest.raises(InputError, match="One:0 is named twice"):
        shift_of_pairs([*five, five[0]])


# flare and gain


def colours(count, seed=3):
    generator = np.random.default_rng(seed)
    return np.column_stack(
        [generator.uniform(25, 85, count), generator.uniform(-45, 45, (count, 2))]
    )


def lit(labs, flare, gain):
    """Flare and gain by coloraide's conversions, not by ours: XYZ' = β·W + (1 + α)·XYZ."""
    xyz = [Color("lab", list(lab)).convert("xyz-d50").coords() for lab in labs]
    white = Color("lab", [100, 0, 0]).convert("xyz-d50").coords()
    moved = flare * np.array(white) + (1 + gain) * np.array(xyz)
    return np.array([Color("xyz-d50", list(each)).convert("lab").coords() for each in moved])


def test_flare_and_gain_are_found_from_five_pairs():
    labs = colours(5)
    found = fit_pairs(labs, lit(labs, 0.03, -0.06))
    assert found.flare == pytest.approx(0.03, abs=0.003)
    assert found.gain == pytest.approx(-0.06, abs=0.01)  # its prior is about 0
    assert found.affine == ()
    others = colours(50, seed=4)
    assert delta_E(found.lab(others), lit(others, 0.03, -0.06)).max() < 0.5


def test_the_doubt_of_a_correction_is_that_of_pairs_left_out():
    """Stated against the root mean square over colours that were not fitted: within a quarter."""
    generator = np.random.default_rng(8)
    stated, off = [], []
    for seed in range(6):
        labs, fresh = colours(9, seed), colours(100, seed + 50)
        found = fit_pairs(labs, lit(labs, 0.03, -0.06) + generator.normal(0, 1.2, labs.shape))
        truth = lit(fresh, 0.03, -0.06) + generator.normal(0, 1.2, fresh.shape)
        stated.append(3 * (found.own**2 + found.shared**2))
        off.append(np.mean(delta_E(found.lab(fresh), truth) ** 2))
    assert np.sqrt(np.mean(stated) / np.mean(off)) == pytest.approx(1.0, abs=0.25)


def test_from_ten_pairs_what_is_left_is_mended_in_lab():
    labs, fresh = colours(16), colours(60, seed=5)

    def turned(some):
        return lit(some, 0.02, 0.0) * [1.0, 1.06, 0.95] + [0.0, 1.5, 0.0]

    found = fit_pairs(labs, turned(labs))
    assert len(found.affine) == 3
    plain = found._replace(affine=())
    left = [np.mean(delta_E(each.lab(fresh), turned(fresh))) for each in (found, plain)]
    assert left[0] < 0.5 * left[1]


def test_without_pairs_flare_is_found_and_none_is_invented():
    labs = colours(72)
    generator = np.random.default_rng(2)
    wobble = generator.normal(0, 0.7, labs.shape)
    found = find_unpaired(lit(labs, 0.03, 0.0) + wobble, labs)
    assert found is not None
    assert found.flare == pytest.approx(-0.03, abs=0.01)
    assert find_unpaired(labs + wobble, labs) is None
    assert find_unpaired(labs, colours(72, seed=9)) is None
    assert find_unpaired(labs[:10], labs) is None


def test_a_shift_without_pairs_says_so_or_asks_for_them():
    labs = colours(72)
    ours = [Swatch("One", f"{row}", tuple(map(float, lab))) for row, lab in enumerate(labs)]
    moved = lit(labs, 0.03, 0.0).tolist()
    theirs = [Swatch("Two", f"{row}", tuple(lab)) for row, lab in enumerate(moved)]
    found = shift_without_pairs(ours, theirs)
    assert not found.named
    assert found.after < 0.3 * found.before
    with pytest.raises(NothingFoundError) as refused:
        shift_without_pairs(ours, ours)
    assert refused.value.remedy is Remedy.NAME_PAIRS
