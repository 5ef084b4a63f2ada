"""All recipes of many pencils, asked at once: `python tests/benchmarks/bench_recipes.py [largest]`.

One process, ways taking turns. `bare` predicts the same recipes by the model's own function, in
blocks of as many recipes as ours, with the pencils' reflectances looked up once and nothing else
prepared; `prepared` is what every search does, the colours alone, with each pencil's optical depths
computed once. `build` is all that comes before the first question: pencils, colours and tree.
Questions are for the ten best recipes; `described` adds their uncertainty and cautions. `search`
looks through all recipes for one question; `loops` is three loops with one prediction a recipe,
timed on some and multiplied.
"""

import sys
import tempfile
import time
from collections.abc import Sequence
from pathlib import Path

import numpy as np
from timing import interleaved, machine, short, table

from stopgap.layering import catalogue, catalogue_colours, palette_of, predict, search
from stopgap.layering.models import MODELS
from stopgap.neighbours import nearest_in_batches
from stopgap.planner import (
    RecipeCache,
    RecipeIndex,
    estimated_conditions,
    index_recipes,
    recipes_under,
)
from stopgap.planner.recipes.kept import numbers_of
from stopgap.swatches import Swatch

SIZES = (100, 500, 1000)
PAPER = (95.0, 0.0, 2.0)
BEST = 10
_BLOCK = 16384  # recipes at a time, as in layering.recipe_search


def invented(count: int) -> tuple[Swatch, ...]:
    """Pencils that can be layered, from so many colours."""
    random = np.random.default_rng(61)
    L, C = random.uniform(25, 85, count), random.uniform(0, 40, count)
    h = random.uniform(0, 2 * np.pi, count)
    lab = np.stack([L, C * np.cos(h), C * np.sin(h)], axis=1).tolist()
    swatches = [Swatch("Invented", str(i), tuple(one)) for i, one in enumerate(lab)]
    return palette_of(swatches, PAPER).swatches


def bare(swatches: Sequence[Swatch]):
    """The colours of all recipes of two, by `shared_tooth` on reflectances."""
    model = MODELS["spectrum"]
    lab = np.array([swatch.lab for swatch in swatches])
    reflectance = model.bands.reflectances(lab, None).reflectance
    paper = model.bands.reflectances(np.array([PAPER]), None).reflectance[0]
    box = palette_of(swatches[:2], PAPER)
    p = len(box.pressures)
    i, j = np.triu_indices(len(swatches), 1)
    pairs = np.stack([i, j], axis=1)
    loads = np.array(list(box.pressures.values()))
    both = np.stack(np.meshgrid(loads, loads, indexing="ij"), axis=-1).reshape(-1, 2)
    step = _BLOCK // p**2
    found = []
    for start in range(0, len(pairs), step):
        chosen = np.repeat(pairs[start : start + step], p * p, axis=0)
        laid = np.tile(both, (len(chosen) // (p * p), 1))
        layers = reflectance[chosen]
        knobs = {"tooth": box.tooth, "trapping": box.trapping}
        mixed = model.reflectance(layers, paper, laid, opacity=np.zeros(laid.shape), **knobs)
        found.append(model.bands.lab(mixed))
    return np.concatenate(found)


def build(swatches: Sequence[Swatch], opacity: float) -> RecipeIndex:
    index = index_recipes(palette_of(swatches, PAPER, opacity=opacity))
    index.index.prepare(compiled=False)
    return index


def one_of_three_loops(swatches: Sequence[Swatch], tries: int = 40) -> float:
    """Seconds that one prediction takes."""
    start = time.perf_counter()
    for at in range(tries):
        pair = [swatches[at].lab, swatches[at + 1].lab]
        predict(PAPER, pair, [0.35, 0.65])
    return (time.perf_counter() - start) / tries


def building(size: int, rounds: int, opacity: float = 0.0) -> tuple[str, ...]:
    swatches = invented(size)
    box = palette_of(swatches, PAPER, opacity=opacity)
    ways = {
        "bare": lambda _: bare(swatches),
        "prepared": lambda _: catalogue_colours(box),
        "build": lambda _: build(swatches, opacity),
    }
    if opacity:  # unprepared, each recipe would halve intervals for its absorption again
        del ways["bare"]
    seconds = interleaved(ways, dict.fromkeys(ways, rounds))
    median = {name: float(np.median(values)) for name, values in seconds.items()}
    count = len(catalogue(box))
    return (
        f"{size}{' covering' if opacity else ''}",
        f"{count:,}",
        *(short(median[name]) if name in median else "" for name in ("bare", "prepared", "build")),
        f"{median['build'] / median['bare']:.2f}" if "bare" in median else "",
        f"{median['build'] / median['prepared']:.2f}",
        f"{count / median['prepared'] / 1e3:.0f} k",
    )


def asking(size: int) -> tuple[str, ...]:
    swatches = invented(size)
    box = palette_of(swatches, PAPER)
    index, compiled = index_recipes(box), index_recipes(box)
    index.index.prepare(compiled=False)
    compiled.index.prepare()
    random = np.random.default_rng(62)
    anywhere = random.uniform([20, -50, -50], [95, 50, 50], (100, 3))
    on_pencils = box.lab[random.integers(0, len(swatches), 100)]
    targets = np.stack([anywhere, on_pencils], axis=1).reshape(-1, 3)
    ways = {
        "ours": lambda at: index.search(targets[at : at + 1], limit=BEST),
        "compiled": lambda at: compiled.search(targets[at : at + 1], limit=BEST),
        "described": lambda at: index.recipes(targets[at : at + 1], limit=BEST),
        "search": lambda at: search(targets[at], box, limit=BEST),
    }
    for at in range(2):
        assert np.array_equal(ways["ours"](at)[0].layings, ways["search"](at).layings)
        assert np.array_equal(ways["compiled"](at)[0].layings, ways["search"](at).layings)
    seconds = interleaved(ways, {"ours": 200, "compiled": 200, "described": 60, "search": 3})
    median = {name: float(np.median(values)) for name, values in seconds.items()}
    loops = one_of_three_loops(swatches) * len(index)
    return (
        str(size),
        short(loops),
        short(median["search"]),
        short(median["ours"]),
        short(float(seconds["ours"].max())),
        short(median["compiled"]),
        short(median["described"]),
        short(float(seconds["described"].max())),
        f"{median['search'] / median['ours']:.0f}",
        f"{loops / median['search']:.0f}",
        f"{index.index.nbytes / 1e6:.0f} MB",
    )


def keeping(size: int) -> str:
    """What it takes to write the file and to read it."""
    swatches, conditions = invented(size), estimated_conditions()
    with tempfile.TemporaryDirectory() as folder:
        cache = RecipeCache(Path(folder))
        recipes_under(conditions, swatches, cache=cache)
        (file,) = cache.folder.iterdir()
        made_from = numbers_of(conditions, swatches)
        arrays = cache.read(made_from)
        assert arrays is not None
        start = time.perf_counter()
        cache.write(made_from, arrays)
        written = time.perf_counter() - start
        start = time.perf_counter()
        recipes_under(conditions, swatches, cache=cache)
        read = time.perf_counter() - start
        return (
            f"the file of {size} pencils: {file.stat().st_size / 1e6:.0f} MB, written in "
            f"{short(written)}, read and checked in {short(read)}"
        )


def batches(size: int) -> list[str]:
    """What one task of a batch costs: sending the index, and answering a block."""
    import pickle

    index = build(invented(size), 0.0).index
    index.prepare()
    start = time.perf_counter()
    sent = pickle.dumps(index, protocol=5)
    packed = time.perf_counter() - start
    start = time.perf_counter()
    pickle.loads(sent)
    unpacked = time.perf_counter() - start
    targets = np.random.default_rng(63).uniform([20, -50, -50], [95, 50, 50], (10_000, 3))
    nearest_in_batches(index, targets, 2)
    start = time.perf_counter()
    nearest_in_batches(index, targets, 2)
    answered = time.perf_counter() - start
    return [
        f"a task over {len(index):,} colours: the index is {len(sent) / len(index):.0f} bytes a "
        f"colour, packed in {short(packed)}, unpacked in {short(unpacked)}; a block of "
        f"{len(targets):,} targets, two nearest, takes {short(answered)} compiled"
    ]


def main(largest: int = SIZES[-1]) -> None:
    sizes = [size for size in SIZES if size <= largest]
    print(machine())
    rows = [building(size, 5 if size < 500 else 2) for size in sizes if size <= 500]
    rows.append(building(40, 2, opacity=0.5))
    header = ("pencils", "recipes", "bare", "prepared", "build", "/ bare", "/ prepared", "a second")
    print("\nbuilding", table(header, rows), sep="\n", flush=True)
    header = ("pencils", "loops", "search", "index", "longest", "compiled", "described")
    header += ("longest", "search/index", "loops/search", "memory")
    print(f"\nthe best {BEST} recipes for one target")
    print(table(header, [asking(size) for size in sizes]), flush=True)
    print("", keeping(min(largest, 500)), *batches(min(largest, 500)), sep="\n")


if __name__ == "__main__":
    main(*map(int, sys.argv[1:2]))
