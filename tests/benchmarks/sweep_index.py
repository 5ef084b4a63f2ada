"""More of the index's tests than fit into a test run: `python tests/benchmarks/sweep_index.py [n]`.

`n` questions (a million unless told) on every set of colours and in every way, against looking at
every colour; and twenty times as many pairs of a target and a colour against the bounds.
"""

import sys
from pathlib import Path

import numpy as np

from stopgap.difference import METRICS, delta_E_ciede2000
from stopgap.difference.bounds.boxes import enclose
from stopgap.neighbours import SwatchIndex
from stopgap.neighbours.colours import rank_exhaustively

sys.path.append(str(Path(__file__).parents[1] / "neighbours"))
from colour_sets import COLOUR_SETS, targets_for
from test_bounds import colours_about

AT_ONCE = 5_000


def sweep_questions(questions: int, generator: np.random.Generator) -> None:
    each = questions // len(COLOUR_SETS)
    for name, colours in COLOUR_SETS.items():
        farthest, asked = 0.0, 0
        while asked < each:
            lab = colours(generator, int(generator.integers(301, 1200)))
            k = int(generator.integers(1, 12))
            targets = targets_for(generator, lab, AT_ONCE)
            allowed = generator.random(len(lab)) < 0.9 if asked // AT_ONCE % 2 else None
            expected = rank_exhaustively(
                lab,
                targets,
                k,
                delta_E_ciede2000,
                None if allowed is None else np.flatnonzero(allowed),
            )
            for compiled in (False, True):
                index = SwatchIndex(lab)
                index.prepare(compiled=compiled)
                found = index.nearest(targets, k, allowed=allowed)
                assert (found[1] == expected[1]).all(), (name, compiled)
                apart = float(np.abs(found[0] - expected[0]).max())
                assert apart <= (1e-11 if compiled else 0.0), (name, compiled, apart)
                farthest = max(farthest, apart)
            asked += len(targets)
        print(f"{name}: {asked:,} questions, rows the same, compiled within {farthest:.1e}")


def sweep_bounds(pairs: int, generator: np.random.Generator) -> None:
    for name, metric in METRICS.items():
        if metric.lower_bound is None:
            continue
        nearest, done = np.inf, 0
        while done < pairs:
            groups, targets = colours_about(generator, 20_000, 12)
            differences = metric.function(targets[:, np.newaxis], groups).min(axis=1)
            above = differences - metric.lower_bound(targets, enclose(groups))
            assert (above >= -1e-9 * (1.0 + differences)).all(), name
            nearest, done = min(nearest, float(above.min())), done + groups.size // 3
        print(f"{name}: {done:,} pairs, none below its bound; the nearest {nearest:.1e} above")


if __name__ == "__main__":
    count = int(sys.argv[1]) if len(sys.argv) > 1 else 1_000_000
    sweep_bounds(20 * count, np.random.default_rng(60))
    sweep_questions(count, np.random.default_rng(61))
