"""Make the tables of weights that `colorimetry.spectra` keeps, since colour-science loads slowly:
`python tests/colorimetry/make_weights.py`, with colour-science 0.4.7.
"""

from pathlib import Path

import numpy as np

import stopgap.colorimetry
from stopgap.colorimetry.spectra import STEPS_KEPT, integration_table
from stopgap.colorimetry.whites import OBSERVERS, WHITES

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


if __name__ == "__main__":
    for step in STEPS_KEPT:
        for observer in OBSERVERS:
            path = DATA / f"weights_{step}_nm_{observer}_degree.csv"
            path.write_text(table(step, observer), encoding="utf-8")
