"""What is offered first for vivid colours that nothing comes near: how often next to a grey.

36 pure hues and 200 colours of an even grid of sRGB, those above chroma 60, asked of the demo's
plain pencils: as single colours (`match`) and, one at a time, as lists with layers (`translate`).
A fault is something below chroma 12 in the first place while a pencil or a recipe of chroma 20 or
more lies within 30 degrees of the hue. Beside it the mean `hue_keeping_difference` of what stands
first, and for how many the list gives something that keeps the hue less well.
"""

import sys
from colorsys import hsv_to_rgb
from dataclasses import replace
from itertools import permutations

import numpy as np

from stopgap.colorimetry import srgb_to_lab
from stopgap.difference import delta_E
from stopgap.library import demo_library
from stopgap.planner import (
    Asked,
    LayerQuestion,
    cross_table,
    estimated_conditions,
    find_stand_ins,
    layered_stacks,
    translate,
)
from stopgap.planner.nearness import hue_keeping_difference
from stopgap.swatches import FreeColour, Selection

RANGES = ("Fennmoor", "Brindlewick", "Quillet")
GREY, KEPT, VIVID, DEGREES = 12.0, 20.0, 60.0, 30.0


def chroma(labs):
    """C*ab (...) of Lab (..., 3)."""
    return np.hypot(labs[..., 1], labs[..., 2])


def targets(count):
    """The pure hues and so many of the grid, as Lab (n, 3)."""
    grid = np.linspace(0.0, 1.0, 14)
    labs = np.asarray(srgb_to_lab(np.array(np.meshgrid(grid, grid, grid)).reshape(3, -1).T))
    vivid = labs[chroma(labs) > VIVID]
    some = vivid[np.random.default_rng(3).choice(len(vivid), count, replace=False)]
    pure = np.asarray(srgb_to_lab([hsv_to_rgb(place / 36, 1, 1) for place in range(36)]))
    every = np.vstack([pure, some])
    return every[chroma(every) > VIVID]


def could_be_kept(target, labs):
    """Whether any of the colours is vivid enough and near enough in hue."""
    hues = np.degrees(np.arctan2(labs[:, 2], labs[:, 1]) - np.arctan2(target[2], target[1]))
    apart = np.abs((hues + 180.0) % 360.0 - 180.0)
    return bool(np.any((chroma(labs) >= KEPT) & (apart <= DEGREES)))


def firsts(target, box, question):
    """Lab of what stands first of a single question, and of what a list gives."""
    colour = FreeColour("", tuple(target.tolist()))
    answer = find_stand_ins(colour, box, selection=Selection(), layering=question)
    laid = answer.layers[0].lab if answer.layers_first else answer.matches[0].swatch.lab
    recipes = layered_stacks(estimated_conditions(), keep_hue=True)
    (row,) = translate([Asked.of(colour)], box, distinct=False, recipes=recipes).rows
    return np.array([laid, row.given.lab])


def tables(plain):
    """Of the rows of all tables of two ranges: how many, so far off, with another best, faults."""
    ranges = {name: [one for one in plain if one.range == name] for name in RANGES}
    counts = np.zeros(4, dtype=int)
    for first, second in permutations(ranges.values(), 2):
        colours = np.array([one.lab for one in second])
        for row in cross_table(first, second).rows:
            target, nearest = np.array(row.swatch.lab), delta_E(row.swatch.lab, colours).min()
            best = np.array(row.best.lab)
            grey = row.by_hue and chroma(target) > VIVID and chroma(best) < GREY
            fault = bool(grey) and could_be_kept(target, colours)
            counts += [1, row.by_hue, row.delta_E > nearest + 1e-9, fault]
    return counts


def main(count):
    """Print a row for each box."""
    with demo_library() as library:
        plain = [one for one in library.swatches() if one.finish == "plain"]
    told = "tables: {} rows; nothing near for {}; {} with another best; faults {}"
    print(told.format(*tables(plain)))
    boxes = {"owned": [one for one in plain if one.owned]}
    boxes |= {
        name: [one for one in plain if one.range == name] for name in ("Brindlewick", "Quillet")
    }
    for name, box in boxes.items():
        question = LayerQuestion(estimated_conditions(), box)
        question = replace(question, made=question.index())
        colours = np.vstack([[one.lab for one in box], question.index().index.lab])
        grey, kept = [], []
        for target in targets(count):
            found = firsts(target, box, question)
            grey.append((chroma(found) < GREY) & could_be_kept(target, colours))
            kept.append(hue_keeping_difference(target, found))
        single, listed = np.mean(kept, axis=0)
        worse = sum(given > first + 1e-6 for first, given in kept)
        print(
            f"{name}: {len(kept)} colours; faults {np.sum(grey, axis=0).tolist()} (match, list); "
            f"difference {single:.1f}, {listed:.1f}; the list's is larger for {worse}",
            flush=True,
        )


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 200)
