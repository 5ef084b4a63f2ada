"""The index against looking at every colour: `python tests/benchmarks/bench_index.py [largest]`.

One process, ways taking turns, medians over single questions for the five nearest; half of the
targets lie near the colours, half anywhere. `numpy` is the fastest we know of looking at every
colour in numpy, in blocks that stay in the cache; `library` is colour-science's `delta_E` over all
of them and a sort. Ratios are of the median, `numpy` over ours.
"""

import sys
import time
import tracemalloc
from collections.abc import Callable
from pathlib import Path

import colour
import numpy as np
from timing import interleaved, machine, short, table

from stopgap.difference import delta_E_ciede2000
from stopgap.layering import predict
from stopgap.neighbours import SwatchIndex
from stopgap.neighbours.colours import rank_exhaustively

sys.path.append(str(Path(__file__).parents[1] / "neighbours"))
from colour_sets import clustered, munsell, uniform

SIZES = (500, 2_000, 10_000, 100_000, 1_000_000)
NEAREST = 5
PAPER = (96.0, 0.0, 1.0)


def recipes(generator: np.random.Generator, count: int):
    """Munsell colours a pencil could have, and two of them laid over each other, as predicted."""
    pencils = munsell(generator, 20_000)
    chroma = np.hypot(pencils[:, 1], pencils[:, 2])
    pencils = pencils[(pencils[:, 0] > 35) & (pencils[:, 0] < 90) & (chroma < 40)]
    parts = [pencils[: count // 10]]
    for start in range(len(parts[0]), count, 50_000):
        many = min(50_000, count - start)
        pairs = pencils[generator.integers(0, len(pencils), (many, 2))]
        pressures = generator.choice([0.35, 0.65, 1.0], (many, 2))
        parts.append(predict(PAPER, pairs, pressures, model="channels"))
    return np.concatenate(parts)


def targets_near_and_anywhere(generator, lab, count):
    near = lab[generator.integers(0, len(lab), count)] + generator.normal(0, 1.5, (count, 3))
    targets = np.where(np.arange(count)[:, np.newaxis] % 2, near, uniform(generator, count) * 0.7)
    return np.clip(targets, [0, -128, -128], [100, 128, 128])


def measure(make: Callable, size: int, generator: np.random.Generator) -> dict[str, float]:
    """Median and mean seconds of one question each way, of one in a batch, and of the build."""
    lab = make(generator, size)
    targets = targets_near_and_anywhere(generator, lab, 400)
    plain, compiled = SwatchIndex(lab), SwatchIndex(lab)
    start = time.perf_counter()
    plain.prepare(compiled=False)
    build = time.perf_counter() - start
    compiled.prepare()
    ways = {
        "numpy": lambda at: rank_exhaustively(
            lab, targets[at : at + 1], NEAREST, delta_E_ciede2000
        ),
        "library": lambda at: np.argsort(
            colour.delta_E(targets[at], lab, method="CIE 2000"), kind="stable"
        )[:NEAREST],
        "ours": lambda at: plain.nearest(targets[at], NEAREST),
        "compiled": lambda at: compiled.nearest(targets[at], NEAREST),
    }
    few = int(np.clip(3e6 / size, 9, 200))
    rounds = {"numpy": few, "library": max(5, few // 3), "ours": 200, "compiled": 200}
    seconds = interleaved(ways, rounds)
    for at in range(min(5, few)):
        assert (ways["ours"](at)[1] == ways["numpy"](at)[1]).all()
        assert (ways["compiled"](at)[1] == ways["numpy"](at)[1]).all()
    found = {name: float(np.median(values)) for name, values in seconds.items()}
    found |= {f"{name} mean": float(values.mean()) for name, values in seconds.items()}
    return found | _batches(lab, plain, compiled, generator) | {"build": build}


def _batches(lab, plain, compiled, generator) -> dict[str, float]:
    """Seconds of one question in a batch: 10,000 compiled, 1,000 in numpy, else fewer."""
    many = targets_near_and_anywhere(generator, lab, 10_000)
    few = max(8, 2_000_000 // len(lab))
    ways = {
        "numpy batch": lambda _: rank_exhaustively(lab, many[:few], NEAREST, delta_E_ciede2000),
        "ours batch": lambda _: plain.nearest(many[:1_000], NEAREST),
        "compiled batch": lambda _: compiled.nearest(many, NEAREST),
    }
    seconds = interleaved(ways, dict.fromkeys(ways, 3))
    asked = {"numpy batch": few, "ours batch": 1_000, "compiled batch": 10_000}
    return {name: float(np.median(values)) / asked[name] for name, values in seconds.items()}


def growth(means: dict[int, float]) -> float:
    """The exponent p of time ~ size^p, fitted to sizes of 10,000 and more."""
    sizes = [size for size in means if size >= 10_000]
    return float(np.polyfit(np.log(sizes), np.log([means[size] for size in sizes]), 1)[0])


def memory(size: int) -> str:
    lab = uniform(np.random.default_rng(1), size)
    index = SwatchIndex(lab)
    tracemalloc.start()
    index.prepare(compiled=False)
    peak = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    return (
        f"memory at {size:,} colours: {index.nbytes / size:.0f} bytes a colour held, "
        f"{peak / size:.0f} at the peak of the build, its outcome included"
    )


def main(largest: int = SIZES[-1]) -> None:
    sizes = [size for size in SIZES if size <= largest]
    print(machine())
    header = ("colours", "numpy", "library", "ours", "x", "compiled", "x")
    header += ("batch: numpy", "ours", "x", "compiled", "x", "build")
    for make in (uniform, clustered, recipes):
        generator = np.random.default_rng(50)
        results = {size: measure(make, size, generator) for size in sizes}
        print(f"\n{make.__name__}, one question of {NEAREST} nearest")
        print(table(header, [_row(size, found) for size, found in results.items()]))
        if len(results) > 3:
            for way in ("ours", "compiled", "ours batch", "compiled batch"):
                key = way if way.endswith("batch") else f"{way} mean"
                exponent = growth({size: found[key] for size, found in results.items()})
                print(f"growth of the mean, {way}: size^{exponent:.2f}")
    print("\n" + memory(largest))


def _row(size: int, found: dict[str, float]) -> tuple[str, ...]:
    def against(base: str, way: str) -> tuple[str, str]:
        return short(found[way]), f"{found[base] / found[way]:.3g}"

    return (
        f"{size:,}",
        short(found["numpy"]),
        short(found["library"]),
        *against("numpy", "ours"),
        *against("numpy", "compiled"),
        short(found["numpy batch"]),
        *against("numpy batch", "ours batch"),
        *against("numpy batch", "compiled batch"),
        short(found["build"]),
    )


if __name__ == "__main__":
    main(*map(int, sys.argv[1:2]))
