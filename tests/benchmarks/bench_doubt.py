"""How often the pencil said to be nearest truly is, in simulated boxes whose truth is known.

A box is a draw of real colours, each read with an error of its own and one shared by all; another
of them is the target. Printed beside what is stated: how often the most probable one is truly the
nearest, how often the group marked ≈ holds it and how large it is; and the same of plain draws
about what was measured, asked of ΔE00 itself, whose group is as large as it must be to hold it as
often.
Colours: the real chips of Munsell's renotation, and even draws from sRGB; the prior was made from
neither.
"""

import csv
import sys
from pathlib import Path
from typing import NamedTuple

import numpy as np

from stopgap.colorimetry import srgb_to_lab
from stopgap.difference import delta_E_ciede2000, even_covariance
from stopgap.planner.doubt import nearest_probabilities
from stopgap.planner.winning import tied_group
from stopgap.swatches import FreeColour, Source, Swatch

REFERENCE = Path(__file__).parents[1] / "reference"
PENCILS, TRIALS, DRAWS = 60, 400, 1000


class Errors(NamedTuple):
    """What the pencils of a box err by (ΔE00): one of the `own` sizes each, and a shared one."""

    own: tuple[float, ...]
    shared: float = 0.0


SCHEMES = {
    "all 0.5": Errors((0.5,)),
    "all 2": Errors((2.0,)),
    "all 5": Errors((5.0,)),
    "0.5, 2, 5": Errors((0.5, 2.0, 5.0)),
    "0.5, 5": Errors((0.5, 5.0)),
    "1, shared 4.9": Errors((1.0,), 4.9),
}


def munsell():
    """Lab (n, 3) of the real chips."""
    with (REFERENCE / "munsell_real_d50.csv").open(encoding="utf-8") as file:
        rows = csv.DictReader(line for line in file if not line.startswith("#"))
        return np.array([[float(row[key]) for key in "Lab"] for row in rows])


def srgb(count=3000):
    """Lab (n, 3) of colours drawn evenly from the cube of sRGB."""
    return np.asarray(srgb_to_lab(np.random.default_rng(0).random((count, 3))))


COLOURS = {"Munsell": munsell, "sRGB": srgb}


def scattered(labs, sizes, generator, *, common=False):
    """Colours (n, 3) with an error of so much ΔE00 each, the same for all where it is common."""
    values, vectors = np.linalg.eigh(even_covariance(labs, sizes))
    roots = (vectors * np.sqrt(values)[:, np.newaxis]) @ np.swapaxes(vectors, 1, 2)
    normal = generator.standard_normal((1 if common else len(labs), 3, 1))
    return labs + (roots @ normal)[..., 0]


def box(labs, errors, generator, pencils=PENCILS):
    """A target, swatches as read, and the place of the truly nearest."""
    chosen = labs[generator.choice(len(labs), pencils + 1, replace=False)]
    asked, truth = chosen[0], chosen[1:]
    own = generator.choice(errors.own, pencils)
    read = scattered(truth, own, generator)
    if errors.shared:
        read = scattered(read, np.full(pencils, errors.shared), generator, common=True)
    read[:, 0] = read[:, 0].clip(1.0, 99.5)
    swatches = [
        Swatch(
            "Box",
            f"{place}",
            tuple(lab),
            source=Source.TYPED,
            uncertainty=float(size),
            shared_uncertainty=errors.shared,
        )
        for place, (lab, size) in enumerate(zip(read.tolist(), own, strict=True))
    ]
    nearest = int(delta_E_ciede2000(asked, truth).argmin())
    return FreeColour("", tuple(asked.tolist())), swatches, nearest


def plain_probabilities(target, swatches, generator):
    """The same by draws about what was measured, without anything known before."""
    read = np.array([one.lab for one in swatches])
    values, vectors = np.linalg.eigh(even_covariance(read, [one.uncertainty for one in swatches]))
    roots = vectors * np.sqrt(values)[:, np.newaxis]
    drawn = read[:, np.newaxis] + generator.standard_normal((len(read), DRAWS, 3)) @ np.swapaxes(
        roots, 1, 2
    )
    wins = delta_E_ciede2000(target.lab, drawn).argmin(axis=0)
    return np.bincount(wins, minlength=len(read)) / DRAWS


def mass_before(probabilities, nearest):
    """How much the more probable ones hold together: the group must hold more to hold this one."""
    return probabilities[probabilities > probabilities[nearest]].sum()


def size_at(probabilities, covered):
    """How many hold so much."""
    return int(np.sum(np.cumsum(np.sort(probabilities)[::-1]) < covered - 1e-12)) + 1


class Observed(NamedTuple):
    """What was stated and what was so, of one way to say it."""

    stated: float
    observed: float
    held: float
    size: float


def simulate(labs, errors, trials=TRIALS, *, seed=0, plain=False):
    """What is stated and what is so; of plain draws the group covers as much."""
    generator = np.random.default_rng(seed)
    ours, theirs = [], []
    for _ in range(trials):
        target, swatches, nearest = box(labs, errors, generator)
        (probabilities,) = nearest_probabilities([target], swatches)
        group = tied_group(probabilities)
        group[probabilities.argmax()] = True
        said = probabilities.max(), probabilities.argmax() == nearest
        ours.append((*said, group[nearest], group.sum()))
        if plain:
            theirs.append((plain_probabilities(target, swatches, generator), nearest))
    found = Observed(*np.mean(np.array(ours, dtype=np.float64), axis=0))
    if not plain:
        return found, None
    covered = np.quantile([mass_before(*each) for each in theirs], found.held) + 1e-9
    said = [(each.max(), each.argmax() == nearest) for each, nearest in theirs]
    size = np.mean([size_at(each, covered) for each, _ in theirs])
    return found, Observed(*np.mean(np.array(said, dtype=np.float64), axis=0), found.held, size)


def main():
    """Print the table."""
    trials = int(sys.argv[1]) if len(sys.argv) > 1 else TRIALS
    print(f"{PENCILS} pencils a box, {trials} boxes a row; standard error {0.5 / trials**0.5:.3f}")
    print(f"{'colours':8} {'errors':14} stated  so    held   size | plain: stated  so    size")
    for name, colours in COLOURS.items():
        labs = colours()
        for scheme, errors in SCHEMES.items():
            ours, plain = simulate(labs, errors, trials, plain=not errors.shared)
            line = f"{ours.stated:.3f}  {ours.observed:.3f}  {ours.held:.3f}  {ours.size:4.1f}"
            beside = f"{plain.stated:.3f}  {plain.observed:.3f} {plain.size:4.1f}" if plain else ""
            print(f"{name:8} {scheme:14} {line} |        {beside}", flush=True)


if __name__ == "__main__":
    main()
