"""What numpy has as well, but with masked arrays, gives the same to the last bit."""

import numpy as np
import pytest

from stopgap.arrays import alike_rows, distinct, median

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


@pytest.mark.parametrize(
    "rows",
    [
        np.empty((0, 3)),
        np.array([[0.0, 1.0], [-0.0, 1.0], [0.0, 1.0], [1.0, 0.0], [0.5, 2.0**-40], [1.0, 0.0]]),
        RNG.integers(0, 3, (400, 4)).astype(np.float64),
        RNG.normal(size=(30, 37))[RNG.integers(0, 30, 500)],
    ],
    ids=["none", "zeros of either sign", "small whole numbers", "layers that come again"],
)
def test_rows_that_are_alike_in_every_bit_are_found_once_in_the_order_they_come(rows):
    first, place = alike_rows(rows)
    known = dict.fromkeys(row.tobytes() for row in rows)
    assert [rows[at].tobytes() for at in first] == [*known]
    assert [rows[first[at]].tobytes() for at in place] == [row.tobytes() for row in rows]
