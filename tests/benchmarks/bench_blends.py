"""What blends are held to, each bar beside its figure: `python tests/benchmarks/bench_blends.py`.

Munsell colours are those of tests/reference/munsell_real_d50.csv, whose header says where they are
from; the box is that of the demo. Vivid ends have an M' of 16 or more, near-neutral ones below 8,
the two ends of the ramp from chord to arc; hues are those of CAM16. Pencils are all of the demo, or
of Munsell every whole value, every chroma and every second hue ("Munsell"). Pairs are drawn by a
seed and are ΔE00 25 or more apart. Memory is the most that Python and numpy have allocated.
"""

import sys
import time
import tracemalloc
from collections import Counter
from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from itertools import product
from pathlib import Path

import networkx
import numpy as np
from timing import machine, table

import stopgap
from stopgap.arrays import FloatsLike
from stopgap.blends import Blend, blend
from stopgap.blends.path import path_through
from stopgap.colorimetry.cam16 import lab_to_cam16_ucs
from stopgap.difference import delta_E
from stopgap.swatches import Selection, Swatch

sys.path.append(str(Path(__file__).parents[1] / "blends"))
from munsell_columns import Notation, columns, holes, munsell_swatches

PAIRS = 150
DRAWS = 24  # of noise
VIVID, NEUTRAL = 16.0, 8.0  # M', the ends of the ramp between chord and arc
Row = tuple[str, str, str]


def munsell_holes(chips: dict[Notation, Swatch]) -> list[Row]:
    """How often exactly the gap is reported that one chip taken out of a column leaves."""
    right, asked = Counter[str](), Counter[str]()
    for name, column in columns(chips):
        for hole, limit in holes(column):
            asked[name] += 1
            left = column[:hole] + column[hole + 1 :]
            found = blend(left[0], left[-1], left, limit=limit)
            gaps = [(found.points[i].swatch, found.points[i + 1].swatch) for i in found.over_limit]
            right[name] += gaps == [(column[hole - 1], column[hole + 1])]
    return [
        (
            f"Munsell columns of {name}, one chip out: exactly that gap",
            "100 %",
            f"{100 * right[name] / asked[name]:.1f} % of {asked[name]}",
        )
        for name in ("value", "chroma", "hue")
    ]


def pairs(
    pencils: Sequence[Swatch], admit: Callable[[FloatsLike, FloatsLike], bool], count: int = PAIRS
):
    """So many random pairs of ends that are admitted, ΔE00 25 or more apart."""
    draw = np.random.default_rng(12)
    found: list[tuple[Swatch, Swatch]] = []
    for _ in range(200 * count):
        one, other = (pencils[row] for row in draw.choice(len(pencils), 2, replace=False))
        if float(delta_E(one.lab, other.lab)) >= 25.0 and admit(
            np.array(one.lab), np.array(other.lab)
        ):
            found.append((one, other))
        if len(found) == count:
            break
    return found


def colourfulness(lab: FloatsLike) -> float:
    """M' of CAM16-UCS."""
    _, a, b = lab_to_cam16_ucs(lab)
    return float(np.hypot(a, b))


def hue(lab: FloatsLike) -> float:
    """Hue angle of CAM16-UCS [degrees]."""
    _, a, b = lab_to_cam16_ucs(lab)
    return float(np.degrees(np.arctan2(b, a)) % 360.0)


def hues_apart(one: FloatsLike, other: FloatsLike) -> float:
    apart = abs(hue(one) - hue(other))
    return min(apart, 360.0 - apart)


def surplus_gaps(owned: Sequence[Swatch]) -> list[Row]:
    """Blends with gaps, though steps within the limit lead there inside the tube (networkx)."""
    surplus = open_ = 0
    for one, other in pairs(owned, lambda *_: True):
        found = blend(one, other, owned)
        open_ += not found.closed
        surplus += len(found.over_limit) if reachable(one, other, owned, found.limit) else 0
    return [(f"surplus gaps, {PAIRS} owned pairs of which {open_} stay open", "0", str(surplus))]


def reachable(one: Swatch, other: Swatch, pencils: Sequence[Swatch], limit: float) -> bool:
    """Whether steps within the limit, each making progress, lead there inside the tube."""
    path = path_through([one.lab, other.lab])
    for way in (path, path.chord()):
        found = way.locate([pencil.lab for pencil in pencils])
        near = found.distance <= min(limit, way.usual_corridor)
        inside = np.flatnonzero(near & (found.progress > 1e-6) & (found.progress < 1 - 1e-6))
        lab = np.array([one.lab, *(pencils[row].lab for row in inside), other.lab])
        progress = np.array([0.0, *found.progress[inside], 1.0])
        steps = np.asarray(delta_E(lab[:, None], lab[None]))
        links = (steps <= limit) & (progress[None] - progress[:, None] > 1e-6)
        graph = networkx.from_numpy_array(links, create_using=networkx.DiGraph)
        if networkx.has_path(graph, 0, len(lab) - 1):
            return True
    return False


def vivid(pencils: Sequence[Swatch], name: str, bars: Mapping[tuple[int, int], str]) -> list[Row]:
    """Least M' along a blend over that of its duller end, the mean of many."""
    rows = []
    for (low, high), bar in bars.items():

        def admit(one: FloatsLike, other: FloatsLike, low: int = low, high: int = high) -> bool:
            ends = min(colourfulness(one), colourfulness(other))
            return ends >= VIVID and low <= hues_apart(one, other) < high

        shares, closed = [], 0
        for one, other in pairs(pencils, admit):
            found = blend(one, other, pencils)
            along = [colourfulness(point.lab) for point in found.points]
            shares.append(min(along) / min(along[0], along[-1]))
            closed += found.closed
        label = f"{name}: vivid, {low} to {high} degrees, least chroma, {len(shares)} pairs"
        median = f"(median {np.median(shares):.2f}, {closed} closed)"
        rows.append((label, f">= {bar}", f"{np.mean(shares):.2f} {median}"))
    return rows


def near_neutral(pencils: Sequence[Swatch], name: str, bar: str, *, both: bool) -> list[Row]:
    """How far blends stray, the mean of a blend's points, where an end or both are near-neutral."""

    def admit(one: FloatsLike, other: FloatsLike) -> bool:
        low, high = sorted((colourfulness(one), colourfulness(other)))
        return low < NEUTRAL and (high < NEUTRAL) == both

    found = [blend(one, other, pencils) for one, other in pairs(pencils, admit)]
    means = np.mean([np.mean([point.stray for point in each.points]) for each in found])
    inner = np.mean([point.stray for each in found for point in each.points[1:-1]])
    ends = "both ends" if both else "one end"
    label = f"{name}: {ends} near-neutral, stray, {len(found)} pairs"
    return [(label, bar, f"{means:.2f} (of inner points {inner:.2f})")]


def yellow_to_blue(pencils: Sequence[Swatch], name: str) -> list[Row]:
    """J' gone back, the sum along a blend, from the five most vivid yellows to such blues."""
    most_vivid = sorted(pencils, key=lambda pencil: -colourfulness(pencil.lab))
    yellows = [pencil for pencil in most_vivid if 80 <= hue(pencil.lab) <= 110][:5]
    blues = [pencil for pencil in most_vivid if 235 <= hue(pencil.lab) <= 285][:5]
    back = []
    for one, other in product(yellows, blues):
        lightness = lab_to_cam16_ucs([p.lab for p in blend(one, other, pencils).points])[:, 0]
        rise = np.diff(lightness) * np.sign(lightness[-1] - lightness[0])
        back.append(float(-rise[rise < 0].sum()))
    label = f"{name}: yellow to blue, lightness gone back, {len(back)} pairs"
    return [(label, "<= 1", f"{np.mean(back):.2f} (worst {max(back):.1f})")]


def under_noise(owned: Sequence[Swatch]) -> list[Row]:
    """How the count of gaps changes if every pencil is measured anew, by how many draws agree.

    Beside it, how the same chains would change if nothing were looked for again.
    """
    ends = pairs(owned, lambda *_: True)
    before = [blend(one, other, owned) for one, other in ends]
    rows = []
    for label, sigma in (("ΔE*ab", 0.4 / np.sqrt(3.0)), ("on each of L*, a*, b*", 0.4)):
        draw = np.random.default_rng(5)
        changes, kept = [], []
        for _ in range(DRAWS):
            shifted = [np.array(pencil.lab) + draw.normal(0.0, sigma, 3) for pencil in owned]
            noisy = {
                pencil.address: replace(pencil, lab=tuple(lab.tolist()))
                for pencil, lab in zip(owned, shifted)
            }
            again = [
                blend(noisy[one.address], noisy[other.address], list(noisy.values()))
                for one, other in ends
            ]
            gaps = np.array([len(found.over_limit) for found in before])
            changes.append(np.mean(np.abs([len(found.over_limit) for found in again] - gaps)))
            same = [gaps_of_chain(found, noisy) for found in before]
            kept.append(np.mean(np.abs(same - gaps)))
        error = np.std(changes, ddof=1) / np.sqrt(DRAWS)
        change = f"{np.mean(changes):.3f} ± {error:.3f} (chains as they were {np.mean(kept):.3f})"
        rows.append((f"gaps more or fewer under noise of 0.4 {label}", "<= 0.10", change))
    return rows


def gaps_of_chain(found: Blend, noisy: Mapping[str, Swatch]) -> int:
    """How many steps of a chain are over the limit once its pencils are measured anew."""
    lab = [noisy[point.swatch.address].lab for point in found.points]
    return int(np.sum(np.asarray(delta_E(lab[:-1], lab[1:])) > found.limit))


def at_size(count: int = 10_000) -> list[Row]:
    """CPU seconds and memory of blends among many pencils."""
    draw = np.random.default_rng(3)
    L, C = draw.uniform(20, 95, count), 75.0 * np.sqrt(draw.uniform(0, 1, count))
    h = draw.uniform(0, 2 * np.pi, count)
    lab = np.stack([L, C * np.cos(h), C * np.sin(h)], axis=-1).tolist()
    pencils = [Swatch("Many", str(row), tuple(each)) for row, each in enumerate(lab)]
    seconds, most = [], 0
    for one, other in pairs(pencils, lambda *_: True, 12):
        start = time.process_time()
        blend(one, other, pencils)
        seconds.append(time.process_time() - start)
        tracemalloc.start()
        blend(one, other, pencils)
        most = max(most, tracemalloc.get_traced_memory()[1])
        tracemalloc.stop()
    times = f"{min(seconds):.2f} to {max(seconds):.2f} s"
    return [
        (f"{count} pencils, CPU time of a blend", "<= 1 s", times),
        (f"{count} pencils, memory of a blend", "<= 50 MB", f"{most / 1e6:.0f} MB"),
    ]


def main() -> None:
    print(machine())
    with stopgap.demo_library() as library:
        swatches = library.swatches()
    every, owned = Selection().of(swatches), Selection(owned=True).of(swatches)
    chips = munsell_swatches()
    dense = [
        chip
        for (hue, value, _), chip in chips.items()
        if value.is_integer() and value >= 2 and hue.startswith(("5", "10"))
    ]
    rows = [
        *munsell_holes(chips),
        *surplus_gaps(owned),
        *vivid(every, "demo", {(30, 60): ".94", (60, 90): ".73", (90, 120): ".60"}),
        *vivid(dense, "Munsell", {(90, 120): ".70"}),
        *near_neutral(every, "demo", "<= 1.6", both=True),
        *near_neutral(every, "demo", "", both=False),
        *near_neutral(dense, "Munsell", "", both=False),
        *yellow_to_blue(every, "demo"),
        *yellow_to_blue(dense, "Munsell"),
        *under_noise(owned),
        *at_size(),
    ]
    print(table(("", "bar", "measured"), rows))


if __name__ == "__main__":
    main()
