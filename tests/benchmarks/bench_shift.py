"""Two measurements of one book of colours: how often a chip's own fellow is found in the other.

No pair of measured books is at hand. Chips are those of the Munsell renotation (measured, 1943,
smoothed) that a book holds, `tests/reference/munsell_real_d50.csv`; the second book is made of
them, a stand-in and no more, so strong that without correction as few find their own as between two
measured books. A rougher surface adds 3.6 per cent of light, different by a tenth from chip to
chip; what enters is reflected once more inside (Saunderson's second term, which flare and gain do
not have); the instrument turns hues by 1.5 degrees and stretches chroma by 3 per cent; and each
chip is painted anew, off by ΔE00 0.6 in each direction.
"""

import sys
from pathlib import Path

import numpy as np

from stopgap.colorimetry import D50, lab_to_xyz, xyz_to_lab
from stopgap.difference import delta_E, even_covariance
from stopgap.library.flare import find_unpaired, fit_pairs
from stopgap.planner import find_stand_ins
from stopgap.swatches import Source, Swatch

REFERENCE = Path(__file__).parents[1] / "reference" / "munsell_real_d50.csv"
CHIPS, PAINTED = 1163, 0.6


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


def rough(rng, labs, flare=0.036, inner=0.05):
    """As a rougher surface and another instrument show them."""
    factor = lab_to_xyz(labs) / np.asarray(D50)
    added = flare * (1.0 + 0.1 * rng.normal(size=(len(labs), 1)))
    inside = (1.0 - flare) * (1.0 - inner) * factor / (1.0 - inner * factor)
    L, a, b = xyz_to_lab(np.maximum(added + inside, 1e-6) * np.asarray(D50)).T
    turned = 1.03 * np.exp(1j * np.radians(1.5)) * (a + 1j * b)
    return np.column_stack([L, turned.real, turned.imag])


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
    for count in (3, 5, 10, 20):
        found, stated, off, held = [], [], [], []
        for seed in range(8):
            rng = np.random.default_rng(1000 + seed)
            pairs = rng.choice(len(glossy), count, replace=False)
            fitted = fit_pairs(matte[pairs], glossy[pairs])
            rest = np.setdiff1d(np.arange(len(glossy)), pairs)
            moved = fitted.lab(matte)
            away = delta_E(moved[rest], glossy[rest])
            found.append(shares(moved, glossy))
            stated.append(np.sqrt(3.0) * np.hypot(fitted.own, fitted.shared))
            off.append(np.sqrt(np.mean(away**2)))
            if seed < 4:
                held.append(holding(rng, glossy, moved, fitted, rest))
        inside, size = np.mean(held, axis=0)
        print(
            f"{count:>3} pairs: mean {said(np.mean(found, 0))}, worst {said(np.min(found, 0))}; "
            f"stated off by {np.mean(stated):.1f}, is {np.mean(off):.1f}; of its ≈ group, "
            f"{size:.0f} chips, it is one in {100 * inside:.0f} %",
            flush=True,
        )


def holding(rng, glossy, moved, fitted, rest):
    """How often the tied hold the own chip, and how many they are: 40 chips not fitted."""
    swatches = [
        Swatch("Matte", f"{row}", tuple(map(float, lab)), source=Source.MEASURED,
               uncertainty=max(0.4, fitted.own), shared_uncertainty=np.hypot(0.3, fitted.shared))
        for row, lab in enumerate(moved)
    ]  # fmt: skip
    inside, sizes = [], []
    for row in rng.choice(rest, 40, replace=False):
        target = Swatch("Glossy", f"{row}", tuple(map(float, glossy[row])), source=Source.MEASURED)
        matches = find_stand_ins(target, swatches, limit=60).matches
        tied = [each.swatch.code for each in matches if each.tied] or [matches[0].swatch.code]
        inside.append(f"{row}" in tied)
        sizes.append(len(tied))
    return np.mean(inside), np.mean(sizes)


def without_pairs(glossy, count, sets):
    """Print how often a shift is found, and how often one is where there is none."""
    hits, half, alarms, after = 0, 0, [0, 0, 0], []
    for seed in range(sets):
        rng = np.random.default_rng(5000 + seed)
        some = rng.permutation(len(glossy))
        ours, other = glossy[some[:count]], glossy[some[count : 2 * count]]
        mixed = np.concatenate([ours[: count // 2], other[: count - count // 2]])
        shown = painted(rng, rough(rng, ours))
        found = find_unpaired(shown, ours)
        hits += found is not None
        half += find_unpaired(shown, mixed) is not None
        for place, pair in enumerate(((painted(rng, ours), ours), (ours, mixed), (other, ours))):
            alarms[place] += find_unpaired(*pair) is not None
        if found:
            after.append(shares(found.lab(shown), ours))
    print(
        f"{count} pencils, {sets} sets: found {hits}, where half are of the same colours {half}; "
        f"false alarms {alarms} (the same, half the same, other colours); "
        f"own chip then {said(np.mean(after, 0)) if after else '-'}"
    )


def main(sets):
    """Print both tables."""
    glossy = book()
    rng = np.random.default_rng(1)
    with_pairs(glossy, painted(rng, rough(rng, glossy)))
    without_pairs(glossy, 72, sets)


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 100)
