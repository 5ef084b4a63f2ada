"""Names looked up among as many pencils: as they stand, as people write them, and misspelt.

What one name costs must not grow with how many pencils there are; the exponent of growth is that of
the whole table, from the first name to the last.
"""

import gc
from contextlib import suppress
from itertools import product
from math import log
from time import process_time

from stopgap.errors import StopgapError
from stopgap.library import NameIndex, find_target
from stopgap.swatches import Swatch

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


if __name__ == "__main__":
    main()
