"""How often another pencil is the nearest on another paper, and how well that is predicted.

The truth is the film model that the demo's ranges are made with (datasets/layers.py), not the one
that predicts: every plain pencil is laid heavily on white and on the other paper, and the
prediction is told its colour on white alone. Two questions are asked of each paper: what stands in
for a pencil, meant as it looks there, and for the colour that it has on white, meant as it is.
Recipes are laid by a hand of its own each, which lays as much more or less of light and medium as
is stated of hands. How S counts here was fitted to the films of FITTED seeds; JUDGED ones were
looked at afterwards. So was how surely words are said: which distribution the ΔE00 of a recipe
has was chosen on seed 101. Intervals and ≈ are also judged by another truth that nothing was fitted
to: grainy strokes without a surface (`strokes`).

Run from the repository: `python tests/benchmarks/bench_papers.py`.
"""

import itertools
import sys
from dataclasses import replace
from pathlib import Path
from typing import NamedTuple

import numpy as np

sys.path.insert(0, str(Path(__file__).parents[2] / "datasets"))

from bench_opacity import scattering
from layers import PRESSURES, harder, laid
from make_datasets import lab_of, make_pencils
from pigments import PAPER, WAVELENGTHS, absorption_and_scatter, film_over, level

from stopgap.colorimetry.recovery.bands import SPECTRUM
from stopgap.colorimetry.recovery.weights import WAVELENGTHS as RECOVERED
from stopgap.difference import GRADES, Promise, delta_E, from_even_coordinates, to_even_coordinates
from stopgap.layering import SPREADS, predict, uncertainty
from stopgap.layering.estimates import opacities_of
from stopgap.planner import conditions_on, lay_alone
from stopgap.planner.doubt import nearest_probabilities
from stopgap.planner.winning import tied_group
from stopgap.swatches import PAPER_COLOURS, Core, Paper, Pencil, Swatch

SWATCHED_ON = tuple(lab_of([PAPER])[0])
NINETY = 1.645  # standard deviations, as `layering.intervals` has it


FITTED, JUDGED = (101, 202, 11, 12, 13, 14), (303, 404, 505, 606)

GRAINS = ((0.5, 0.3), (1.0, 0.4), (1.5, 0.3))  # thicknesses of a stroke, and their shares
SPREAD = 1.6  # n of Yule and Nielsen: light spreads beneath the strokes


def strokes(layers, paper=PAPER):
    """Reflectance as `laid` has it, by films that have no surface and are of three thicknesses.

    J. A. C. Yule and W. J. Nielsen (1951), TAGA Proceedings 3, 65-76 (from memory).
    """
    seen = level(0.0)
    for present in itertools.product(range(len(GRAINS) + 1), repeat=len(layers)):
        area, below = 1.0, paper
        for (recipe, pressure), grain in zip(layers, present, strict=True):
            load, coverage = PRESSURES[pressure] if isinstance(pressure, str) else pressure
            if grain == len(GRAINS):
                area *= 1.0 - coverage
                continue
            thickness, share = GRAINS[grain]
            area *= coverage * share
            below = film_over(below, *absorption_and_scatter(recipe), thickness * load)
        seen = seen + area * below ** (1.0 / SPREAD)
    return seen**SPREAD


def spectrum(lab):
    """The paper of a colour."""
    values, _ = SPECTRUM.reflectances(np.array([lab]), None)
    return np.interp(WAVELENGTHS, RECOVERED, values[0])


def films_on(pencils, paper, lay=laid):
    """The colours (n, 3) of pencils laid heavily on a paper, by the films."""
    return lab_of([lay([(pencil.recipe, "heavy")], paper) for pencil in pencils])


def swatch_of(pencil, lab):
    core = Core(pencil.line.core)
    return Swatch(pencil.line.name, pencil.code, tuple(lab), uncertainty=0.5, core=core)


def predicted_on(pencils, white, lab):
    """The pencils as the library would tell them on that paper."""
    box = [Pencil((swatch_of(one, of),)) for one, of in zip(pencils, white, strict=True)]
    learnt = conditions_on(None, SWATCHED_ON, swatches_too=True)
    ground = lay_alone(box, Paper(lab, name="other"), conditions_on(None, lab, learnt=learnt))
    return ground.swatches


def nearest(targets, candidates):
    """Place (m,) of the nearest candidate, never that of the target's own place."""
    apart = delta_E(targets[:, np.newaxis], candidates)
    np.fill_diagonal(apart, np.inf)
    return apart.argmin(axis=1)


def table(pencils):
    white = films_on(pencils, PAPER)
    print(f"\n{len(pencils)} plain pencils, laid heavily on another paper than their swatch")
    print("prediction: ΔE00 to the films, median and 90 %, and how many the 90 % interval holds")
    print("first answer: how often the films name another than on white, how often the prediction")
    print("names the films' own, and (in brackets) how often the answer on white is that one")
    print(f"{'':8}{'median':>8}{'90 %':>8}{'held':>7}   for a pencil      for a colour")
    for word, lab in PAPER_COLOURS.items():
        if word == "white":
            continue
        films = films_on(pencils, spectrum(lab))
        found = predicted_on(pencils, white, lab)
        told = np.array([one.lab for one in found])
        sigma = np.array([one.total_uncertainty for one in found])
        off = delta_E(told, films)
        row = [f"{word:8}{np.median(off):8.2f}{np.quantile(off, 0.9):8.2f}"]
        row.append(f"{(off <= NINETY * sigma).mean():7.0%}")
        before = nearest(white, white)
        for there, ours in ((films, told), (white, white)):
            right = nearest(there, films)
            hits, same = (nearest(ours, told) == right).mean(), (before == right).mean()
            row.append(f"   {1.0 - same:5.0%}{hits:6.0%} ({same:.0%})")
        print("".join(row))


def of_a_hand(pressures, rng):
    """Pressures of one hand, heavy as in the swatch."""
    by = SPREADS.load * rng.normal()
    return [harder(name, 0.0 if name == "heavy" else by) for name in pressures]


class Laid(NamedTuple):
    """Recipes as predicted and as laid (n, 3), the ΔE00 within which nine in ten should lie (n,),
    whether a layer is lighter than what it lies on (n,), and colours by S (n, STEPS, 3).
    """

    told: np.ndarray
    films: np.ndarray
    ninety: np.ndarray
    lighter: np.ndarray
    covered: np.ndarray

    @property
    def within(self):
        return delta_E(self.told, self.films) <= self.ninety


def laid_at_random(pencils, word, kind, count, rng, lay=laid):
    """`count` recipes at random, each by a hand of its own: pencils laid heavily alone, tints, or
    pairs.
    """
    white, lab = films_on(pencils, PAPER, lay), PAPER_COLOURS[word]
    paper = PAPER if word == "white" else spectrum(lab)
    on = SWATCHED_ON if word == "white" else lab
    layers = 2 if kind == "pairs" else 1
    rows = np.array([rng.choice(len(pencils), layers, replace=False) for _ in range(count)])
    first = rng.choice(["heavy"] if kind == "heavy" else ["light", "medium"], (count, 1))
    second = rng.choice(["light", "medium", "heavy"], (count, layers - 1))
    pressures = np.concatenate([first, second], axis=1).tolist()
    stacks = [
        [(pencils[i].recipe, p) for i, p in zip(which, of_a_hand(how, rng))]
        for which, how in zip(rows, pressures)
    ]
    films = lab_of([lay(stack, paper) for stack in stacks])
    of = opacities_of([swatch_of(*one) for one in zip(pencils, white, strict=True)], {})
    S, seen = of.rows(rows), {"swatch_paper_lab": SWATCHED_ON}
    told = predict(on, white[rows], pressures, opacity=S.middle, **seen)
    unsure = uncertainty(on, white[rows], pressures, opacity=S, sigma=0.5, **seen)
    lighter = white[rows[:, 0], 0] > on[0]
    if layers == 2:
        lower = [one[:1] for one in pressures]
        ground = predict(on, white[rows[:, :1]], lower, opacity=S.middle[:, :1], **seen)
        lighter |= white[rows[:, 1], 0] > ground[:, 0]
    return Laid(told, films, unsure.ninety, lighter, unsure.covered)


def held(plain, seeds, count=300, lay=laid):
    """How many of `count` recipes a seed, taken at random, lie within the interval stated."""
    print(f"\nseeds {seeds}, {count} of each kind: how wide intervals are, and what they hold")
    print(f"{'':16}{'wide':>6}{'held':>6}   {'where a layer is lighter':>26}{'else':>14}")
    drawn = [np.random.default_rng(seed) for seed in seeds]
    boxes = [scattered(plain, rng) for rng in drawn]
    for word, kind in itertools.product(PAPER_COLOURS, ("heavy", "tints", "pairs")):
        if (word, kind) == ("white", "heavy"):
            continue
        found = [laid_at_random(*of, lay) for of in _each(boxes, word, kind, count, drawn)]
        within, lighter = (
            np.concatenate([getattr(one, part) for one in found]) for part in ("within", "lighter")
        )
        wide = np.median(np.concatenate([one.ninety for one in found]))
        row = f"{word:8}{kind:8}{wide:6.1f}{within.mean():6.1%}"
        for some in (lighter, ~lighter):
            row += f"{within[some].mean():12.1%} ({some.sum():5})" if some.sum() > 99 else " " * 20
        print(row)


def towards_the_mean(plain, seed, count=200):
    """Mean ΔE00 of recipes told as they are, halfway to the mean over S, and at that mean."""
    print(f"\nseed {seed}: mean off as told, halfway to the mean over S, and at it")
    for lay, drawn in itertools.product((laid, strokes), (True, False)):
        rng = np.random.default_rng(seed)
        box = scattered(plain, rng) if drawn else plain
        for word, kind in itertools.product(("white", "tan", "black"), ("tints", "pairs")):
            found = laid_at_random(box, word, kind, count, rng, lay)
            told = to_even_coordinates(found.told)
            apart = to_even_coordinates(found.covered).mean(axis=1) - told
            off = [
                delta_E(from_even_coordinates(told + share * apart), found.films).mean()
                for share in (0.0, 0.5, 1.0)
            ]
            of = "S from 0 to 1" if drawn else "the demo's S"
            row = "".join(f"{one:6.1f}" for one in off)
            print(f"{lay.__name__:8}{of:14}{word:6}{kind:6}{row}")


def _each(boxes, word, kind, count, drawn):
    return [(box, word, kind, count, rng) for box, rng in zip(boxes, drawn, strict=True)]


def words(plain, seed, count=200, targets=6):
    """Of words that are said of recipes with a probability, how many are so, by that probability.

    Targets lie up to 5 from the prediction, in every direction; likely words and promised ones.
    """
    rng = np.random.default_rng(seed)
    found, truth = [], []
    boxes = (scattered(plain, rng), plain)
    for pencils, word, kind in itertools.product(boxes, ("white", "tan"), ("tints", "pairs")):
        told, films, ninety, *_ = laid_at_random(pencils, word, kind, count, rng)
        for _ in range(targets):
            steps = rng.normal(size=told.shape)
            steps *= rng.uniform(0, 5, (count, 1)) / np.linalg.norm(steps, axis=1)[:, None]
            aims = from_even_coordinates(to_even_coordinates(told) + steps)
            found += map(Promise, delta_E(aims, told), delta_E(aims, told) + ninety)
            truth += delta_E(aims, films).tolist()
    print(f"\nseed {seed:4}  words of recipes: stated, and so (how many)")
    for kind, grades in (
        ("likely", [(one.likely_grade, one.likely_probability) for one in found]),
        ("promised", [(one.grade, one.grade_probability) for one in found]),
    ):
        kept = [
            (p, so <= GRADES[said]) for (said, p), so in zip(grades, truth) if said != "different"
        ]
        stated, so = np.array(kept, dtype=float).T
        for low in np.arange(0.0, 1.0, 0.2):
            some = (stated >= low) & (stated < low + 0.2 + 1e-9 * (low > 0.7))
            if some.sum() >= 30:
                print(f"{kind:9} {stated[some].mean():5.2f}{so[some].mean():6.2f}  ({some.sum()})")


def alike(plain, seed, count=100, lay=laid):
    """How often the pencils marked ≈ hold the films' own stand-in for a pencil on another paper.

    Also how many they are, what is stated of the most probable one, and how often it is so.
    """
    for kind, drawn in (("the demo's", False), ("S from 0 to 1", True)):
        rng = np.random.default_rng(seed)
        pencils = scattered(plain, rng) if drawn else plain
        white = films_on(pencils, PAPER, lay)
        for word in ("cream", "tan", "grey", "black"):
            lab = PAPER_COLOURS[word]
            films = films_on(pencils, spectrum(lab), lay)
            box = predicted_on(pencils, white, lab)
            print(f"seed {seed:4} {kind:14}{word:6} {_marked(films, box, rng, count)}")


def _marked(films, box, rng, count):
    right = nearest(films, films)
    asked = rng.permutation(len(box))[:count]
    others = np.array([np.delete(np.arange(len(box)), one) for one in asked])
    found = nearest_probabilities([box[one] for one in asked], box, others)
    group, first = tied_group(found), found.argmax(axis=1)
    own = others == right[asked][:, np.newaxis]
    so = own[np.arange(len(asked)), first]
    among = (group & own).any(axis=1) | so
    size = group.sum(axis=1).clip(1).mean()
    return (
        f"held {among.mean():4.2f} size {size:5.1f} "
        f"stated {found.max(axis=1).mean():4.2f} so {so.mean():4.2f}"
    )


def two_grounds(plain, seed, count=100, lay=laid):
    """The same of a box of which half was swatched on cream and half on white, on a third paper;
    and how many of its pencils the 90 % intervals hold.
    """
    for kind, drawn in (("the demo's", False), ("S from 0 to 1", True)):
        rng = np.random.default_rng(seed)
        pencils = scattered(plain, rng) if drawn else plain
        half, cream = rng.permutation(len(pencils)) % 2 == 0, PAPER_COLOURS["cream"]
        seen = films_on(pencils, PAPER, lay)
        seen[half] = films_on(pencils, spectrum(cream), lay)[half]
        box = [
            Pencil((replace(swatch_of(one, lab), range=f"on cream: {on_cream}", code=str(place)),))
            for place, (one, lab, on_cream) in enumerate(zip(pencils, seen, half, strict=True))
        ]
        learnt = conditions_on(None, SWATCHED_ON, swatches_too=True)
        for word in ("tan", "grey"):
            lab = PAPER_COLOURS[word]
            conditions = conditions_on(None, lab, learnt=learnt)
            bare = {"on cream: True": cream}
            there = lay_alone(box, Paper(lab, name="other"), conditions, bare=bare).swatches
            films = films_on(pencils, spectrum(lab), lay)
            sigma = np.array([one.total_uncertainty for one in there])
            within = delta_E(np.array([one.lab for one in there]), films) <= NINETY * sigma
            told = f"intervals {within.mean():4.0%}  ≈ {_marked(films, there, rng, count)}"
            print(f"seed {seed:4} {kind:14}{word:6} on two grounds: {told}")


def scattered(plain, rng):
    """Pencils whose films scatter S, drawn evenly from 0 to 1 for each."""
    drawn = rng.uniform(size=len(plain))
    return [
        replace(one, recipe=scattering(one.recipe, float(S)))
        for one, S in zip(plain, drawn, strict=True)
    ]


if __name__ == "__main__":
    plain = [pencil for pencil in make_pencils() if pencil.finish == "plain"]
    table(plain)
    print("\nthe same with films that scatter S, drawn evenly from 0 to 1 for each pencil:")
    table(scattered(plain, np.random.default_rng(7)))
    for seeds in (FITTED, JUDGED):
        held(plain, seeds)
    towards_the_mean(plain, 303)
    for seed in (101, 303):
        words(plain, seed)
    for seed in (101, 202, 303, 404):
        alike(plain, seed)
    two_grounds(plain, 303)
    print("\nby another truth, which nothing was fitted to: grainy strokes")
    held(plain, (303,), lay=strokes)
    alike(plain, 303, lay=strokes)
    two_grounds(plain, 303, lay=strokes)
