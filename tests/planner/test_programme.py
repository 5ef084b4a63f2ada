"""What a programme leaves out loses nothing: steps and colours, against every chain."""

import itertools
import subprocess
import sys

import highspy
import networkx as nx
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import linear_sum_assignment
from scipy.sparse.csgraph import csgraph_from_dense, dijkstra

from stopgap.blends.graph import ROUNDING, graph_along
from stopgap.blends.path import path_through
from stopgap.planner.highs import SimplexBasis
from stopgap.planner.shopping import routes
from stopgap.planner.shopping.lean.columns import RouteSteps
from stopgap.planner.shopping.routes import Route
from stopgap.planner.shopping.steps import dominated, least_sums, needless_steps, on_chains
from stopgap.planner.solver import TOLERANCE, Clock, Programme, assign

seeds = st.integers(0, 10**6)


def random_costs(seed, n, *, holes=0.2, most=12):
    """Two whole costs a step, so that ties occur; start to end in one step is always there."""
    rng = np.random.default_rng(seed)
    costs = rng.integers(0, most, (2, n, n)).astype(float)
    closed = rng.random((n, n)) < holes
    closed |= ~np.triu(np.ones((n, n), dtype=bool), 1)
    closed[0, -1] = False
    costs[:, closed] = np.inf
    return costs


def pareto(shortfall, toll, there):
    """The least toll of a chain through what is there, for each shortfall it may have at most."""
    inner = [i for i in range(1, len(there) - 1) if there[i]]
    best = {}
    for size in range(len(inner) + 1):
        for middle in itertools.combinations(inner, size):
            steps = list(itertools.pairwise([0, *middle, len(there) - 1]))
            short, cost = (sum(part[i, j] for i, j in steps) for part in (shortfall, toll))
            if np.isfinite(short):
                best[short] = min(cost, best.get(short, np.inf))
    front, least = {}, np.inf
    for short in sorted(best):
        if best[short] < least:
            front[short] = least = best[short]
    return front


def left(cost, out):
    return np.where(out, np.inf, cost)


@settings(derandomize=True, deadline=None, max_examples=60)
@given(seeds, st.integers(2, 25))
def test_least_sums_equal_dijkstra_of_networkx(seed, n):
    steps = random_costs(seed, n)[0]
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


def test_least_sums_are_those_of_dijkstra_to_the_last_bit():
    for seed in range(20):
        steps = random_costs(seed, 40)[0] * np.random.default_rng(seed).random((40, 40))
        ahead, back = (csgraph_from_dense(each, null_value=np.inf) for each in (steps, steps.T))
        from_start, to_end = least_sums(steps)
        assert (from_start == dijkstra(ahead, indices=[0])[0]).all()
        assert (to_end == dijkstra(back, indices=[39])[0]).all()


@settings(derandomize=True, deadline=None, max_examples=60)
@given(seeds, st.integers(2, 9))
def test_the_cheapest_chains_are_each_the_cheapest_through_a_node_that_is_new(seed, n):
    draw = np.random.default_rng(seed)
    kept = np.isfinite(random_costs(seed, n)[0])
    cost = np.append(0.0, draw.integers(0, 9, n - 1).astype(float))
    cost[(draw.random(n) < 0.2) & (np.arange(n) % (n - 1) > 0)] = np.inf
    part = RouteSteps.of(0, np.arange(n)[:, np.newaxis], kept)
    every = [
        frozenset([0, *middle, n - 1])
        for size in range(n - 1)
        for middle in itertools.combinations(range(1, n - 1), size)
        if all(kept[step] for step in itertools.pairwise([0, *middle, n - 1]))
    ]

    def worth(chain):
        return float(cost[[*chain]].sum())

    least, found = part.cheapest(cost, 4)
    assert least == min(map(worth, every)) == worth(found[0])
    for place, chain in enumerate(found):
        assert chain in every
        new = set(range(n)).difference(*found[:place])
        assert worth(chain) == min(worth(one) for one in every if one & new)


@settings(derandomize=True, deadline=None, max_examples=60)
@given(seeds, st.integers(2, 8), st.integers(0, 30))
def test_steps_on_chains_of_at_most_a_sum(seed, n, most):
    steps = random_costs(seed, n)[0]
    found = np.zeros((n, n), dtype=bool)
    for size in range(n - 1):
        for middle in itertools.combinations(range(1, n - 1), size):
            chain = list(itertools.pairwise([0, *middle, n - 1]))
            if sum(steps[i, j] for i, j in chain) <= most:
                for i, j in chain:
                    found[i, j] = True
    assert (on_chains(steps, most) == found).all()


@settings(derandomize=True, deadline=None, max_examples=300)
@given(seeds, st.integers(3, 8), st.floats(0, 1))
def test_leaving_needless_steps_out_loses_nothing(seed, n, share):
    shortfall, toll = random_costs(seed, n)
    rng = np.random.default_rng(seed + 1)
    free = rng.random(n) < 0.5
    free[[0, -1]] = True
    out = needless_steps(shortfall, toll, free)
    there = free | (rng.random(n) < share)  # whatever else is there
    assert pareto(left(shortfall, out), left(toll, out), there) == pareto(shortfall, toll, there)
    out = needless_steps(shortfall, None, free)  # whatever the toll
    lean, full = (pareto(part, part, there) for part in (left(shortfall, out), shortfall))
    assert lean == full


@settings(derandomize=True, deadline=None, max_examples=300)
@given(seeds, st.integers(3, 9), st.floats(0, 1))
def test_leaving_dominated_colours_out_loses_nothing(seed, n, share):
    shortfall, toll = random_costs(seed, n, holes=0.05, most=6)
    rng = np.random.default_rng(seed + 1)
    free = rng.random(n) < 0.6
    free[[0, -1]] = True
    out = dominated(shortfall, toll, free)
    assert not out[free].any()
    there = free | (rng.random(n) < share)
    assert pareto(shortfall, toll, there & ~out) == pareto(shortfall, toll, there)


def test_a_colour_between_two_owned_that_are_as_near_is_dominated():
    # 1 and 3 are owned, 2 is for sale: through 1 both steps are no dearer, and past both one may go
    shortfall = np.full((5, 5), np.inf)
    shortfall[np.triu_indices(5, 1)] = 0.0
    toll = np.where(np.isfinite(shortfall), 4.0, np.inf)
    free = np.array([True, True, False, True, True])
    assert dominated(shortfall, toll, free).tolist() == [False, False, True, False, False]
    toll[1, 4] = 9.0  # from 1 the end is now dearer than through 2 ...
    toll[0, 4], toll[0, 3], toll[1, 3] = 9.0, 9.0, 9.0
    toll[3, 4] = 9.0  # ... and so it is through 3 and straight on
    assert not dominated(shortfall, toll, free).any()


def test_the_assignment_loaded_by_itself_is_that_of_scipy():
    """With ties, so that the same of several equal answers is taken."""
    rng = np.random.default_rng(4)
    for rows in range(1, 9):
        for most in (3, 1000):
            cost = rng.integers(0, most, (rows, rows + most % 7)).astype(float)
            np.testing.assert_array_equal(assign(cost), linear_sum_assignment(cost)[1])
    code = (
        "import sys, numpy; from stopgap.planner.solver import assign; "
        "print(assign(1 - numpy.eye(3)), 'scipy.optimize' in sys.modules)"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True)
    assert done.stdout == "[0 1 2] False\n", done.stderr


def random_programme(rng):
    """A small programme of whole variables, entries given twice, and the dense form of the same."""
    n, m = rng.integers(1, 7), rng.integers(0, 5)
    programme, dense = Programme(), np.zeros((m, n))
    programme.add_variables(n, whole=True)
    count = 3 * m
    rows, places = rng.integers(0, max(m, 1), count), rng.integers(0, n, count)
    values = rng.integers(-4, 5, count).astype(float)
    np.add.at(dense, (rows, places), values)
    lower = rng.integers(-6, 3, m).astype(float)
    upper = np.where(rng.random(m) < 0.3, np.inf, lower + rng.integers(0, 5, m))
    if m:
        programme.add_rows(rows, places, values, lower, upper)
    return programme, dense, lower, upper, np.flatnonzero(rng.random(n) < 0.2)


def test_a_programme_against_every_choice():
    rng = np.random.default_rng(12)
    infeasible = 0
    for _ in range(300):
        programme, dense, lower, upper, closed = random_programme(rng)
        cost = rng.normal(size=programme.size).round(2)
        choices = np.array(list(itertools.product([0.0, 1.0], repeat=programme.size)))
        sums = choices @ dense.T
        allowed = ((sums >= lower) & (sums <= upper)).all(1) & (choices[:, closed] == 0).all(1)
        found = programme.minimise(cost, Clock(None), closed)
        infeasible += found.infeasible
        assert found.infeasible == (not allowed.any()) == (found.values is None)
        if allowed.any():
            least = (choices[allowed] @ cost).min()
            assert found.proved
            assert cost @ found.values == pytest.approx(least, abs=TOLERANCE)
            assert found.bound == pytest.approx(least, abs=TOLERANCE)
    assert 30 < infeasible < 200


@pytest.mark.parametrize("beyond", [-0.7, 0.0, 0.4, 3.0])
def test_what_is_known_changes_no_answer(beyond):
    """Be it what is least or more, and where nothing at all is so little."""
    rng = np.random.default_rng(14)
    for _ in range(80):
        programme, *_, closed = random_programme(rng)
        cost = rng.normal(size=programme.size).round(2)
        plain = programme.minimise(cost, Clock(None), closed)
        least = 0.0 if plain.values is None else float(cost @ plain.values)
        found = programme.minimise(cost, Clock(None), closed, known=least + beyond + 1e-9)
        assert (found.infeasible, found.proved) == (plain.infeasible, plain.proved)
        if plain.values is not None:
            assert cost @ found.values == pytest.approx(least, abs=TOLERANCE)
            assert found.bound == pytest.approx(least, abs=TOLERANCE)


def test_what_is_below_a_bound_is_found_and_nothing_else_is():
    rng = np.random.default_rng(15)
    for _ in range(80):
        programme, *_, closed = random_programme(rng)
        cost = rng.normal(size=programme.size).round(2)
        plain = programme.minimise(cost, Clock(None), closed)
        if plain.values is None:
            continue
        least = float(cost @ plain.values)
        for off in (0.5, -0.5):
            sought = {"objective_bound": least + off}
            found = programme.minimise(cost, Clock(None), closed, options=sought)
            if off > 0.0:
                assert cost @ found.values == pytest.approx(least, abs=TOLERANCE)
            else:
                assert found.values is None or cost @ found.values >= least - TOLERANCE


def test_no_choice_with_a_variable_costs_less_than_its_floor():
    rng = np.random.default_rng(13)
    above = 0
    for _ in range(200):
        programme, dense, lower, upper, closed = random_programme(rng)
        programme.close(closed)
        cost = rng.integers(0, 5, programme.size).astype(float)
        choices = np.array(list(itertools.product([0.0, 1.0], repeat=programme.size)))
        sums = choices @ dense.T
        allowed = ((sums >= lower) & (sums <= upper)).all(1) & (choices[:, closed] == 0).all(1)
        floors = programme.floors(cost, Clock(None))
        assert np.isinf(floors[closed]).all()
        for choice in choices[allowed]:
            assert (floors[choice > 0] <= cost @ choice + 1e-9).all()
        if allowed.any():
            above += (floors > (choices[allowed] @ cost).min() + 0.1)[np.isfinite(floors)].sum()
    assert above > 100
    assert (programme.floors(cost, Clock(0.0)) <= 0.0).sum() == programme.size - len(closed)


def knapsacks(n=60, m=40):
    """A programme whose proof takes much longer than its first answers."""
    rng = np.random.default_rng(1)
    programme = Programme()
    programme.add_variables(n, whole=True)
    rows, places = (part.ravel() for part in np.indices((m, n)))
    values = rng.integers(0, 9, m * n).astype(float)
    programme.add_rows(rows, places, values, np.full(m, -np.inf), np.full(m, 40.0))
    return programme, -rng.random(n)


def test_what_is_proved_when_the_time_is_over():
    programme, cost = knapsacks()
    before = programme.minimise(cost, Clock(1e-6))  # not even begun
    assert (before.values, before.bound, before.proved, before.infeasible) == (
        None,
        -np.inf,
        False,
        False,
    )
    short = programme.minimise(cost, Clock(0.1))
    assert not short.infeasible
    if short.values is not None and not short.proved:  # as a rule
        assert short.bound <= cost @ short.values


def test_somebody_else_uses_the_same_solver_with_more_threads(capfd):
    programme, cost = knapsacks(20, 10)
    alone = programme.minimise(cost, Clock(None))
    assert capfd.readouterr().out == ""
    finished = True  # by place: the argument has no name in older releases
    highspy.Highs.resetGlobalScheduler(finished)
    others = highspy.Highs()
    others.silent()
    others.setOptionValue("threads", 2)
    try:
        assert others.run() == highspy.HighsStatus.kOk
        beside = programme.minimise(cost, Clock(None))
    finally:
        highspy.Highs.resetGlobalScheduler(finished)
    assert beside.proved
    assert beside.bound == alone.bound
    np.testing.assert_array_equal(beside.values, alone.values)


@pytest.mark.parametrize("limit", [6.0, 12.0])
def test_steps_without_gaps_are_those_of_all_shortfalls(limit, monkeypatch):
    monkeypatch.setattr(routes, "_FEW", 0)
    draw, found = np.random.default_rng(5), 0
    for stops in (2, 2, 3):
        ends = draw.uniform([25, -45, -45], [90, 45, 45], (stops, 3))
        lab = draw.uniform(ends.min(axis=0) - 8, ends.max(axis=0) + 8, (900, 3))
        lab[-50:] = lab[:50]
        graph = graph_along(
            path_through(ends), lab, list(range(900)), limit=limit, must=range(1, stops - 1)
        )
        missing = np.arange(len(graph))[:, np.newaxis]
        route = Route(graph, missing).near(0.0)
        plain = on_chains(route.shortfall(Clock(None)), ROUNDING)
        assert (route.steps_within(ROUNDING, Clock(None)) == plain).all()
        found += plain.sum()
    assert found


def test_simplex_that_goes_on_where_it_stood_proves_what_it_proves_from_the_beginning():
    """Columns, and rows with them, are added, and one is opened that was held at 0 before."""
    rng = np.random.default_rng(5)
    stood, taken = SimplexBasis.none(), []
    for size in (2, 5, 20):
        programme = Programme()
        things = programme.add_variables(12)
        taken += [rng.choice(12, 3, replace=False) for _ in range(size - len(taken))]
        programme.close(np.setdiff1d(things, np.concatenate(taken)))
        for need in range(4):
            programme.add_row(things[need::4], np.ones(3), 1.0, np.inf)
        ways = programme.add_variables(size)
        programme.add_row(ways, np.ones(size), 1.0, 1.0)
        for way, its in zip(ways, taken, strict=True):
            for thing in its:
                programme.add_row(np.array([way, thing]), np.array([1.0, -1.0]), -np.inf, 0.0)
        cost = np.zeros(programme.size)
        cost[things] = np.arange(12) % 5 + 1.0
        plain, going_on = (programme.relaxed(cost, Clock(None), begin) for begin in (None, stood))
        assert plain.basis is None
        assert going_on.value == pytest.approx(plain.value, abs=1e-7)
        assert going_on.bound == pytest.approx(plain.bound, abs=1e-7)
        assert going_on.bound <= going_on.value + 1e-7
        stood = going_on.basis
        assert (stood.columns == 1).sum() + (stood.rows == 1).sum() == programme.n_rows
