"""Larger shopping lists, formulated in another way and solved by networkx 3.6."""

import networkx as nx
import numpy as np
import pytest
from planner_oracles import as_is, blend_graph, swatch

from stopgap.planner.shopping import shopping_list
from stopgap.planner.shopping.needs import BlendNeed
from stopgap.swatches import FreeColour, LaidStack


def place(lab):
    return FreeColour("place", tuple(float(value) for value in lab))


def plan(needs, owned, offers):
    return shopping_list(needs, owned, offers, default_price=2.0, space=as_is, alternatives=0)


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
    need = BlendNeed("long", place(start), place(end), step=9.0, width=20.0)
    ways = [LaidStack.of(pencil) for pencil in owned + offers]
    graph = blend_graph(need, ways)
    price = {n: 0.0 if n in ("start", "end") else ways[n].swatches[0].price or 0.0 for n in graph}
    steps = [(u, v) for u, v, step in graph.edges(data="step") if step <= need.step]
    paths = nx.DiGraph()
    paths.add_weighted_edges_from((u, v, price[v]) for u, v in steps)
    answer = plan([need], owned, offers)
    assert answer.needs[0].met
    assert answer.cost == pytest.approx(nx.dijkstra_path_length(paths, "start", "end"))
    flow = nx.DiGraph()
    flow.add_node("start", demand=-1)
    flow.add_node("end", demand=1)
    flow.add_edges_from((u, v, {"weight": int(price[v]), "capacity": 1}) for u, v in steps)
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
            for i in range(60)
        ]
        need = BlendNeed(f"blend {number}", place(start), place(end), step=14.0, width=25.0)
        graph = blend_graph(need, [LaidStack.of(pencil) for pencil in mine])
        paths = nx.DiGraph()
        paths.add_weighted_edges_from(
            (u, v, 0.0 if v == "end" else mine[v].price)
            for u, v, step in graph.edges(data="step")
            if step <= need.step
        )
        expected += nx.dijkstra_path_length(paths, "start", "end")
        needs.append(need)
        offers += mine
    answer = plan(needs, [], offers)
    assert answer.cost == pytest.approx(expected)
