"""Two measurements of one book of colours: how often a chip's own fellow is found in the other.

No pair of measured books is at hand. Chips are those of the Munsell renotation (measured, 1943,
smoothed) that a book holds, `tests/reference/munsell_real_d50.csv`; the second book is made of
them, a stand-in and no more: a rougher surface adds 2.6 per cent of light, different by a fifth
from chip to chip, what enters is reflected once more inside (Saunderson's second term, which flare
and gain do not have), and each chip is painted anew, off by ΔE00 1.4 in each direction.
"""

import sys
from pathlib import Path

import numpy as np

from stopgap.colorimetry import D50, lab_to_xyz, xyz_to_lab
from stopgap.difference import delta_E, even_covariance
from stopgap.planner.comparison.flare import find_unpaired, fit_pairs

REFERENCE = Path(__file__).parents[1] / "reference" / "munsell_real_d50.csv"
CHIPS, PAINTED = 1163, 1.4


def book():
    """Lab of 1,163 chips of value 2 to 9 and chroma to 14."""
    lines = [line for line in REFERENCE.read_text().splitlines() if not line.startswith("#")]
    rows = np.array([[float(x) for x in line.split(",")[1:]] for line in lines[1:]])
    kept = rows[(rows[:, 0] >= 2) & (rows[:, 1] <= 14)]
    draw = np.random.default_rng(1943)
    return kept[draw.permutation(len(kept))[:CHIPS], 2:]


def painted(rng, labs, size=PAINTED):
    """The same chips once more, off by `size` ΔE00 in every direction."""
    root = np.linalg.cholesky(even_covariance(labs, size))
    return labs + np.einsum("nij,nj->ni", root, rng.normal(size=labs.shape))


def rough(rng, labs, flare=0.026, inner=0.10):
    """As a rougher surface shows them."""
    factor = lab_to_xyz(labs) / np.asarray(D50)
    added = flare * (1.0 + 0.2 * rng.normal(size=(len(labs), 1)))
    inside = (1.0 - flare) * (1.0 - inner) * factor / (1.0 - inner * factor)
    return xyz_to_lab(np.maximum(added + inside, 1e-6) * np.asarray(D50))


def ranks(labs, others):
    """The place of each chip's own fellow among all of the others."""
    found = []
    for start in range(0, len(labs), 100):
        away = delta_E(labs[start : start + 100, None], others[None])
        own = away[np.arange(len(away)), np.arange(start, start + len(away))]
        found.append((away < own[:, None]).sum(axis=1))
    return np.concatenate(found)


def shares(labs, others):
    """Own chip in the top 1, 3, 5, in per cent."""
    place = ranks(labs, others)
    return np.array([100.0 * np.mean(place < k) for k in (1, 3, 5)])


def said(figures):
    """The three as they are printed."""
    return "/".join(f"{each:.0f}" for each in figures)


def with_pairs(glossy, matte):
    """Print the mean and the worst of eight draws, and how far pairs left out say it is off."""
    print(f"as they are: {said(shares(matte, glossy))}")
    for count in (3, 5, 10, 20, 40):
        found, own, shared, vector = [], [], [], []
        for seed in range(8):
            rng = np.random.default_rng(1000 + seed)
            pairs = rng.choice(len(glossy), count, replace=False)
            fitted = fit_pairs(matte[pairs], glossy[pairs])
            rest = np.setdiff1d(np.arange(len(glossy)), pairs)
            moved = fitted.lab(matte)
            away = delta_E(moved[rest], glossy[rest])
            found.append(shares(moved, glossy))
            own.append(np.sqrt(3.0) * np.hypot(fitted.own, fitted.shared))
            shared.append(np.sqrt(np.mean(away**2)))
            offset = (glossy[pairs] - matte[pairs]).mean(axis=0)
            vector.append(shares(matte + offset, glossy))
        print(
            f"{count:>3} pairs: mean {said(np.mean(found, 0))}, worst {said(np.min(found, 0))}; "
            f"one vector {said(np.mean(vector, 0))}, worst {said(np.min(vector, 0))}; "
            f"stated {np.mean(own):.1f}, is {np.mean(shared):.1f}"
        )


def without_pairs(glossy, count, sets):
    """Print how often a shift is found, and how often one is where there is none."""
    hits, alarms, after = 0, 0, []
    for seed in range(sets):
        rng = np.random.default_rng(5000 + seed)
        some = rng.permutation(len(glossy))
        ours, other = glossy[some[:count]], glossy[some[count : 2 * count]]
        theirs = np.concatenate([ours[: count // 2], other[: count - count // 2]])
        hits += find_unpaired(painted(rng, rough(rng, ours)), glossy) is not None
        alarms += find_unpaired(painted(rng, ours), glossy) is not None
        alarms += find_unpaired(painted(rng, ours), painted(rng, theirs)) is not None
        alarms += find_unpaired(other, ours) is not None
        found = find_unpaired(painted(rng, rough(rng, ours)), painted(rng, ours))
        if found:
            after.append(shares(found.lab(painted(rng, rough(rng, ours))), ours))
    print(
        f"{count} pencils: found {hits} of {sets}, false alarms {alarms} of {3 * sets}"
        + (f"; own chip then {said(np.mean(after, 0))} ({len(after)} sets)" if after else "")
    )


def main(sets):
    glossy = book()
    rng = np.random.default_rng(1)
    matte = painted(rng, rough(rng, glossy))
    with_pairs(glossy, matte)
    for count in (36, 72, 144):
        without_pairs(glossy, count, sets)


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 100)
