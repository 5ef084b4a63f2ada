"""Larger shopping lists, formulated in another way and solved by networkx 3.6."""

import networkx as nx
import numpy as np
import pytest
from planner_oracles import ANY_END, blend_graphs, swatch

from stopgap.planner import shopping_list
from stopgap.planner.shopping.question import BlendNeed
from stopgap.swatches import FreeColour, LaidStack

pytestmark = pytest.mark.slow


def place(lab):
    return FreeColour("place", tuple(float(value) for value in lab))


def plan(needs, owned, offers):
    return shopping_list(needs, owned, offers, default_price=2.0, alternatives=0)


def closing_steps(need, laid):
    """The steps of chains that fall short of nothing, from each path to the same two ends."""
    return [
        (*((path, n) if n not in ("start", "end") else n for n in (u, v)), v)
        for path, graph in enumerate(blend_graphs(need, laid))
        for u, v, over in graph.edges(data="over")
        if over == 0.0
    ]


@pytest.mark.parametrize("seed", range(6))
def test_one_blend_of_many_pencils_equals_the_cheapest_path(seed):
    rng = np.random.default_rng(seed)
    start, end = np.array([25.0, -30, -20]), np.array([90.0, 30, 40])

    def lab():
        return start + rng.random() * (end - start) + rng.normal(0, 6, 3)

    owned = [swatch(f"{i:03d}", lab(), range_="O") for i in range(8)]
    offers = [
        swatch(f"{i:03d}", lab(), range_="B", price=float(rng.integers(1, 9))) for i in range(150)
    ]
    need = BlendNeed("long", place(start), place(end), step=9.0, width=20.0, tolerance=ANY_END)
    laid = [LaidStack.of(pencil) for pencil in owned + offers]
    steps = [
        (u, v, 0.0 if n == "end" else laid[n].swatches[0].price or 0.0)
        for u, v, n in closing_steps(need, laid)
    ]
    paths = nx.DiGraph()
    paths.add_weighted_edges_from(steps)
    answer = plan([need], owned, offers)
    assert answer.needs[0].met
    assert answer.cost == pytest.approx(nx.dijkstra_path_length(paths, "start", "end"))
    flow = nx.DiGraph()
    flow.add_node("start", demand=-1)
    flow.add_node("end", demand=1)
    flow.add_edges_from((u, v, {"weight": int(cost), "capacity": 1}) for u, v, cost in steps)
    assert answer.cost == pytest.approx(nx.min_cost_flow_cost(flow))


@pytest.mark.parametrize("seed", range(4))
def test_blends_far_apart_cost_the_sum_of_their_paths(seed):
    rng = np.random.default_rng(50 + seed)
    needs, offers, expected = [], [], 0.0
    for number, b in enumerate((-60, 0, 60)):
        start, end = np.array([20.0, -40, b]), np.array([90.0, 40, b])
        mine = [
            swatch(
                f"{number}-{i:03d}",
                start + rng.random() * (end - start) + rng.normal(0, 4, 3),
                price=float(rng.integers(1, 9)),
            )
            for i in range(45)
        ]
        limits = {"step": 20.0, "width": 25.0, "tolerance": ANY_END}
        need = BlendNeed(f"blend {number}", place(start), place(end), **limits)
        paths = nx.DiGraph()
        paths.add_weighted_edges_from(
            (u, v, 0.0 if n == "end" else mine[n].price)
            for u, v, n in closing_steps(need, [LaidStack.of(pencil) for pencil in mine])
        )
        expected += nx.dijkstra_path_length(paths, "start", "end")
        needs.append(need)
        offers += mine
    answer = plan(needs, [], offers)
    assert answer.cost == pytest.approx(expected)
