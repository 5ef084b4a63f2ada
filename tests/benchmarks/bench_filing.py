"""What `family check` finds of chips planted in a wrong leaf of Munsell's, and whom else it flags.

The renotation and its source are those of tests/blends/test_families.py, values 2 to 9; a family is
a leaf of constant hue. Of each chip that is not found the ΔE00 to its nearest in the leaf it was
planted in and in its own is told: where these are alike nobody could say.

Run from the repository: `python tests/benchmarks/bench_filing.py`.
"""

import sys
from pathlib import Path

import numpy as np

sys.path.append(str(Path(__file__).parents[1] / "blends"))

from test_checking import HUES, agreement, chips_of, planted

from stopgap.difference import delta_E

DRAWS = 4


def main():
    """The table of RESULTS.md."""
    for name, leaves in (("chosen on", HUES[::2]), ("others", HUES[1::2]), ("all", HUES)):
        chips = chips_of(leaves)
        lab = {swatch.address: swatch.lab for _, _, swatch in chips}
        for beside in (True, False):
            found = flagged = others = 0
            missed = []
            for draw in range(DRAWS):
                generator = np.random.default_rng(21 + beside + 100 * draw)
                wrong, odd, kept = planted(leaves, chips, generator, beside=beside)
                found, flagged = found + len(wrong & odd), flagged + len(odd - wrong)
                others += len(chips) - len(wrong)
                missed += [apart(one, kept, lab) for one in sorted(wrong - odd)]
            where = "the next leaf" if beside else "any"
            print(f"{len(leaves)} leaves, {name}, in {where}: {found} of {25 * DRAWS} found, "
                  f"{flagged} of {others} others flagged; missed {missed}")  # fmt: skip
    print("ISCC-NBS: {} of {} centroids".format(*agreement()))


def apart(address, kept, lab):
    """The ΔE00 of a chip to the nearest other where it was planted, and in its own leaf."""
    planted_in = kept.by_pencil()[address.casefold()][0].name
    both = []
    for leaf in (planted_in, address.partition(":")[0]):
        near = [other for one, other in lab.items() if one.startswith(f"{leaf}:")]
        near = [other for other in near if other != lab[address]]
        both.append(round(float(delta_E(lab[address], np.array(near)).min()), 1))
    return tuple(both)


if __name__ == "__main__":
    main()
