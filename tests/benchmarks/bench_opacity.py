"""How far off layers are, and how honest their intervals, where a pencil lies over a darker one.

The truth is the film model that the demo's ranges are made with (datasets/layers.py: Kubelka and
Munk's films, a rough surface, and strokes that leave paper bare), not the model that predicts. Each
pencil is given the scattering that is drawn for it, and is swatched with it on white paper; that
swatch is all that the prediction is told, beside what stands in each row. Each pair is laid by a
hand of its own, as in bench_papers.py; what a hand does to a pressure is not told.

Run from the repository: `python tests/benchmarks/bench_opacity.py`.
"""

import sys
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).parents[2] / "datasets"))

import pencils
import pigments
from layers import harder, laid
from make_datasets import lab_of

from stopgap.difference import delta_E
from stopgap.layering import SPREADS, LayeredSample, calibrate, layered
from stopgap.layering.estimates import expected_scattering
from stopgap.swatches import Core, Opacity, Stack, Swatch

PAIRS = 100
PRESSURES = ("light", "medium", "heavy")
BLACK = "Tarred Rope"
TOLD = ("that it is clear", "nothing", "a word", "a swatch of it over black")

pigments.PIGMENTS["filler"] = pigments.Pigment(pigments.level(0.0), 1.0, 1.0)
PAPER = lab_of([pigments.PAPER])[0]


def recipes():
    """Recipes of all plain pencils by name."""
    lines = "".join((pencils.FENNMOOR, pencils.BRINDLEWICK, pencils.QUILLET)).splitlines()
    rows = [[part.strip() for part in line.split("|")] for line in lines if line]
    return {row[0]: pigments.parse_recipe(row[1]) for row in rows if len(row) == 2}


def scattering(recipe, S):
    """The recipe with as much filler, or as little of it, as makes its film scatter S."""
    return recipe | {"filler": S - float(pigments.absorption_and_scatter(recipe)[1][0])}


def swatch_of(name, recipe, opacity=None):
    lab = tuple(lab_of([laid([(recipe, "heavy")])])[0])
    return Swatch("Films", name, lab, uncertainty=0.5, core=Core.WAX, opacity=opacity)


def word_of(S):
    return Opacity.TRANSPARENT if S < 0.2 else Opacity.SEMI if S < 0.6 else Opacity.COVERS


def pairs(rng, own_scattering):
    """Two recipes, two pressures, and S of the second, which is lighter than the first."""
    known, found = recipes(), []
    names = sorted(known)
    while len(found) < PAIRS:
        one, other = (str(name) for name in rng.choice(names, 2, replace=False))
        S = [float(pigments.absorption_and_scatter(known[name])[1][0]) for name in (one, other)]
        if not own_scattering:
            S = [S[0], float(rng.uniform())]
        below, above = (scattering(known[name], s) for name, s in zip((one, other), S))
        pressures = [str(pressure) for pressure in rng.choice(PRESSURES, 2)]
        ground = lab_of([laid([(below, pressures[0])])])[0]
        lightness = swatch_of(other, above).lab[0]
        if ground[0] + 8.0 < lightness < PAPER[0] + 1.0:
            found.append((one, below, other, above, pressures, S[1]))
    return found


def sample_over_black(swatch, recipe):
    """What one swatch of the pencil, laid heavily over black, teaches of it."""
    rope = recipes()[BLACK]
    black = swatch_of(BLACK, rope)
    lab = tuple(lab_of([laid([(rope, "heavy"), (recipe, "heavy")])])[0])
    sample = LayeredSample(Stack.of(black, swatch), lab)
    plain = [LayeredSample(Stack.of(black, pressures=[p]), black.lab) for p in ("heavy",)] * 2
    return calibrate([*plain, sample], PAPER).opacity


def told_of(told, swatch, recipe, S):
    """What `layered` takes as opacity."""
    if told == TOLD[0]:
        return 0.0
    if told == TOLD[1]:
        return {}
    if told == TOLD[2]:
        return {swatch.address: expected_scattering(swatch.lab[0], swatch.core, word_of(S))}
    return sample_over_black(swatch, recipe)


def laid_by_hands(chosen, seed):
    """Colours (n, 3) of the pairs."""
    rng, found = np.random.default_rng(seed), []
    for _, below, _, above, pressures, _ in chosen:
        by = SPREADS.load * rng.normal()
        hand = [harder(name, 0.0 if name == "heavy" else by) for name in pressures]
        found.append(laid(list(zip((below, above), hand, strict=True))))
    return lab_of(found)


def report(title, chosen, seed):
    print(f"\n{title}: {len(chosen)} pairs, the second pencil lighter than what it lies on")
    print(f"{'told of opacity':34}{'mean':>7}{'median':>8}{'p90':>7}{'held':>8}{'interval':>10}")
    truths = laid_by_hands(chosen, seed)
    for told in TOLD:
        errors, ninety = [], []
        for (one, below, other, above, pressures, S), truth in zip(chosen, truths):
            upper = swatch_of(other, above)
            known = told_of(told, upper, above, S)
            found = layered([swatch_of(one, below), upper], PAPER, pressures, opacity=known)
            errors.append(float(delta_E(found.lab, truth)))
            ninety.append(found.ninety)
        error, reach = np.array(errors), np.array(ninety)
        p90 = np.quantile(error, 0.9)
        print(
            f"{told:34}{error.mean():7.2f}{np.median(error):8.2f}{p90:7.2f}"
            f"{(error <= reach).mean():8.1%}{np.median(reach):10.1f}"
        )


if __name__ == "__main__":
    for seed in (1, 2):
        for title, own in (("S drawn from 0 to 1", False), ("the demo's own S", True)):
            report(f"{title}, seed {seed}", pairs(np.random.default_rng(seed), own), seed)
