"""Make the tables that colorimetry keeps, since colour-science loads slowly:
`python tests/colorimetry/make_weights.py`, with colour-science 0.4.7.
"""

from pathlib import Path

import numpy as np

import stopgap.colorimetry
from stopgap.colorimetry.recovery.posterior import of_samples
from stopgap.colorimetry.spectra import STEPS_KEPT, integration_table
from stopgap.colorimetry.whites import OBSERVERS, WHITES, colour_science, science_name

DATA = Path(stopgap.colorimetry.__file__).parent / "data"
HEADER = """\
# X, Y, Z that reflectance every {step} nm from 360 to 780 nm adds to a colour for the {observer}
# degree observer, under each illuminant in the order of WHITES; Y of white is 100. 10 nm: weighting
# factors of ASTM E2022; 5 nm: colour-matching functions times the illuminant. As colour-science
# 0.4.7 makes them (tests/colorimetry/make_weights.py, and a test makes them anew).
"""


def table(step: int, observer: int) -> str:
    """One file."""
    parts = [integration_table(name, observer, step) for name in WHITES]
    rows = np.concatenate(parts, axis=1).tolist()
    return HEADER.format(step=step, observer=observer) + "".join(
        ",".join(f"{value:.12g}" for value in row) + "\n" for row in rows
    )


WHITES_HEADER = """\
# Illuminant; x, y for the 2 degree and for the 10 degree observer, as colour-science 0.4.7 has them
# (tests/colorimetry/make_weights.py, and a test compares).
"""


def whites() -> str:
    """Chromaticities of all illuminants."""
    known = [colour_science().CCS_ILLUMINANTS[name] for name in OBSERVERS.values()]
    rows = []
    for name in WHITES:
        xy = [float(value) for its in known for value in its[science_name(name)]]
        rows.append(",".join((name, *map(repr, xy))) + "\n")
    return WHITES_HEADER + "".join(rows)


SAMPLES_HEADER = """\
# Mean (first row) and covariance of reflectance at 400, 410 … 700 nm of the 99 colour evaluation
# samples of CIE 224:2017, as colour-science 0.4.7 has them (tests/colorimetry/make_weights.py, and
# a test makes them anew).
"""


def samples() -> str:
    """What is known of reflectances before one is."""
    mean, covariance = of_samples()
    rows = [",".join(map(repr, row)) + "\n" for row in [mean.tolist(), *covariance.tolist()]]
    return SAMPLES_HEADER + "".join(rows)


if __name__ == "__main__":
    (DATA / "chromaticities.csv").write_text(whites(), encoding="utf-8")
    recovery = DATA.parent / "recovery" / "data" / "colour_samples.csv"
    recovery.write_text(samples(), encoding="utf-8")
    for step in STEPS_KEPT:
        for observer in OBSERVERS:
            path = DATA / f"weights_{step}_nm_{observer}_degree.csv"
            path.write_text(table(step, observer), encoding="utf-8")
