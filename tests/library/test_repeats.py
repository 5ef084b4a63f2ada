"""Repeated readings: mean, spread, outliers, and the covariance that goes with the swatch."""

import numpy as np
import pytest

from stopgap.colorimetry import reflectance_to_lab
from stopgap.difference import even_covariance, mean_uncertainty
from stopgap.library import open_library
from stopgap.library.ranges.conversion import Convention
from stopgap.library.ranges.importing import import_range
from stopgap.library.ranges.reading import read_range
from stopgap.swatches import Source

pytestmark = pytest.mark.slow

MEASURED = Convention("D50", 2, Source.MEASURED)


def read(tmp_path, rows, header="code,L,a,b"):
    path = tmp_path / "readings.csv"
    path.write_text("\n".join([header, *(",".join(map(str, row)) for row in rows)]) + "\n")
    return read_range(path, "Fen", MEASURED, repeats=True)


def simulated(codes, readings, sigma, seed=6):
    """Rows of readings about colours that are known."""
    generator = np.random.default_rng(seed)
    truth = np.column_stack(
        [generator.uniform(30, 80, codes), generator.uniform(-40, 40, (codes, 2))]
    )
    values = truth[:, None] + generator.normal(0, sigma, (codes, readings, 3))
    rows = [
        (f"P{code}", *values[code, reading]) for code in range(codes) for reading in range(readings)
    ]
    return truth, values, rows


def test_the_mean_and_its_covariance(tmp_path):
    _, values, rows = simulated(12, 6, 0.3)
    draft = read(tmp_path, rows)
    assert len(draft.swatches) == 12
    left_out = 0
    for (swatch, entry), own in zip(draft.swatches, values, strict=True):
        readings = swatch.readings
        kept = [place for place in range(6) if place not in readings.left_out]
        left_out += len(readings.left_out)
        np.testing.assert_allclose(swatch.lab, own[kept].mean(axis=0), atol=1e-12)
        np.testing.assert_allclose(readings.labs, own, atol=1e-12)
        assert len(entry.readings) == 6  # as entered, also those left out
        # GUM 4.2.3 and 5.1.2, by hand: the source's share and the spread of a mean
        expected = even_covariance(swatch.lab, 0.4) + np.array(readings.spread) / len(kept)
        np.testing.assert_allclose(swatch.covariance, expected, rtol=1e-12)
        assert swatch.uncertainty == pytest.approx(mean_uncertainty(swatch.lab, expected))
    assert left_out <= 1


def test_the_spread_is_that_of_the_readings(tmp_path):
    _, _, rows = simulated(60, 5, 0.4)
    spreads = [np.array(swatch.readings.spread) for swatch, _ in read(tmp_path, rows).swatches]
    # 240 degrees of freedom: the variances are known to about 9 per cent
    np.testing.assert_allclose(np.mean(spreads, axis=0), 0.16 * np.eye(3), atol=0.03)


@pytest.mark.parametrize("count", [3, 4, 8])
def test_an_outlier_is_named_kept_and_left_out(tmp_path, count):
    _, values, rows = simulated(10, count, 0.2)
    code, L, a, b = rows[count]  # the first reading of the second code
    rows[count] = (code, L + 6, a, b)
    draft = read(tmp_path, rows)
    swatch = draft.swatches[1][0]
    assert swatch.readings.left_out == (0,)
    assert swatch.readings.count == count - 1
    assert len(swatch.readings.labs) == count
    np.testing.assert_allclose(swatch.lab, values[1, 1:].mean(axis=0), atol=1e-12)
    assert f"P1: reading 1 of {count} lies" in " ".join(map(str, draft.notes))


def test_ordinary_spread_makes_few_outliers(tmp_path):
    for count in (3, 5, 8):
        _, _, rows = simulated(200, count, 0.5)
        swatches = [swatch for swatch, _ in read(tmp_path, rows).swatches]
        left_out = sum(len(swatch.readings.left_out) for swatch in swatches)
        assert left_out <= 0.01 * 200 * count


def test_two_readings_outvote_nobody(tmp_path):
    draft = read(tmp_path, [("1", 50, 0, 0), ("1", 60, 0, 0), ("2", 40, 0, 0)])
    first, second = (swatch for swatch, _ in draft.swatches)
    assert (first.lab[0], first.readings.left_out) == (55.0, ())
    assert second.readings is None
    assert "its two readings are far apart" in " ".join(map(str, draft.notes))


def test_spectra_are_averaged_as_spectra(tmp_path):
    nm = np.arange(400, 701, 10)
    generator = np.random.default_rng(1)
    factors = np.clip(0.4 + generator.normal(0, 0.02, (3, nm.size)), 0, 1)
    header = ",".join(["code", *(f"nm{at}" for at in nm)])
    ((swatch, _),) = read(tmp_path, [("1", *row) for row in factors], header).swatches
    np.testing.assert_allclose(swatch.reflectance.values, factors.mean(axis=0), atol=1e-12)
    np.testing.assert_allclose(swatch.lab, reflectance_to_lab(nm, factors.mean(axis=0)), atol=1e-9)


def test_readings_come_back_from_the_library(tmp_path):
    _, _, rows = simulated(3, 4, 0.3)
    draft = read(tmp_path, rows)
    with open_library(tmp_path / "library.sqlite") as library:
        import_range(library, draft)
        assert list(library.swatches()) == [swatch for swatch, _ in draft.swatches]
        assert import_range(library, draft, renew=True).unchanged == 3
        swatch = library.swatches()[0]
        assert len(library.entry(swatch).readings) == 4
        # what the user says of the uncertainty replaces the directions, a colour also the readings
        library.decide([swatch], {"uncertainty": 2.0}, "edit")
        edited = library.swatches()[0]
        assert (edited.uncertainty, edited.covariance) == (2.0, None)
        assert edited.readings == swatch.readings
        library.decide([swatch], {"lightness": 9.0, "a": 0.0, "b": 0.0}, "edit")
        assert library.swatches()[0].readings is None
        library.undo()
        library.undo()
        assert library.swatches()[0] == swatch


def test_repeats_that_are_none_are_said(tmp_path):
    draft = read(tmp_path, [("1", 50, 0, 0)])
    assert "nothing to average" in " ".join(map(str, draft.notes))
    assert draft.swatches[0][0].covariance is None
