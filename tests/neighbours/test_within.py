"""What lies within reach, against the whole table of differences."""

import itertools

import numpy as np
import pytest

from stopgap.difference import delta_E
from stopgap.neighbours import SwatchIndex
from stopgap.neighbours.within import nearest_within, pairs_perhaps_within


@pytest.mark.parametrize("allowing", [False, True])
@pytest.mark.parametrize("n", [0, 3, 700])
def test_everything_within_reach_and_at_least_the_nearest(n, allowing):
    random = np.random.default_rng(n)
    labs = np.round(random.uniform([0, -30, -30], [100, 30, 30], (n, 3)), -1)  # with ties
    targets = random.uniform([0, -30, -30], [100, 30, 30], (70, 3))
    reach = np.tile([0.0, 5.0, 25.0, 70.0, np.inf], 14)
    allowed = random.random(n) < 0.7 if allowing else None
    found = [*nearest_within(SwatchIndex(labs), targets, reach, allowed)]
    assert len(found) == len(targets)
    for target, limit, near in zip(targets, reach, found):
        apart = np.full(n, np.inf) if n == 0 else delta_E(target, labs)
        apart = apart if allowed is None else np.where(allowed, apart, np.nan)
        order = np.argsort(apart, kind="stable")
        within = order[apart[order] <= max(limit, np.nanmin(apart, initial=np.inf))]
        assert near.rows.tolist() == within.tolist()
        assert near.delta_E == pytest.approx(apart[within])


@pytest.mark.parametrize("n", [1, 2, 70, 700])
@pytest.mark.parametrize("limit", [0.0, 6.0, 20.0])
def test_no_pair_within_is_ruled_out_and_none_comes_twice(n, limit):
    random = np.random.default_rng(n)
    labs = np.round(random.uniform([0, -90, -90], [100, 90, 90], (n, 3)), -1)  # with equals
    found = [pair for some in pairs_perhaps_within(labs, limit) for pair in zip(*some)]
    every = itertools.combinations(range(n), 2)
    apart = delta_E(labs[:, np.newaxis], labs)
    assert {pair for pair in every if apart[pair] <= limit} <= set(found)
    assert len(set(found)) == len(found)
    if n == 700 and limit < 10.0:
        assert len(found) < n * (n - 1) / 4
