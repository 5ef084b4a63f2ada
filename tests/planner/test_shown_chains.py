"""Chains through sorted colours: equal to trying every chain."""

import itertools

import networkx as nx
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from stopgap.planner.chains import best_chain, excess, least_largest, least_sums, needless

seeds = st.integers(0, 10**6)


def random_steps(seed, n, *, holes=0.2):
    """Whole steps, so that ties occur; start to end in one step is always there."""
    rng = np.random.default_rng(seed)
    steps = rng.integers(1, 30, (n, n)).astype(float)
    steps[rng.random((n, n)) < holes] = np.inf
    steps[~np.triu(np.ones((n, n), dtype=bool), 1)] = np.inf
    steps[0, -1] = 29.0
    return steps


def every_chain(steps, available):
    inner = [i for i in range(1, len(steps) - 1) if available[i]]
    for size in range(len(inner) + 1):
        for middle in itertools.combinations(inner, size):
            chain = [0, *middle, len(steps) - 1]
            made = [steps[i, j] for i, j in itertools.pairwise(chain)]
            if np.isfinite(made).all():
                yield chain, made


@settings(derandomize=True, deadline=None, max_examples=150)
@given(seeds, st.integers(2, 9), st.floats(1, 25))
def test_best_chain_equals_every_chain(seed, n, limit):
    steps = random_steps(seed, n)
    available = np.random.default_rng(seed).random(n) < 0.7
    best = min(
        (
            round(sum(max(0.0, step - limit) for step in made), 6),
            max(made),
            len(chain),
            sum(step**2 for step in made),
            chain,
        )
        for chain, made in every_chain(steps, available)
    )
    assert best_chain(steps, limit, available) == best[-1]


@settings(derandomize=True, deadline=None, max_examples=80)
@given(seeds, st.integers(2, 9), st.floats(1, 25))
def test_best_chain_of_least_burden_equals_every_chain(seed, n, limit):
    steps = random_steps(seed, n)
    rng = np.random.default_rng(seed)
    available, burden = rng.random(n) < 0.8, rng.integers(0, 2, n).astype(float)
    best = min(
        (
            round(sum(max(0.0, step - limit) for step in made), 6),
            burden[chain[1:]].sum(),
            max(made),
            len(chain),
            sum(step**2 for step in made),
            chain,
        )
        for chain, made in every_chain(steps, available)
    )
    assert best_chain(steps, limit, available, burden) == best[-1]


@settings(derandomize=True, deadline=None, max_examples=60)
@given(seeds, st.integers(2, 25))
def test_least_largest_step_equals_the_bottleneck_of_networkx(seed, n):
    steps = random_steps(seed, n)
    directed = nx.DiGraph()
    directed.add_weighted_edges_from(
        (i, j, steps[i, j]) for i in range(n) for j in range(n) if np.isfinite(steps[i, j])
    )
    threshold = min(
        limit
        for limit in np.unique(steps[np.isfinite(steps)])
        if nx.has_path(
            nx.subgraph_view(directed, filter_edge=lambda u, v, w=limit: steps[u, v] <= w), 0, n - 1
        )
    )
    assert least_largest(steps) == threshold


@settings(derandomize=True, deadline=None, max_examples=60)
@given(seeds, st.integers(2, 25))
def test_least_sums_equal_dijkstra(seed, n):
    steps = random_steps(seed, n)
    graph = nx.DiGraph()
    graph.add_nodes_from(range(n))
    graph.add_weighted_edges_from(
        (i, j, steps[i, j]) for i in range(n) for j in range(n) if np.isfinite(steps[i, j])
    )
    from_start, to_end = least_sums(steps)
    ahead = nx.single_source_dijkstra_path_length(graph, 0)
    back = nx.single_source_dijkstra_path_length(graph.reverse(), n - 1)
    assert from_start == pytest.approx([ahead.get(i, np.inf) for i in range(n)])
    assert to_end == pytest.approx([back.get(i, np.inf) for i in range(n)])


@settings(derandomize=True, deadline=None, max_examples=500)
@given(seeds, st.integers(3, 8), st.floats(3, 25), st.floats(0, 1))
def test_leaving_needless_steps_out_loses_nothing(seed, n, limit, share):
    steps = random_steps(seed, n)
    rng = np.random.default_rng(seed + 1)
    free = rng.random(n) < 0.5
    lean = np.where(needless(steps, limit, free), np.inf, steps)
    there = free | (rng.random(n) < share)  # whatever else is there
    there[[0, -1]] = True
    usable = there[:, np.newaxis] & there
    for highest in (np.inf, 20.0, 12.0, limit):  # and whatever steps are closed

        def least(these, highest=highest):
            kept = np.where(usable & (these <= highest), these, np.inf)
            return least_sums(excess(kept, limit))[1][0], least_largest(kept)

        assert least(lean)[0] == pytest.approx(least(steps)[0])
        assert least(lean)[1] == least(steps)[1]
