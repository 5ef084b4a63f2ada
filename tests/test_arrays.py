"""What numpy has as well, but with masked arrays, gives the same to the last bit."""

import numpy as np
import pytest

from stopgap.arrays import distinct, median

RNG = np.random.default_rng(5)


@pytest.mark.parametrize("shape", [(1,), (2,), (7,), (4, 5), (3, 4, 6)])
def test_medians_are_those_of_numpy(shape):
    values = RNG.normal(size=shape)
    np.testing.assert_array_equal(median(values), np.median(values, axis=-1))
    values[..., 0] = np.inf
    np.testing.assert_array_equal(median(values), np.median(values, axis=-1))


@pytest.mark.parametrize(
    "values",
    [
        np.empty(0),
        RNG.integers(-4, 4, 30),
        np.array([[2.0, -np.inf, 2.0], [np.inf, np.inf, -1.5]]),
    ],
)
def test_distinct_values_are_those_of_numpy(values):
    np.testing.assert_array_equal(distinct(values), np.unique(values))
