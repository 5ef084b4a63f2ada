import subprocess
import sys

import numpy as np
import pytest
from coloraide import cat

from stopgap.colorimetry import D50, D65, WHITES, colour_science, white_point, xyz_to_lab
from stopgap.colorimetry.whites import OBSERVERS, illuminant_name, science_name
from stopgap.errors import InputError

pytestmark = pytest.mark.slow


def test_d50_and_d65_as_printed():
    # CSS Color Module Level 4, section 18 (sample code), printed: D50 = 0.3457/0.3585, 1,
    # (1 - 0.3457 - 0.3585)/0.3585; D65 = 0.3127/0.3290, 1, (1 - 0.3127 - 0.3290)/0.3290.
    d50 = [0.3457 / 0.3585, 1, (1 - 0.3457 - 0.3585) / 0.3585]
    d65 = [0.3127 / 0.3290, 1, (1 - 0.3127 - 0.3290) / 0.3290]
    np.testing.assert_allclose([D50 / 100, D65 / 100], [d50, d65], rtol=1e-14)


@pytest.mark.parametrize("other", [[96.42, 100.0, 82.49], [96.42, 100.0, 82.51]])
def test_other_whites_called_d50_are_near(other):
    # ICC.1:2022, 7.2.16 (profile header) and CIE 015:2018, table of whites; both from memory.
    assert 0.0 < np.linalg.norm(xyz_to_lab(other)[1:]) < 0.03


@pytest.mark.parametrize("observer", [2, 10])
@pytest.mark.parametrize("illuminant", WHITES)
def test_every_white_agrees_with_its_spectrum(illuminant, observer):
    # colour-science 0.4.7: SDS_ILLUMINANTS summed with MSDS_CMFS. The tables of chromaticities have
    # four or five digits, and the CIE integrated beyond 780 nm and at other steps: 0.002 in x, y.
    colour = colour_science()
    matching = colour.MSDS_CMFS[OBSERVERS[observer]]
    light = colour.SDS_ILLUMINANTS[science_name(illuminant)].copy().align(matching.shape)
    integrated = light.values @ matching.values
    white = white_point(illuminant, observer)
    assert white[1] == 100.0
    np.testing.assert_allclose(white / white.sum(), integrated / integrated.sum(), atol=2e-3)


@pytest.mark.parametrize("observer", [2, 10])
def test_whites_that_are_kept_are_those_of_colour_science(observer):
    known = colour_science().CCS_ILLUMINANTS[OBSERVERS[observer]]
    for illuminant in WHITES:
        x, y = known[science_name(illuminant)]
        expected = [100 * x / y, 100, 100 * (1 - x - y) / y]
        np.testing.assert_array_equal(white_point(illuminant, observer), expected)


@pytest.mark.parametrize("observer", [2, 10])
def test_whites_agree_with_coloraide(observer):
    known = cat.WHITES[f"{observer}deg"]
    for illuminant in sorted(set(known) & set(WHITES)):
        if (illuminant, observer) == ("F7", 10):
            continue
        x, y = known[illuminant]
        expected = [100 * x / y, 100, 100 * (1 - x - y) / y]
        np.testing.assert_allclose(white_point(illuminant, observer), expected, rtol=1e-12)


@pytest.mark.parametrize(
    ("text", "name"), [("d50", "D50"), (" F 2", "F2"), ("fl11", "F11"), ("led-b3", "LED-B3")]
)
def test_names_are_found_whatever_their_case(text, name):
    assert illuminant_name(text) == name


def test_unknown_names_are_refused_with_the_list():
    with pytest.raises(
        InputError, match=r"'D51' is not one of bulb, LED, tube, daylight, A, B, C, D50.*ID65"
    ):
        white_point("D51")
    with pytest.raises(InputError, match="expected 2 or 10"):
        white_point("D50", 5)


def test_whites_cannot_be_written_to():
    with pytest.raises(ValueError, match="read-only"):
        white_point("D50")[0] = 1.0


_COUNT_IMPORTS = """
import sys
from stopgap import colorimetry as c
for white in c.WHITES:
    for observer in (2, 10):
        c.white_point(white, observer)
        c.lab_to_d50([50, 20, 10], white, observer, "CAT16", accept_observer=True)
        for step in (5, 10):
            nm = range(380, 731, step)
            c.reflectance_to_lab(nm, [0.5 for _ in nm], white, observer)
c.plausible_reflectances((50, 20, 10), 5)
c.hex_to_lab("#a1b2c3"); c.parse_colour("lab(52 40 30)")
c.lab_to_hex([52, 40, 30]); c.within_optimal_solid([[50, 0, 0], [95, 60, 0]])
print(sorted({"colour", "scipy", "pandas", "matplotlib"} & set(sys.modules)))
"""

_WITHOUT_MATPLOTLIB = """
import sys, warnings
sys.modules["matplotlib"] = None
warnings.simplefilter("error")
from stopgap import colorimetry as c
c.colour_science()
print(c.white_point("A").round(2).tolist())
"""


@pytest.mark.parametrize(
    ("program", "printed"),
    [(_COUNT_IMPORTS, "[]"), (_WITHOUT_MATPLOTLIB, "[109.85, 100.0, 35.58]")],
    ids=["stored colours import no colour-science", "no warning without matplotlib"],
)
def test_imports(program, printed):
    run = subprocess.run([sys.executable, "-c", program], capture_output=True, text=True)
    assert run.stderr == ""
    assert run.stdout.strip() == printed
