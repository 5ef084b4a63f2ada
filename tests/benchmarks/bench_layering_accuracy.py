"""How well layers are predicted, how honest the intervals are, and what the search costs.

The presses that tooth and trapping before calibration were fitted to are told apart from others:
each is left out of a fit in turn. Presses in CGATS texts that a folder holds are judged on only:
`python tests/benchmarks/bench_layering_accuracy.py [FOLDER]`, from the repository.
"""

import platform
import re
import sys
import tracemalloc
from pathlib import Path
from time import perf_counter

import numpy as np
from scipy.optimize import minimize

sys.path.insert(0, str(Path(__file__).parents[1] / "layering"))

from overprint_rows import (
    PRESSES,
    average_of_lab,
    overprints,
    press,
    product_of_srgb,
    six_samples,
)

import stopgap
from stopgap.difference import delta_E
from stopgap.layering import (
    DEFAULT_TOOTH,
    MODELS,
    SPREADS,
    TOOTH,
    TRAPPING,
    calibrate,
    palette_of,
    predict,
    search,
    uncertainty,
)
from stopgap.layering.estimates import TRAPPING_OF_PAIRS
from stopgap.swatches import Swatch

FULL_TONES = 0.25  # how much their squares count in the fit, of all overprints'
COLUMNS = "two inks: mean  p95  solid | three: mean  p95  solid | held, heavy; three, heavy"


def presses_in(folder):
    """Colours by tone values of the CGATS texts (.ti3) there, rows without black ink."""
    found = {}
    for path in sorted(Path(folder).glob("*.ti3")):
        text = path.read_text(encoding="utf-8", errors="replace")
        fields = re.search(r"BEGIN_DATA_FORMAT(.*?)END_DATA_FORMAT", text, re.S)[1].split()
        lines = re.search(r"BEGIN_DATA\n(.*?)END_DATA", text, re.S)[1].strip().splitlines()
        by_tone = {}
        for line in lines:
            row = dict(zip(fields, line.split(), strict=True))
            if float(row["CMYK_K"]) == 0.0:
                tone = tuple(float(row[f"CMYK_{ink}"]) for ink in "CMY")
                by_tone.setdefault(tone, []).append([float(row[f"LAB_{axis}"]) for axis in "LAB"])
        if path.stem not in PRESSES:
            found[path.stem] = {tone: np.mean(lab, axis=0) for tone, lab in by_tone.items()}
    return found


def full(tones):
    return (tones == 100).sum(axis=1) == (tones > 0).sum(axis=1)


def errors(by_tone, inks, tooth, trapping):
    paper, layers, measured, tones = overprints(inks, by_tone)
    found = predict(paper, layers, tooth=tooth, trapping=trapping)
    return delta_E(found, measured), tones


def figures(by_tone, tooth, trapping, spreads):
    """One row of COLUMNS."""
    row, held = [], []
    for inks in (2, 3):
        error, tones = errors(by_tone, inks, tooth, trapping)
        row += [error.mean(), np.quantile(error, 0.95), error[full(tones)].mean()]
        paper, layers, _, _ = overprints(inks, by_tone)
        knobs = {"tooth": tooth, "trapping": trapping, "spreads": spreads}
        inside = error < uncertainty(paper, layers, sigma=0.5, **knobs).ninety
        heavy = np.where(tones > 0, tones, 100).min(axis=1) >= 70
        held += [inside.mean(), inside[heavy].mean()]
    return np.array([*row, *held])


def shown(name, row):
    two, three = ("".join(f"{value:6.2f}" for value in row[at : at + 3]) for at in (0, 3))
    print(f"{name:28}{two} |{three} |" + "".join(f"{value:6.0%}" for value in row[6:]), flush=True)


def fitted(presses):
    """Tooth and trapping of these presses together."""

    def lack(knobs):
        total = 0.0
        for name in presses:
            for inks in (2, 3):
                error, tones = errors(press(name), inks, float(np.exp(knobs[0])), abs(knobs[1]))
                total += np.mean(error**2) + FULL_TONES * np.mean(error[full(tones)] ** 2)
        return total

    options = {"xatol": 0.01, "fatol": 0.01}
    found = minimize(lack, [np.log(2.0), 0.25], method="Nelder-Mead", options=options).x
    return float(np.exp(found[0])), float(abs(found[1]))


def folds():
    print("\ntooth and trapping from three presses, judged on the fourth; and their scatter too")
    print(f"{'':28}{COLUMNS}")
    alone = {name: fitted([name]) for name in PRESSES}
    rows = []
    for name in PRESSES:
        others = [other for other in PRESSES if other != name]
        tooth, trapping = fitted(others)
        knobs = np.array([alone[other] for other in others])
        # of a fourth about a mean of three
        scatter = np.sqrt(4.0 / 3.0) * np.std(np.c_[np.log(knobs[:, 0]), knobs[:, 1]], 0, ddof=1)
        theirs = SPREADS._replace(
            tooth=float(scatter[0]), trapping=float(np.hypot(scatter[1], TRAPPING_OF_PAIRS))
        )
        found = [figures(press(name), tooth, trapping, spreads) for spreads in (SPREADS, theirs)]
        shown(f"{name}, n {tooth:.2f}, κ {trapping:.2f}", found[0])
        shown(f"  ± {theirs.tooth:.2f} of ln n, {theirs.trapping:.2f}", found[1])
        rows.append(found)
    for label, row in zip(("mean", "  mean, their scatter"), np.mean(rows, axis=0), strict=True):
        shown(label, row)
    print("all four: n {:.2f}, κ {:.2f}".format(*fitted(PRESSES)))


def judged(title, presses):
    print(f"\n{title}: as predicted before calibration, and from six samples of each")
    print(f"{'':28}{COLUMNS}")
    rows = []
    for name, by_tone in presses.items():
        samples, paper = six_samples(by_tone)
        learnt = calibrate(samples, paper)
        before = figures(by_tone, TOOTH[DEFAULT_TOOTH], TRAPPING, SPREADS)
        after = figures(by_tone, learnt.tooth, learnt.trapping, learnt.spreads)
        shown(name, before)
        shown(f"  {len(samples)}: n {learnt.tooth:.2f}, κ {learnt.trapping:.2f}", after)
        rows.append((before, after))
    for label, row in zip(("mean", "  mean, calibrated"), np.mean(rows, axis=0), strict=True):
        shown(label, row)


def rivals():
    print("\nFOGRA39L: ΔE00 of overprints from single inks, with tooth and trapping as before")
    ways = {
        f"model {name}": lambda paper, layers, name=name: predict(paper, layers, model=name)
        for name in MODELS
    } | {"average of Lab": average_of_lab, "product of linear sRGB": product_of_srgb}
    for way, function in ways.items():
        row = [f"{way:24}"]
        for inks in (2, 3):
            paper, layers, measured, tones = overprints(inks)
            error = delta_E(function(paper, layers), measured)
            row.append(f"{error.mean():9.2f} p95 {np.quantile(error, 0.95):6.2f}")
            row.append(f"solids {error[full(tones)].mean():6.2f}")
        print(" ".join(row))


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
    folds()
    judged("presses fitted to", {name: press(name) for name in PRESSES})
    if len(sys.argv) > 1:
        judged("presses that nothing was fitted to", presses_in(sys.argv[1]))
    rivals()
    cost()
