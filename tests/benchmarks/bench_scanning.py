"""How near a coloured page read back comes to an instrument, by device and by what is known.

Run from the repository: `python tests/benchmarks/bench_scanning.py [PAGES]`. Everything is
simulated and seeded (`tests/scanning/simulate`); pages alternate between the two cameras that
colour-science holds as measured, of which the second has layers of silicon instead of filters.
Where a scan advises which boxes to measure (four by daylight, eight by lamps), those are tried too.
"""

import sys
from pathlib import Path
from time import process_time

import numpy as np

sys.path.insert(0, str(Path(__file__).parents[1] / "scanning"))

from simulate import trials

from stopgap.difference import delta_E
from stopgap.scanning import KnownColour

PAGES = 8
CASES = (
    *("paper alone", "prior", "4 of the sheet", "8 of the sheet", "8 of another hand"),
    "as advised",
)


def known_for(case, made, rng):
    if case.endswith("sheet"):
        return trials.same_sheet(made, int(case[0]), rng)
    if case.endswith("hand"):
        return trials.other_hand(made, 8, rng)
    if case == "as advised":
        names = trials.read(made).calibration.to_measure
        return {
            name: KnownColour(
                tuple(made.truth[name] + rng.normal(0.0, 0.2, 3)), 0.4, same_layer=True
            )
            for name in names
        }
    return None


def one_page(row, seed):
    """Of each case the row of figures."""
    made = trials.trial(row, 1000 + seed)
    rows = {}
    for case in CASES:
        known = known_for(case, made, np.random.default_rng([seed, 1]))
        start = process_time()
        reading = trials.read(made, known, use_prior=case != "paper alone")
        took = process_time() - start
        found = trials.errors(made, reading, tuple(known or ()))
        doubt = np.hypot(found["own"], found["shared"])
        one, other = np.triu_indices(len(found["lab"]), 1)
        true = delta_E(found["true"][one], found["true"][other])
        near = true < 8.0
        pair = np.abs(delta_E(found["lab"][one], found["lab"][other]) - true)[near]
        own = np.hypot(found["own"][one], found["own"][other])[near]
        rows[case] = (
            found["off"].mean(),
            np.percentile(found["off"], 95),
            (found["off"] <= doubt).mean(),
            (found["off"] <= 2.0 * doubt).mean(),
            pair.mean(),
            (pair <= own).mean(),
            (pair <= 2.0 * own).mean(),
            took,
        )
    return rows


def main(pages=PAGES):
    print(
        f"\n{pages} pages of 35 pencils a device; ΔE00 to the instrument; shares within the doubt;"
    )
    print("pairs below ΔE00 8 of one page: how far their difference is off, within their own doubt")
    heads = ("mean", "p95", "in 1", "in 2", "pairs", "in 1", "in 2", "CPU s")
    print(f"{'':24}{'':20}" + "".join(f"{head:>7}" for head in heads))
    for row in trials.ROWS:
        found = [one_page(row, seed) for seed in range(pages)]
        for case in CASES:
            means = np.nanmean([rows[case] for rows in found], axis=0)
            print(f"{row:24}{case:20}" + "".join(f"{value:7.2f}" for value in means))


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else PAGES)
