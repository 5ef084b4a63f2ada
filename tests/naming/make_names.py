"""Write the small model of the standard's names: `python make_names.py BLOCKS.csv`, same each time.

Three parts, of the renotation and of the standard's table of blocks, which stays outside: hue and
chroma over value, angle and radius; a tree of at most 120 leaves that finds the name of level 2;
and what sets the modifiers of one name apart, as seen from its centroids. It takes some minutes.
"""

import json
import sys
from pathlib import Path

import numpy as np
from scipy.optimize import minimize
from sklearn.tree import DecisionTreeClassifier

sys.path.append(str(Path(__file__).parent))

from standard_blocks import Blocks, Renotation, is_real, strongest, table_path

from stopgap.naming import categories, notation
from stopgap.naming import centroids as naming

MODEL = Path(notation.__file__).parent / "data" / "iscc_nbs_model.json"
SEED = 20261126
VALUES = np.array([0.2, 1.0, 2.5, 5.0, 7.5, 9.5])
RADII = np.array([0.0, 8.0, 20.0, 45.0, 100.0])
LEAVES, ROUNDS = 120, 800
EDGES = (  # where blocks end; between these a name holds throughout
    np.arange(101.0),
    np.array([0, 2, 2.5, 3.5, 4.5, 5.5, 6.5, 7.5, 8, 8.5, 10]),
    np.array([0, 0.5, 0.7, 1, 1.2, 1.5, 2, 2.5, 3, 5, 6, 7, 8, 9, 10, 11, 13, 14, 15, 26]),
)


def notation_table(rng):
    """Hue over angle and chroma over radius at the nodes, by penalised least squares."""
    count = 60_000
    h = rng.uniform(0, 100, count)
    v = np.where(
        rng.random(count) < 0.15, rng.uniform(0.2, 1.2, count), rng.uniform(0.5, 9.7, count)
    )
    c = np.where(rng.random(count) < 0.25, rng.uniform(0.2, 3, count), rng.uniform(0, 24, count))
    lab = Renotation().lab(np.column_stack([h, v, c]), notation.luminance)
    seen = np.isfinite(lab).all(axis=1)
    seen[seen] = np.hypot(lab[seen, 1], lab[seen, 2]) < 140
    h, c, lab = h[seen], c[seen], lab[seen]
    value, angle, radius = notation._polar(lab)
    kept = (radius > 0.1) & (radius < 110)
    h, c, value, angle, radius = (each[kept] for each in (h, c, value, angle, radius))
    turned = (h - angle / 3.6 + 50.0) % 100.0 - 50.0
    nodes, weights = notation.table_nodes(value, angle, radius, VALUES, RADII)
    hue = _smooth_fit(nodes, weights, turned, np.minimum(c, 6) / 3)
    chroma = _smooth_fit(nodes, weights, c / radius, np.minimum(radius, 60) / 20)
    return np.round(hue * 10).astype(int), np.round(chroma * 1000).astype(int)


def _smooth_fit(nodes, weights, wanted, importance, stiffness=0.5):
    shape = (len(VALUES), notation.ANGLES, len(RADII))
    size = int(np.prod(shape))
    normal, right = np.eye(size) * 1e-9, np.zeros(size)
    for i in range(8):
        np.add.at(right, nodes[:, i], weights[:, i] * importance * wanted)
        for j in range(8):
            np.add.at(
                normal, (nodes[:, i], nodes[:, j]), weights[:, i] * weights[:, j] * importance
            )
    at = np.arange(size).reshape(shape)
    bends = [
        (np.roll(at, 1, axis=1), at, np.roll(at, -1, axis=1), stiffness),
        (at[:-2], at[1:-1], at[2:], 0.3 * stiffness),
        (at[:, :, :-2], at[:, :, 1:-1], at[:, :, 2:], 0.3 * stiffness),
    ]
    for before, here, after, by in bends:
        rows = np.zeros((here.size, size))
        for place, share in ((before, 1.0), (here, -2.0), (after, 1.0)):
            rows[np.arange(here.size), place.ravel()] += share
        normal += by * rows.T @ rows
    return np.linalg.solve(normal, right)


def cells(rng, blocks):
    """Middle, weight and category of each cell between the edges that holds real colours.

    Weights are even in hue, value and chroma, more of them near grey and in the dark.
    """
    weight = 0.0
    for low, high, most, count, share in (
        (0.8, 9.6, 24.0, 400_000, 1.0),
        (0.5, 9.6, 2.5, 100_000, 0.12),
        (0.2, 1.3, 12.0, 100_000, 0.15),
    ):
        hvc = rng.uniform((0.0, low, 0.0), (100.0, high, most), (count, 3))
        hvc = hvc[is_real(hvc, strongest(), margin=2.0)]
        weight = weight + share / len(hvc) * np.histogramdd(hvc, EDGES)[0]
    middles = [(edges[1:] + edges[:-1]) / 2.0 for edges in EDGES]
    every = np.stack(np.meshgrid(*middles, indexing="ij"), axis=-1).reshape(-1, 3)
    kept = weight.ravel() > 0.0
    every, weight = every[kept], weight.ravel()[kept]
    return every, weight / weight.sum(), blocks.number(every)


class Tree:
    """A full tree pruned by weakest links (L. Breiman et al. 1984, chapter 3) to a few leaves."""

    def __init__(self, points, names, weight, importance, hue_from, seed):
        turned = points.copy()
        turned[:, 0] = (turned[:, 0] - hue_from) % 100.0
        grown = DecisionTreeClassifier(random_state=seed)
        grown.fit(turned, names, sample_weight=weight * importance[names])
        self.hue_from, self.tree = hue_from, grown.tree_
        below, above = self.tree.children_left, self.tree.children_right
        self.mass = np.zeros((self.tree.node_count, len(importance)))
        np.add.at(self.mass, (grown.apply(turned), names), weight)
        for node in range(self.tree.node_count - 1, -1, -1):
            if below[node] >= 0:
                self.mass[node] = self.mass[below[node]] + self.mass[above[node]]
        self.splits = below >= 0
        self.risk = self._prune(below, above)

    def _prune(self, below, above):
        own = self.mass.sum(axis=1) - self.mass.max(axis=1)
        risk, leaves = own.copy(), np.ones(len(own), dtype=int)
        parent = np.full(len(own), -1)
        for node in range(len(own) - 1, -1, -1):
            if self.splits[node]:
                pair = [below[node], above[node]]
                parent[pair] = node
                risk[node], leaves[node] = risk[pair].sum(), leaves[pair].sum()
        while leaves[0] > LEAVES:
            gain = np.where(self.splits, (own - risk) / np.maximum(leaves - 1, 1), np.inf)
            cut = int(gain.argmin())
            more, fewer = own[cut] - risk[cut], leaves[cut] - 1
            inside = [cut]
            while inside:
                node = inside.pop()
                if self.splits[node]:
                    inside += [below[node], above[node]]
                self.splits[node] = False
            while cut >= 0:
                risk[cut] += more
                leaves[cut] -= fewer
                cut = parent[cut]
        return risk[0]

    def nested(self, names, node=0):
        """[axis, limit, below, above], each of the two again so, or a name."""
        if not self.splits[node]:
            return names[self.mass[node].argmax()]
        axis = int(self.tree.feature[node])
        edges = EDGES[axis]
        limit = float(edges[np.abs(edges - self.tree.threshold[node]).argmin()])
        below = self.nested(names, self.tree.children_left[node])
        above = self.nested(names, self.tree.children_right[node])
        return [axis, limit, below, above]


def best_tree(rng, points, weight, numbers):
    """The best of many trees, each grown with names weighed otherwise than the best yet."""
    names, labels = np.unique(
        [categories()[number - 1].level_2 for number in numbers], return_inverse=True
    )
    best, said = Tree(points, labels, weight, np.ones(len(names)), 8, 0), np.zeros(len(names))
    for seed in range(1, ROUNDS):
        tried = said + rng.normal(0, 0.35, len(names)) * (rng.random(len(names)) < 0.3)
        hue_from = int(rng.integers(100)) if rng.random() < 0.25 else best.hue_from
        tree = Tree(points, labels, weight, np.exp(tried), hue_from, seed)
        if tree.risk < best.risk:
            best, said = tree, tried
    print(f"tree: {1 - best.risk:.4f} of its own cells, hue from {best.hue_from}")
    return best.hue_from, best.nested([str(name) for name in names])


def modifiers(rng, points, weight, numbers):
    """Six numbers a modifier and a scale of hue a name, by multinomial regression (convex)."""
    picked = rng.choice(len(weight), 9_000, p=weight)
    spots, wanted = points[picked].copy(), numbers[picked] - 1
    for axis, edges in enumerate(EDGES):
        width = np.diff(edges)[np.searchsorted(edges, spots[:, axis]) - 1]
        spots[:, axis] += width * (rng.random(len(spots)) - 0.5)
    kept = (wanted < naming.FIRST_NEUTRAL) & (spots[:, 2] >= naming.NEUTRAL_CHROMA)
    spots, wanted = spots[kept], wanted[kept]
    parts = naming.composition()
    offered = parts.offered[parts.names_of[wanted]]
    open_, safe = offered >= 0, np.maximum(offered, 0)
    terms, turned = naming.terms(spots[:, None, :], parts.centres[safe])
    spread = terms.std(axis=(0, 1))
    spread[5] = 1.0
    terms, turned = terms / spread, turned / 100.0
    which, name = parts.modifiers_of[safe], parts.names_of[wanted]
    right = offered == wanted[:, None]
    many, few = len(parts.modifiers), len(parts.names)

    def loss(numbers_):
        weights, scales = numbers_[: 6 * many].reshape(many, 6), numbers_[6 * many :]
        away = (terms * weights[which]).sum(axis=-1) + scales[name][:, None] * turned
        z = np.where(open_, -away, -np.inf)
        p = np.exp(z - z.max(axis=1, keepdims=True))
        p /= p.sum(axis=1, keepdims=True)
        slope = (right.astype(float) - p) / len(spots)
        slope_weights = [
            np.bincount(which.ravel(), (slope * terms[..., k]).ravel(), many) for k in range(6)
        ]
        slope_scales = np.bincount(name, (slope * turned).sum(axis=1), few)
        gradient = np.concatenate([np.stack(slope_weights, axis=1).ravel(), slope_scales])
        ridge = 1e-7
        cost = -np.log(p[right] + 1e-300).mean() + ridge * (numbers_**2).sum()
        return cost, gradient + 2 * ridge * numbers_

    start = np.concatenate([np.tile([1.0, 1.0, 0.0, 0.0, 0.0, 0.0], many), np.ones(few)])
    found = minimize(loss, start, jac=True, method="L-BFGS-B", options={"maxiter": 500})
    print(f"modifiers: loss {found.fun:.4f} after {found.nit} steps")
    weights = found.x[: 6 * many].reshape(many, 6) / spread
    return (
        {word: [float(f"{x:.3g}") for x in row] for word, row in zip(parts.modifiers, weights)},
        {word: float(f"{x / 100:.3g}") for word, x in zip(parts.names, found.x[6 * many :])},
    )


def written(model):
    """The model as JSON, a part a line."""
    lines = [f"{json.dumps(key)}: {json.dumps(value)}" for key, value in model.items()]
    return "{\n" + ",\n".join(lines) + "\n}\n"


def main():
    rng = np.random.default_rng(SEED)
    path = table_path(sys.argv[1] if len(sys.argv) > 1 else None)
    if path is None:
        sys.exit("Name the table of blocks.")
    hue, chroma = notation_table(rng)
    model = {
        "values": VALUES.tolist(),
        "radii": RADII.tolist(),
        "hue": hue.tolist(),
        "chroma": chroma.tolist(),
    }
    MODEL.write_text(written(model), encoding="utf-8")
    notation.model.cache_clear()
    points, weight, numbers = cells(rng, Blocks(path))
    model["hue_from"], model["tree"] = best_tree(rng, points, weight, numbers)
    model["modifiers"], model["hue_scales"] = modifiers(rng, points, weight, numbers)
    MODEL.write_text(written(model), encoding="utf-8")


if __name__ == "__main__":
    main()
