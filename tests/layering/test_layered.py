"""A given stack of pencils, as the command line shows it; and what importing layering costs."""

import subprocess
import sys

import numpy as np
import pytest

from stopgap.colorimetry.recovery.weights import WAVELENGTHS
from stopgap.difference import delta_E
from stopgap.errors import InputError
from stopgap.layering import PRESSURES, SPREADS, layered, predict, uncertainty
from stopgap.layering.optics import measured_spectra
from stopgap.swatches import Reflectance, Scattering, Spreads, Swatch

PAPER = [95.0, 0.0, 2.0]
DEEP = Swatch("Test", "deep", (36.0, 12.0, -46.0), uncertainty=0.5)
PALE = Swatch("Chalk", "pale", (90.0, -2.0, 25.0), uncertainty=2.0)


def known(S):
    return Scattering(S, S, S)


def test_it_says_what_predict_and_uncertainty_say():
    found = layered(
        [DEEP, PALE],
        PAPER,
        ["medium", "heavy"],
        opacity={DEEP.address: known(0.0), PALE.address: known(0.7)},
    )
    arguments = ([DEEP.lab, PALE.lab], ["medium", "heavy"])
    np.testing.assert_allclose(found.lab, predict(PAPER, *arguments, opacity=[0, 0.7]), atol=1e-9)
    spread = uncertainty(PAPER, *arguments, opacity=[0, 0.7], sigma=[0.5, 2.0])
    assert found.typical == pytest.approx(float(spread.typical))
    assert found.ninety == pytest.approx(float(spread.ninety))
    other = predict(PAPER, [PALE.lab, DEEP.lab], ["heavy", "medium"], opacity=[0.7, 0])
    np.testing.assert_allclose(found.reversed_lab, other, atol=1e-9)
    assert found.lab[0] > found.reversed_lab[0]


def test_clear_layers_are_nearly_the_same_in_either_order_and_heavy_unless_said():
    found = layered([PALE, DEEP, DEEP], PAPER, opacity=0.0)
    assert 0.0 < delta_E(found.lab, found.reversed_lab) < 2.0
    assert found.stack.pressures == ("heavy",) * 3
    assert any("tooth" in caution for caution in found.cautions)
    assert any("cover" in caution for caution in layered([DEEP, PALE], PAPER).cautions)


def test_a_calibrations_loads_are_used():
    loads = {**PRESSURES, "light": 0.1}
    assert (
        layered([DEEP], PAPER, ["light"], loads=loads).lab[0]
        > layered([DEEP], PAPER, ["light"]).lab[0]
    )


def test_a_measured_spectrum_narrows_the_interval():
    shape = Reflectance(tuple(WAVELENGTHS), tuple(0.2 + 0.1 * np.cos(WAVELENGTHS / 60.0)))
    lab = (48.0, 3.0, -14.0)
    plain, known = (Swatch("Test", "x", lab, uncertainty=0.5, reflectance=r) for r in (None, shape))
    assert layered([known, known], PAPER).ninety < layered([plain, plain], PAPER).ninety
    mixed = uncertainty(PAPER, [lab, lab], sigma=0.5, spectra=measured_spectra([plain, known]))
    assert mixed.reconstruction > 0.0


def test_measured_spectra_are_straight_between_samples_and_level_beyond():
    measured = Swatch(
        "T", "1", (50.0, 0.0, 0.0), reflectance=Reflectance((400.0, 420.0), (0.2, 0.4))
    )
    row, none = measured_spectra([measured, DEEP])
    assert row[:6].tolist() == pytest.approx([0.2, 0.2, 0.2, 0.3, 0.4, 0.4])
    assert np.isnan(none).all()
    assert measured_spectra([]).shape == (0, 36)


def test_no_layer_and_wrong_pressures_are_refused():
    with pytest.raises(InputError, match="at least one pencil"):
        layered([], PAPER)
    with pytest.raises(InputError, match="does not go with 2 layers"):
        layered([DEEP, PALE], PAPER, ["light"] * 3)


def test_uncertainty_grows_with_each_of_its_causes():
    layers = [PALE.lab, DEEP.lab]
    base = uncertainty(PAPER, layers, sigma=0.5)
    assert uncertainty(PAPER, layers, sigma=5.0).ninety > 2 * base.ninety
    rough = uncertainty(PAPER, layers, sigma=0.5, spreads=SPREADS._replace(tooth=0.9))
    assert rough.tooth > 1.5 * base.tooth
    trapped = uncertainty(PAPER, layers, sigma=0.5, spreads=SPREADS._replace(trapping=0.05))
    assert trapped.trapping < base.trapping / 3.0
    assert base.loads == 0.0
    light = uncertainty(PAPER, layers, ["heavy", "light"], sigma=0.5)
    assert light.loads > 2.0
    sure = SPREADS._replace(load=0.1)
    less = uncertainty(PAPER, layers, ["heavy", "light"], sigma=0.5, spreads=sure)
    assert less.loads == pytest.approx(light.loads / 3.0, rel=0.1)
    known = uncertainty(PAPER, layers, sigma=0.0, spreads=Spreads(0.0, 0.0, 0.0))
    assert known.total == base.reconstruction
    assert uncertainty(PAPER, [[50, 0, 0]], sigma=1.0).swatches == pytest.approx(1.0, rel=0.2)
    assert base.typical < base.total < base.ninety


def test_predicting_imports_neither_colour_science_nor_scipy():
    code = (
        "import sys, stopgap.layering as l; l.predict([95, 0, 0], [[50, 40, 20], [80, 0, 60]]);"
        "print([m for m in ('colour', 'scipy', 'pandas', 'sqlite3') if m in sys.modules])"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"
