"""The best chain against exhaustive search, and what must hold whatever the colours."""

from itertools import combinations, pairwise

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from stopgap.blends.chain import Chain, best_chain, best_of, chain_over_all
from stopgap.blends.graph import Graph, graph_along
from stopgap.blends.path import path_through
from stopgap.difference import delta_E
from stopgap.planner.shopping.routes import Route
from stopgap.planner.solver import Clock

pytestmark = pytest.mark.slow

SEEDS = st.integers(0, 10_000)


def random_lab(seed: int, count: int) -> np.ndarray:
    return np.random.default_rng(seed).uniform([25, -45, -45], [90, 45, 45], (count, 3))


def random_graph(seed: int, count: int = 12, prefer: str = "enough", stops: int = 2) -> Graph:
    """So many colours between ends, some equal to others, some of them recipes."""
    draw = np.random.default_rng(seed)
    lab = random_lab(seed, stops + count)
    between = lab[:stops].min(axis=0) - 8.0, lab[:stops].max(axis=0) + 8.0
    lab[stops:] = draw.uniform(*between, (count, 3))
    lab[-1] = lab[-2]
    return graph_along(
        path_through(lab[:stops]),
        lab[stops:],
        [f"T:{number:02}" for number in draw.permutation(count)],
        limit=float(draw.choice([6.0, 12.0])),
        prefer=prefer,
        is_recipe=draw.random(count) < 0.2,
        must=range(1, stops - 1),
    )


def worth(graph: Graph, nodes: tuple[int, ...]) -> tuple[float, float]:
    """Shortfall and toll as they are defined, step by step, without the arrays of the graph."""
    path, limit = graph.path, graph.limit
    shortfall = toll = 0.0
    for i, j in pairwise(nodes):
        step = float(delta_E(graph.lab[i], graph.lab[j]))
        shortfall += step - limit + 1.0 if step > limit + 1e-9 else 0.0
        shares = graph.progress[[i, j]]
        ends = [graph.ucs[node] - path.at(graph.progress[node]) for node in (i, j)]
        middle = graph.ucs[[i, j]].mean(axis=0) - path.at(shares.mean())
        area = sum(w * float(o @ o) for w, o in zip((1, 4, 1), (ends[0], middle, ends[1]))) / 6
        toll += 4.0 / limit * path.length * float(shares[1] - shares[0]) * area
        first, last = path.corners[0, 0], path.corners[-1, 0]
        if abs(last - first) > 1.0:
            back = (graph.ucs[i, 0] - graph.ucs[j, 0]) * np.sign(last - first)
            toll += 4.0 * max(back, 0.0) ** 2
        if graph.prefer == "smoothest":
            toll += step**2
    for node in nodes[1:-1]:
        shortfall += max(float(graph.distance[node]) - limit, 0.0)
        a_pencil = 0.0 if graph.prefer == "smoothest" else (limit / 2.0) ** 2
        toll += 6.0 * (limit / 2.0) ** 2 if graph.is_recipe[node] else a_pencil
    return shortfall, toll


def exhaustive(graph: Graph, most: int) -> tuple[int, ...]:
    """The best of all chains; of equal ones that which has the first address they differ in."""
    last = len(graph) - 1
    must = np.flatnonzero(graph.must)[1:-1].tolist()
    best: tuple[tuple[float, float], tuple[int, ...]] | None = None
    for count in range(min(most, last - 1) + 1):
        for inner in combinations(range(1, last), count):
            nodes = (0, *inner, last)
            if not set(must) <= set(inner) or (np.diff(graph.progress[list(nodes)]) <= 1e-6).any():
                continue
            found = worth(graph, nodes)
            if best is None or better(graph, (found, nodes), best):
                best = found, nodes
    assert best is not None
    return best[1]


def better(graph: Graph, one, other) -> bool:
    for mine, theirs in zip(one[0], other[0]):
        if abs(mine - theirs) > 1e-7:
            return bool(mine < theirs)
    ranks = [{int(graph.rank[node]) for node in nodes} for _, nodes in (one, other)]
    apart = ranks[0] ^ ranks[1]
    return bool(apart) and min(apart) in ranks[0]


@pytest.mark.parametrize("prefer", ["enough", "smoothest"])
@settings(derandomize=True, deadline=None, max_examples=25)
@given(seed=SEEDS, most=st.integers(0, 12))
def test_chain_equals_exhaustive_search(prefer: str, seed: int, most: int) -> None:
    graph = random_graph(seed, prefer=prefer)
    chain = best_chain(graph, max_pencils=most)
    assert chain.nodes == exhaustive(graph, most)
    assert len(chain.nodes) <= most + 2
    np.testing.assert_allclose(
        (chain.shortfall, chain.toll), worth(graph, chain.nodes), rtol=1e-9, atol=1e-9
    )


@settings(derandomize=True, deadline=None, max_examples=15)
@given(SEEDS)
def test_without_a_limit_on_pencils_it_is_the_best_of_all(seed: int) -> None:
    graph = random_graph(seed)
    assert best_chain(graph).nodes == exhaustive(graph, len(graph))


@settings(derandomize=True, deadline=None, max_examples=40)
@given(seed=SEEDS, off=st.sampled_from([10.0, 40.0]), most=st.sampled_from([None, 3]))
def test_beginning_next_to_the_path_gives_the_chain_of_all(
    seed: int, off: float, most: int | None
) -> None:
    draw = np.random.default_rng(seed)
    ends = random_lab(seed, 2)
    lab = draw.uniform(ends.min(axis=0) - off, ends.max(axis=0) + off, (80, 3))
    lab = (lab / 4.0).round() * 4.0  # some are equal
    keys = draw.permutation(len(lab)).tolist()
    graph = graph_along(path_through(ends), lab, keys, limit=draw.choice([4.0, 9.0]), corridor=off)
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr("stopgap.blends.chain._FEW", 0)
        assert best_chain(graph, max_pencils=most) == chain_over_all(graph, most)


@settings(derandomize=True, deadline=None, max_examples=40)
@given(
    seed=SEEDS,
    most=st.sampled_from([None, 4]),
    prefer=st.sampled_from(["enough", "smoothest"]),
    stops=st.integers(2, 3),
)
def test_steps_that_better_nothing_are_not_missed(
    seed: int, most: int | None, prefer: str, stops: int
) -> None:
    graph = random_graph(seed, 60, prefer, stops)
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr("stopgap.blends.chain._MANY", len(graph))  # none left out
        every = chain_over_all(graph, most)
        patch.setattr("stopgap.blends.chain._MANY", 0)
        patch.setattr("stopgap.blends.chain._FEW", 0)
        assert chain_over_all(graph, most) == every
        assert best_chain(graph, max_pencils=most, at_most=every.shortfall + 1e-6) == every


def shown(graph: Graph, chain: Chain) -> list[int]:
    """The colours of a chain by their rows, without its ends."""
    return [int(graph.rows[node]) for node in chain.nodes[1:-1]]


@settings(derandomize=True, deadline=None, max_examples=60)
@given(SEEDS)
def test_reversed_ends_reverse_the_chain(seed: int) -> None:
    lab = random_lab(seed, 60)
    keys = np.random.default_rng(seed).permutation(58).tolist()
    found = []
    for ends in (lab[:2], lab[1::-1]):
        path = path_through(ends)
        paths = [path, path.chord()] if path.bent else [path]
        graphs = [graph_along(each, lab[2:], keys) for each in paths]
        which, chain = best_of(graphs)
        found.append((which, chain, shown(graphs[which], chain)))
    (which, chain, rows), (which_back, back, rows_back) = found
    assert (which, rows) == (which_back, rows_back[::-1])
    np.testing.assert_allclose(
        (chain.shortfall, chain.toll), (back.shortfall, back.toll), rtol=1e-9, atol=1e-9
    )


@settings(derandomize=True, deadline=None, max_examples=40)
@given(SEEDS)
def test_what_is_not_in_the_chain_changes_nothing_and_more_never_harms(seed: int) -> None:
    lab = random_lab(seed, 50)
    path = path_through(lab[:2])

    def solved(rows: np.ndarray) -> tuple[Chain, list[int]]:
        graph = graph_along(path, lab[rows], rows.tolist())
        chain = best_chain(graph)
        return chain, [int(rows[row]) for row in shown(graph, chain)]

    rows = np.arange(2, 50)
    chain, used = solved(rows)
    for out in np.random.default_rng(seed).choice(rows, 6, replace=False).tolist():
        fewer, left = solved(rows[rows != out])
        assert fewer.shortfall >= chain.shortfall - 1e-9
        if out not in used:
            assert (fewer.shortfall, fewer.toll, left) == (chain.shortfall, chain.toll, used)


def test_a_pencil_at_a_stop_is_never_passed_by() -> None:
    graph = random_graph(3, stops=3)
    (stop,) = np.flatnonzero(graph.must)[1:-1]
    assert stop in best_chain(graph).nodes
    assert stop in best_chain(graph, max_pencils=0).nodes
    shortfall, toll = graph.from_node(int(stop) - 1)
    assert np.isinf(shortfall[1:]).all()
    assert np.isinf(toll[1:]).all()


@settings(max_examples=10, deadline=None)
@given(SEEDS, st.sampled_from(["enough", "smoothest"]))
def test_steps_from_several_nodes_are_those_from_each(seed: int, prefer: str) -> None:
    graph = random_graph(seed, 14, prefer, stops=4)
    first, end = len(graph) // 4, len(graph) - 1
    together = graph.from_nodes(first, end)
    for row, i in enumerate(range(first, end)):
        passed = np.cumsum(graph.must[i + 1 :]) > graph.must[i + 1 :]
        alone = graph.step(i, np.arange(i + 1, len(graph)))
        for found, expected in zip(together, alone, strict=True):
            assert np.isinf(found[row, :row]).all()
            assert np.array_equal(found[row, row:], np.where(passed, np.inf, expected))


def test_of_equal_colours_the_first_address_is_taken() -> None:
    lab = [[60.0, 0.0, 0.0]] * 3
    for keys in (["b", "a", "c"], ["c", "b", "a"]):
        graph = graph_along(path_through([(70, 0, 0), (50, 0, 0)]), lab, keys)
        assert [keys[row] for row in shown(graph, best_chain(graph))] == ["a"]


def test_only_what_is_available_is_used() -> None:
    graph = random_graph(8)
    nodes = best_chain(graph).nodes
    available = np.ones(len(graph), dtype=bool)
    available[nodes[1]] = False
    assert nodes[1] not in best_chain(graph, available=available).nodes
    none = best_chain(graph, available=np.zeros(len(graph), dtype=bool))
    assert none.nodes == (0, len(graph) - 1)


@settings(derandomize=True, deadline=None, max_examples=20)
@given(SEEDS)
def test_of_those_alike_the_first_stands_for_all(seed: int) -> None:
    draw = np.random.default_rng(seed)
    lab = np.repeat(random_lab(seed, 4), 3, axis=0)
    ends = lab.min(axis=0) - 4.0, lab.max(axis=0) + 4.0
    keys = [f"T:{number:02}" for number in draw.permutation(len(lab))]
    recipes = np.tile([False, False, True], 4)
    graph = graph_along(path_through(ends), lab, keys, is_recipe=recipes, corridor=100.0)
    first, which = graph.once()
    assert first.sum() == 8 + 2  # a pencil and a recipe of each colour, and the ends
    for node, place in enumerate(which):
        same = np.flatnonzero(first)[place]
        assert first[node] == (same == node)
        assert graph.rank[same] <= graph.rank[node]
        assert (graph.lab[same] == graph.lab[node]).all()
        for every, its in zip(graph.from_node(same), graph.from_node(node)):
            np.testing.assert_array_equal(every[node - same :], its)
    assert best_chain(graph) == chain_over_all(graph)
    steps = Route(graph, np.full((len(graph), 1), -1)).shortfall(Clock(None))
    for node in range(len(graph) - 1):
        plain = graph.from_node(node)[0] + graph.tube[node + 1 :]
        np.testing.assert_array_equal(steps[node, node + 1 :], plain)


@settings(derandomize=True, deadline=None, max_examples=20)
@given(SEEDS)
def test_part_of_a_graph_is_the_graph_of_that_part(seed: int) -> None:
    graph = random_graph(seed)
    nodes = best_chain(graph).nodes
    middle = nodes[len(nodes) // 2]
    parts = best_chain(graph.part(0, middle)), best_chain(graph.part(middle, len(graph) - 1))
    joined = (*parts[0].nodes[:-1], *(node + middle for node in parts[1].nodes))
    assert joined == nodes
