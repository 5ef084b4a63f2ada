"""LabNeighbors beside scikit-learn's own ball tree with ΔE00 as a callable; run it by hand."""

from time import process_time

import numpy as np
from sklearn.neighbors import NearestNeighbors

from stopgap.difference import delta_E
from stopgap.neighbours import LabNeighbors

COLOURS, QUESTIONS = 10_000, 100


def main() -> None:
    """CPU seconds of both for the same questions, and in how many the rows differ."""
    draw = np.random.default_rng(1)
    lab = np.column_stack([draw.uniform(5, 95, COLOURS), draw.uniform(-60.0, 60.0, (COLOURS, 2))])
    asked = lab[:QUESTIONS] + draw.normal(0.0, 1.0, (QUESTIONS, 3))

    def callable_metric(one: np.ndarray, other: np.ndarray) -> float:
        return float(delta_E(one, other))

    tree = NearestNeighbors(n_neighbors=3, algorithm="ball_tree", metric=callable_metric)
    found = []
    for near in (tree, LabNeighbors(n_neighbors=3)):
        began = process_time()
        found.append(near.fit(lab).kneighbors(asked)[1])
        print(f"{type(near).__name__}: {process_time() - began:.3f} s")
    print(f"other rows in {(found[0] != found[1]).any(axis=1).sum()} of {QUESTIONS}")


if __name__ == "__main__":
    main()
