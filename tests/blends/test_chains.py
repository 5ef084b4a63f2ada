"""The best chain against networkx's bottleneck path and against exhaustive search."""

from itertools import combinations, pairwise

import networkx
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from stopgap.blends.chains import Prefer, best_chain, chain_within


def random_steps(seed: int, count: int) -> np.ndarray:
    """Links only forward, some missing; one always leads from the first to the last."""
    draw = np.random.default_rng(seed)
    steps = draw.uniform(1.0, 20.0, (count, count)).round(1)
    steps[draw.random((count, count)) < 0.3] = np.inf
    steps[np.tril_indices(count)] = np.inf
    steps[0, -1] = 25.0
    return steps


def bottleneck(steps: np.ndarray) -> float:
    """The smallest limit under which networkx (3.3 or later) finds a path."""
    for limit in np.unique(steps[np.isfinite(steps)]):
        graph = networkx.DiGraph()
        graph.add_nodes_from(range(len(steps)))
        graph.add_edges_from(np.argwhere(steps <= limit).tolist())
        if networkx.has_path(graph, 0, len(steps) - 1):
            return float(limit)
    raise AssertionError


def all_chains(steps: np.ndarray, most_links: int) -> list[tuple[int, ...]]:
    last = len(steps) - 1
    chains = [
        (0, *inner, last)
        for count in range(min(most_links, last))
        for inner in combinations(range(1, last), count)
    ]
    return [chain for chain in chains if all(np.isfinite(steps[link]) for link in pairwise(chain))]


def worth(steps: np.ndarray, chain: tuple[int, ...], prefer: Prefer) -> tuple[float, ...]:
    lengths = [float(steps[link]) for link in pairwise(chain)]
    squares = sum(length**2 for length in lengths)
    if prefer is Prefer.FEWEST:
        return max(lengths), len(lengths), squares
    return max(lengths), squares


@settings(derandomize=True, deadline=None, max_examples=60)
@given(st.integers(0, 10_000), st.integers(2, 25))
def test_largest_link_is_that_of_networkx(seed: int, count: int) -> None:
    steps = random_steps(seed, count)
    for prefer in (Prefer.FEWEST, Prefer.SMOOTHEST):
        chain = best_chain(steps, prefer)
        assert max(steps[link] for link in pairwise(chain)) == bottleneck(steps)
        assert chain[0] == 0
        assert chain[-1] == count - 1
        assert list(chain) == sorted(set(chain))


@pytest.mark.parametrize("prefer", [Prefer.FEWEST, Prefer.SMOOTHEST])
@settings(derandomize=True, deadline=None, max_examples=60)
@given(seed=st.integers(0, 10_000), count=st.integers(2, 9), most_links=st.integers(1, 9))
def test_chain_equals_exhaustive_search(
    prefer: Prefer, seed: int, count: int, most_links: int
) -> None:
    steps = random_steps(seed, count)
    chain = best_chain(steps, prefer, most_links)
    best = min(worth(steps, each, prefer) for each in all_chains(steps, most_links))
    assert len(chain) - 1 <= most_links
    np.testing.assert_allclose(worth(steps, chain, prefer), best, rtol=1e-9)


@settings(derandomize=True, deadline=None, max_examples=60)
@given(st.integers(0, 10_000), st.integers(2, 9), st.integers(10, 250).map(lambda x: x / 10 + 0.05))
def test_chain_within_a_limit_equals_exhaustive_search(seed: int, count: int, limit: float) -> None:
    steps = random_steps(seed, count)
    chain = chain_within(steps, limit)
    chains = all_chains(steps, count)
    largest = [max(steps[link] for link in pairwise(each)) for each in chains]
    reached = max(limit, min(largest))
    fewest = min(len(each) for each, most in zip(chains, largest) if most <= reached)
    assert len(chain) <= fewest
    assert max(steps[link] for link in pairwise(chain)) == min(
        most for each, most in zip(chains, largest) if len(each) <= fewest
    )


def test_two_points() -> None:
    steps = np.array([[np.inf, 7.0], [np.inf, np.inf]])
    assert best_chain(steps, Prefer.FEWEST) == best_chain(steps, Prefer.SMOOTHEST) == (0, 1)
