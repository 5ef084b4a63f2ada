"""How well layers are predicted, how honest the intervals are, and what the search costs.

Run from the repository: `python tests/benchmarks/bench_layering_accuracy.py`.
"""

import platform
import sys
import tracemalloc
from pathlib import Path
from time import perf_counter

import numpy as np

sys.path.insert(0, str(Path(__file__).parents[1] / "layering"))

from overprint_rows import FILE, average_of_lab, overprints, product_of_srgb

import stopgap
from stopgap.difference import delta_E
from stopgap.layering import MODELS, palette_of, predict, search, uncertainty
from stopgap.swatches import Swatch

TOOTH = 2.0


def accuracy():
    print(f"\n{FILE.name}: ΔE00 of overprints from single inks, n = {TOOTH}, nothing fitted")
    print(f"{'':24}{'two inks':>20}{'solids':>10}{'three inks':>20}")
    ways = {
        f"model {name}": lambda paper, layers, name=name: predict(
            paper, layers, tooth=TOOTH, model=name
        )
        for name in MODELS
    } | {"average of Lab": average_of_lab, "product of linear sRGB": product_of_srgb}
    for way, function in ways.items():
        row = [f"{way:24}"]
        for inks in (2, 3):
            paper, layers, measured, tones = overprints(inks)
            error = delta_E(function(paper, layers), measured)
            row.append(f"{error.mean():9.2f} p95 {np.quantile(error, 0.95):6.2f}")
            if inks == 2:
                solid = np.count_nonzero(tones == 100, axis=1) == 2
                row.append(f"{error[solid].mean():10.2f}")
        print(" ".join(row))


def coverage():
    print("\nshare of overprints within the typical and the 90 % interval (swatches 0.5 ΔE00)")
    for inks in (2, 3):
        paper, layers, measured, tones = overprints(inks)
        error = delta_E(predict(paper, layers, tooth=TOOTH), measured)
        spread = uncertainty(paper, layers, sigma=0.5, tooth=TOOTH)
        heavy = np.where(tones > 0, tones, 100).min(axis=1) >= 70
        light = tones.max(axis=1) <= 40
        for name, rows in (("all", error >= 0), ("light", light), ("heavy", heavy)):
            typical = (error < spread.typical)[rows].mean()
            ninety = (error < spread.ninety)[rows].mean()
            print(
                f"{inks} inks, {name:6} {rows.sum():4}: {typical:5.2f} {ninety:5.2f}, "
                f"mean 90 % radius {spread.ninety[rows].mean():5.2f}"
            )


def cost():
    random = np.random.default_rng(1)
    L, C = random.uniform(25, 75, 240), random.uniform(5, 40, 240)
    h = random.uniform(0, 2 * np.pi, 240)
    lab = np.stack([L, C * np.cos(h), C * np.sin(h)], axis=1).tolist()
    swatches = [Swatch("Invented", str(i), tuple(one)) for i, one in enumerate(lab)]
    targets = random.uniform([30, -30, -30], [80, 30, 30], (3, 3))
    print("\nsearch over 240 invented pencils at 3 pressures")
    for name, opacity in (("all clear", 0.0), ("all covering", 0.5)):
        began = perf_counter()
        box = palette_of(swatches, [95, 0, 2], opacity=opacity)
        ready = perf_counter()
        for target in targets:
            search(target, box)
        done = perf_counter()
        tracemalloc.start()
        search(targets[0], box)
        peak = tracemalloc.get_traced_memory()[1] / 1e6
        tracemalloc.stop()
        recipes = 240 * 239 // 2 * 9 * (2 if opacity else 1)
        each = (done - ready) / 3
        print(
            f"{name}: {recipes} recipes, ready in {ready - began:.2f} s, {each:.2f} s a target, "
            f"{peak:.0f} MB at most"
        )
        pairs = [[lab[i], lab[i + 1]] for i in range(20)]
        began = perf_counter()
        for pair in pairs:
            predict([95, 0, 2], pair, opacity=opacity)
        alone = (perf_counter() - began) / 20
        print(f"  a recipe costs 1/{alone / (each / recipes):.0f} of a call of predict")


if __name__ == "__main__":
    print(f"stopgap {stopgap.__version__}, numpy {np.__version__}, Python {sys.version.split()[0]}")
    print(f"{platform.machine()} {platform.system()}")
    accuracy()
    coverage()
    cost()
