"""How cost grows with the library: `python tests/benchmarks/bench_scale.py [SIZES …]`.

CPU seconds of one call at each size, and the exponent from the first size to the last. Pencils are
colours drawn evenly in sRGB by a seed, a* and b* made 0.7 of themselves; 100 of them are owned. The
families' largest step and total are those of all families in sum, the bound the sum of theirs.
"""

import sys
import time
from collections.abc import Callable, Sequence
from math import log

import numpy as np
from timing import machine, table

from stopgap.blends import families
from stopgap.blends.filing.light_to_dark import order
from stopgap.colorimetry import srgb_to_lab
from stopgap.planner import BlendNeed, ColourNeed, shopping_list
from stopgap.swatches import FreeColour, Swatch

SIZES = (1_000, 10_000)
OWNED = 100
TIME_LIMIT = 1.0  # [s] of a shopping list
BLENDS, COLOURS = 5, 20


def pencils(count: int) -> list[Swatch]:
    """Invented pencils in ranges of 333."""
    random = np.random.default_rng(11)
    lab = srgb_to_lab(random.uniform(0.0, 1.0, (count, 3))) * [1.0, 0.7, 0.7]
    owned = set(random.permutation(count)[:OWNED].tolist())
    return [
        Swatch(
            f"Range {row // 333}", f"P{row}", tuple(one), owned=row in owned, price=1.0 + row % 4
        )
        for row, one in enumerate(lab.tolist())
    ]


def family_order(made: Sequence[Swatch]) -> str:
    """Every pencil in its family, light to dark."""
    found = families(made)
    largest, total = sum(one.largest_step for one in found), sum(sum(one.steps) for one in found)
    return f"{largest:.1f} / {total:.0f} / {sum(one.bound for one in found):.1f}"


def one_line(made: Sequence[Swatch]) -> str:
    """All of them in one line."""
    found = order([one.lab for one in made])
    return f"{found.largest_step:.1f} / {found.total:.0f} / {found.bound:.1f}"


def shopping(made: Sequence[Swatch]) -> str:
    """Blends and colours, within the time limit."""
    random = np.random.default_rng(3)
    ends = random.permutation(len(made))[: 2 * BLENDS].reshape(-1, 2).tolist()
    needs = [BlendNeed(f"blend {i}", made[a], made[b]) for i, (a, b) in enumerate(ends)]
    aims = random.integers(0, len(made), COLOURS).tolist()
    needs += [ColourNeed(f"colour {i}", FreeColour("", made[i].lab), 3.0) for i in aims]
    mine, others = ([one for one in made if one.owned is is_mine] for is_mine in (True, False))
    start = time.monotonic()
    plan = shopping_list(needs, mine, others, default_price=1.0, time_limit=TIME_LIMIT)
    met = f"{sum(one.met for one in plan.needs)} of {len(needs)} met"
    told = f"{plan.status}, cost {plan.cost:g}, bound {plan.bound:g}, {met}"
    return f"{told}, {time.monotonic() - start:.2f} s"


QUESTIONS: dict[str, Callable[[Sequence[Swatch]], str]] = {
    "families: largest / sum / bound": family_order,
    "one line: largest / sum / bound": one_line,
    f"shop, {BLENDS} blends, {COLOURS} colours, limit {TIME_LIMIT:g} s": shopping,
}


def main() -> None:
    """Print the table."""
    sizes = tuple(map(int, sys.argv[1:])) or SIZES
    made = {size: pencils(size) for size in sizes}
    for warm in QUESTIONS.values():
        warm(pencils(150))  # what is imported on the way does not count
    rows = []
    for name, ask in QUESTIONS.items():
        spent, found = [], []
        for size in sizes:
            start = time.process_time()
            found.append(ask(made[size]))
            spent.append(time.process_time() - start)
        exponent = log(spent[-1] / spent[0]) / log(sizes[-1] / sizes[0])
        rows.append((name, *(f"{one:.2f}" for one in spent), f"{exponent:.2f}", *found))
    answers = (f"answer at {size:,}" for size in sizes)
    print(table(("CPU s", *(f"{size:,}" for size in sizes), "exponent", *answers), rows))
    print(machine())


if __name__ == "__main__":
    main()
