"""Names of pencils looked up, and what colours are called by the standard.

Names are looked up among as many pencils: as they stand, as people write them, and misspelt. What
one costs must not grow with how many pencils there are; the exponent of growth is that of the whole
table, from the first name to the last.

What colours are called is held against the standard's blocks where their table is at hand, as
`STOPGAP_NAME_BLOCKS` says, over colours that no part of the model saw: notations drawn between the
nodes of the renotation, converted by colour-science, and its nodes, as a book of chips would have
them. No measured book is at hand.
"""

import gc
import sys
from contextlib import suppress
from itertools import product
from math import log
from pathlib import Path
from time import process_time

import numpy as np

from stopgap.colorimetry import hexes_to_lab
from stopgap.difference import delta_E
from stopgap.errors import StopgapError
from stopgap.library import NameIndex, find_target
from stopgap.naming import called, categories, category_rows, misleading_term
from stopgap.swatches import Swatch

sys.path.append(str(Path(__file__).parents[1] / "naming"))

SIZES = (1_000, 10_000)
SYLLABLES = ("kel", "gul", "wra", "mos", "tan", "sil", "fen", "dra", "ber", "lor")


def pencils(count):
    """Pencils of ten ranges with codes such as A-00017 and names of four syllables."""
    names = ["".join(each) for each in product(SYLLABLES, repeat=4)]
    return [
        Swatch(
            f"Range {number % 10}",
            f"{'ABCDEFGHIJ'[number % 10]}-{number:05}",
            (50.0, 0.0, 0.0),
            names[7919 * number % len(names)],
        )
        for number in range(count)
    ]


def written(swatches):
    """How each is asked for: in full, without zeros and dashes, and with a letter too many."""
    in_full = [swatch.address for swatch in swatches]
    loose = [f"{each.range} {each.code.replace('-0', '').lower()}" for each in swatches]
    misspelt = [f"{each.range}:{each.code}x" for each in swatches]
    return {"as it stands": in_full, "as people write": loose, "misspelt": misspelt}


def looked_up(swatches, texts):
    """CPU seconds for an index and each text in it."""
    started = process_time()
    index = NameIndex(swatches)
    for text in texts:
        with suppress(StopgapError):
            find_target(text, index)
    return process_time() - started


def nearest_centroids(lab):
    """Rows of the nearest centroids, the slow way that names were found before."""
    return delta_E(np.asarray(lab)[:, None, :], [each.lab for each in categories()]).argmin(axis=1)


def held_out():
    """Hue, value, chroma and Lab of the sets that the bars are for; the seed is the benchmark's."""
    from standard_blocks import MUNSELL_COLOURS, Renotation, drawn, hue_number, is_real, strongest

    from stopgap.naming.notation import luminance

    rng = np.random.default_rng(4711)
    nodes = [((hue_number(h), v, c)) for (h, v, c), _ in MUNSELL_COLOURS["real"]]
    dark = rng.uniform((0.0, 0.2, 0.0), (100.0, 1.2, 8.0), (3000, 3))
    dark = dark[is_real(dark, strongest())]
    sets = {"dense": drawn(rng, 2500), "near grey": drawn(rng, 1200, chroma=(0.0, 2.5))}
    for name, hvc in (("nodes", np.array(nodes)), ("L 2 to 11", dark)):
        lab = Renotation().lab(hvc, luminance)
        seen = np.isfinite(lab).all(axis=1)
        sets[name] = hvc[seen], lab[seen]
    return sets


def inside(blocks, hvc, by=(0.3, 0.15, 0.3)):
    """Which colours lie as far from the ends of their block, as labels of chips should."""
    steps = np.concatenate([np.diag(by), -np.diag(by)])
    own = blocks.number(hvc)
    moved = [np.maximum(hvc + step, 0.0) for step in steps]
    return np.all([blocks.number(each) == own for each in moved], axis=0)


def agreement(rows, truth, level):
    """How many per cent bear the right name on a level."""
    pairs = zip(rows.tolist(), truth.tolist(), strict=True)
    every = categories()
    return 100 * np.mean([every[a].called(level) == every[b].called(level) for a, b in pairs])


def names_right(path):
    """Print agreement with the blocks, and the false alarms of "misleading"."""
    from standard_blocks import Blocks

    blocks = Blocks(path)
    print(
        f"\n{'level 1/2/3, %':<14}{'the model':>20}{'nearest centroid':>20}"
        f"{'or also, level 2':>18}{'false alarms':>14}"
    )
    sets = held_out()
    hvc, lab = sets["nodes"]
    away = inside(blocks, hvc)
    sets["nodes inside"] = hvc[away], lab[away]
    for name, (hvc, lab) in sets.items():
        truth = blocks.number(hvc) - 1
        figures = ["/".join(f"{agreement(find(lab), truth, level):.1f}" for level in (1, 2, 3))
                   for find in (category_rows, nearest_centroids)]  # fmt: skip
        also = [categories()[t].level_2 in called(each) for each, t in zip(lab[:1000], truth)]
        false = [misleading_term(categories()[t].name, each) is not None
                 for each, t in zip(lab, truth)]  # fmt: skip
        print(f"{name:<14}{figures[0]:>20}{figures[1]:>20}{100 * np.mean(also):>18.1f}"
              f"{100 * np.mean(false):>14.2f}")  # fmt: skip


def names_of_vivid():
    """How many vivid colours of sRGB are called greyish or gray, and how fast names are found."""
    grid = [f"#{r:02x}{g:02x}{b:02x}" for r, g, b in product(range(0, 256, 15), repeat=3)]
    lab = hexes_to_lab(grid)
    lab = lab[np.hypot(lab[:, 1], lab[:, 2]) >= 60.0]
    dull = [sum("gray" in categories()[row].name for row in find(lab).tolist())
            for find in (category_rows, nearest_centroids)]  # fmt: skip
    print(
        f"\nof {len(lab)} vivid colours of sRGB called gray or grayish: {dull[0]}, by the "
        f"nearest centroid {dull[1]}"
    )
    for count in (1, 100, 1000):
        spent = []
        for find in (category_rows, nearest_centroids):
            some, rounds = lab[:count], max(1, 300 // count)
            find(some)
            started = process_time()
            for _ in range(rounds):
                find(some)
            spent.append((process_time() - started) / rounds)
        print(
            f"{count} colours: {1e3 * spent[0]:.2f} ms, nearest centroid "
            f"{1e3 * spent[1]:.2f} ms, {spent[1] / spent[0]:.1f} times as fast"
        )


def main():
    """Print CPU seconds of each, the best of three, and the exponents."""
    gc.set_threshold(1_000_000)  # as the command line sets it
    spent = {}
    for size in SIZES:
        swatches = pencils(size)
        for how, texts in written(swatches).items():
            spent[how, size] = min(looked_up(swatches, texts) for _ in range(3))
    print(f"{'names':<16}" + "".join(f"{size:>10,}" for size in SIZES) + "  exponent")
    for how in written([]):
        seconds = [spent[how, size] for size in SIZES]
        exponent = log(seconds[1] / seconds[0]) / log(SIZES[1] / SIZES[0])
        print(f"{how:<16}" + "".join(f"{each:>9.3f}s" for each in seconds) + f"  {exponent:8.2f}")
    from standard_blocks import table_path

    if path := table_path():
        names_right(path)
    names_of_vivid()


if __name__ == "__main__":
    main()
