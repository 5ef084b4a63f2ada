"""How often a match under another lamp lies within what is said where one spectrum is missing.

Each reflectance hides once beside each of the three nearest of its set. The weights were fitted to
the colour checkers; the demo's measured pencils and the test colours of CIE 13.3 and of the colour
quality scale, which they did not see, are judged. All as colour-science and the demo carry them.
"""

import csv
from pathlib import Path

import colour
import numpy as np
from colour.quality.datasets import SDS_TCS, SDS_VS

from stopgap.colorimetry import RECONSTRUCTED_AT, reflectance_to_lab
from stopgap.difference import delta_E
from stopgap.planner import find_stand_ins, look_under
from stopgap.swatches import Reflectance, Swatch

PENCILS = Path(__file__).parents[2] / "datasets" / "brindlewick.csv"
LAMPS = ("A", "F11", "LED-B3")


def checkers():
    """54 patches of two colour checkers."""
    chosen = (colour.SDS_COLOURCHECKERS[name] for name in ("BabelColor Average", "PMC"))
    return _sampled(each for some in chosen for each in some.values())


def test_colours():
    """Those of two quality indices, each once."""
    chosen = (next(iter(some.values())) for some in (SDS_TCS, SDS_VS))
    return _sampled(each for some in chosen for each in some.values())


def pencils():
    """The demo's measured range, plain ones."""
    with PENCILS.open(encoding="utf-8") as file:
        rows = [row for row in csv.DictReader(file) if row.get("finish", "") in ("", "plain")]
    columns = [name for name in rows[0] if name.startswith("nm")]
    at = [float(name[2:]) for name in columns]
    return np.array(
        [np.interp(RECONSTRUCTED_AT, at, [float(row[c]) for c in columns]) for row in rows]
    )


def _sampled(spectra):
    found = [np.interp(RECONSTRUCTED_AT, one.wavelengths, one.values) for one in spectra]
    return np.array([one for one in found if one.min() >= 0.0 and one.max() <= 1.0])


def coverage(reflectances):
    """Per cent of pairs within the interval, a lamp each, and how wide it is on average."""
    labs = reflectance_to_lab(RECONSTRUCTED_AT, reflectances)
    held, wide = {lamp: [] for lamp in LAMPS}, []
    for row, lab in enumerate(labs):
        hidden = Swatch("Set", "hidden", tuple(map(float, lab)))
        shown = _measured("shown", lab, reflectances[row])
        for other in np.argsort(delta_E(lab, labs))[1:4]:
            near = [_measured("near", labs[other], reflectances[other])]
            told = look_under(find_stand_ins(hidden, near), LAMPS, reconstruct=True)
            true = look_under(find_stand_ins(shown, near), LAMPS)
            for said, known in zip(told.matches[0].under, true.matches[0].under, strict=True):
                low, high = said.interval
                held[said.illuminant].append(low <= known.delta_E <= high)
                wide.append(high - low)
    return np.array([100.0 * np.mean(held[lamp]) for lamp in held]), np.mean(wide)


def _measured(code, lab, reflectance):
    return Swatch(
        "Set",
        code,
        tuple(map(float, lab)),
        reflectance=Reflectance(RECONSTRUCTED_AT, tuple(map(float, reflectance))),
    )


def main():
    """Print how many per cent each set holds."""
    print(f"{'within 90 %':<24}" + "".join(f"{lamp:>8}" for lamp in LAMPS) + "   width")
    judged = []
    for name, of in (
        ("fitted: checkers", checkers),
        ("judged: pencils", pencils),
        ("judged: test colours", test_colours),
    ):
        reflectances = of()
        shares, width = coverage(reflectances)
        _print(name, shares, width)
        if of is not checkers:
            judged.append((len(reflectances), *shares, width))
    sizes, *columns = np.array(judged).T
    *shares, width = [np.average(column, weights=sizes) for column in columns]
    _print("judged: both", shares, width)


def _print(name, shares, width):
    print(f"{name:<24}" + "".join(f"{each:8.1f}" for each in shares) + f"{width:8.1f}")


if __name__ == "__main__":
    main()
