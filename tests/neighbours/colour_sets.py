"""Sets of colours on which a search for the nearest goes wrong most easily."""

import csv
from pathlib import Path

import numpy as np

MUNSELL = Path(__file__).parents[1] / "reference" / "munsell_real_d50.csv"


def uniform(generator, count):
    return generator.uniform([0, -100, -100], [100, 100, 100], (count, 3))


def clustered(generator, count):
    centres = generator.uniform([10, -70, -70], [95, 70, 70], (max(1, count // 200), 3))
    chosen = centres[generator.integers(0, len(centres), count)]
    return np.clip(chosen + generator.normal(0, 1.5, (count, 3)), [0, -128, -128], [100, 127, 127])


def near_neutral(generator, count):
    lab = generator.uniform([0, -3, -3], [100, 3, 3], (count, 3))
    lab[:: max(1, count // 50), 1:] = 0.0
    return lab


def hue_wrap(generator, count):
    """Reds on both sides of hue 0, and greens on both sides of 180 degrees."""
    lab = generator.uniform([20, 5, -4], [80, 90, 4], (count, 3))
    lab[::2, 1] *= -1.0
    lab[::5, 2] = 0.0
    return lab


def blues(generator, count):
    return generator.uniform([10, -15, -100], [60, 60, -30], (count, 3))


def lattice(generator, count):
    """Few different values, so that equal differences abound."""
    return 10.0 * generator.integers([2, -4, -4], [8, 5, 5], (count, 3))


def duplicates(generator, count):
    return uniform(generator, max(1, count // 4))[generator.integers(0, max(1, count // 4), count)]


def munsell(generator, count):
    """The real colours of the Munsell renotation (Newhall et al. 1943; source in the file)."""
    with MUNSELL.open(encoding="utf-8") as lines:
        rows = list(csv.DictReader(line for line in lines if not line.startswith("#")))
    lab = np.array([[float(row[key]) for key in ("L", "a", "b")] for row in rows])
    return lab[generator.integers(0, len(lab), count)]


COLOUR_SETS = {
    function.__name__: function
    for function in (
        uniform,
        clustered,
        near_neutral,
        hue_wrap,
        blues,
        lattice,
        duplicates,
        munsell,
    )
}


def targets_for(generator, lab, count):
    """Half near the colours, an eighth the very same, the rest anywhere, some outside 0 to 100."""
    targets = lab[generator.integers(0, len(lab), count)]
    targets[count // 8 : count // 2] += generator.normal(0, 2, (count // 2 - count // 8, 3))
    anywhere = count - count // 2
    targets[count // 2 :] = generator.uniform([-5, -110, -110], [105, 110, 110], (anywhere, 3))
    opposite = slice(count - count // 16, count)  # exactly opposite in hue to some colour
    targets[opposite, 1:] = -0.5 * lab[generator.integers(0, len(lab), count // 16), 1:]
    return targets
