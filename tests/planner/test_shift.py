"""A systematic shift between ranges: found where there is one, left alone where there is none."""

import numpy as np
import pytest

from stopgap.errors import InputError
from stopgap.planner import shift_of_pairs
from stopgap.swatches import Swatch


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
    assert (found.before, found.after) == (0, 0)
    assert not found.significant


def test_too_few_or_repeated_pairs():
    with pytest.raises(InputError, match="4 are too few"):
        shift_of_pairs(pairs((0, 0, 0), 1.0, count=4))
    five = pairs((0, 0, 0), 1.0, count=5)
    with pytest.raises(InputError, match="One:0 is named twice"):
        shift_of_pairs([*five, five[0]])
