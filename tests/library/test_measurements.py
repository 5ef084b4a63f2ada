"""Conditions, conventions, paper and correction: from a file into the library and out again."""

import os
import sqlite3
from contextlib import closing

import numpy as np
import pytest

from stopgap.colorimetry import reflectance_to_lab
from stopgap.errors import InputError, LibraryError, ProblemsInFile
from stopgap.library import open_library
from stopgap.library.ranges.conversion import Convention
from stopgap.library.ranges.editing import clear_correction, correct_range
from stopgap.library.ranges.importing import import_range
from stopgap.library.ranges.reading import read_range
from stopgap.library.store.connection import APPLICATION_ID, steps, take_step
from stopgap.library.store.copies import restore
from stopgap.library.store.history import watch_tables
from stopgap.swatches import (
    DEFAULT_PAPER_LAB,
    MeasurementConditions,
    MeasurementMode,
    Paper,
    RangeCorrection,
    Source,
)

OPEN = Convention(source=Source.MEASURED)


def read(tmp_path, text, convention=OPEN, **options):
    path = tmp_path / "range.csv"
    path.write_text(text, encoding="utf-8")
    return read_range(path, "Fen", convention, **options)


def swatches_of(draft):
    return [swatch for swatch, _ in draft.swatches]


def test_columns_of_the_conditions(tmp_path):
    draft = read(
        tmp_path,
        "code,L,a,b,illuminant,observer,mode,geometry,instrument,backing,date\n"
        "1,50,20,10,D65,2,m1,45/0,bench,white,2026-02-03\n2,50,20,10,,,,,,,\n",
    )
    first, second = (swatch.measurement for swatch in swatches_of(draft))
    assert first == MeasurementConditions(
        "D65",
        2,
        mode=MeasurementMode.M1,
        geometry="45/0",
        instrument="bench",
        backing="white",
        date="2026-02-03",
    )
    assert second == MeasurementConditions("D50", 2, assumed=True)
    assert "D50, 2 degree was assumed" in " ".join(map(str, draft.notes))


@pytest.mark.parametrize(
    ("cell", "title", "sentence"),
    [
        ("D49", "illuminant", "a CIE illuminant"),
        ("4", "observer", r"2 or 10 \(degrees\)"),
        ("M9", "mode", "M0, M1, M2 or M3"),
        ("partly", "bandpass", "instrument or import"),
    ],
)
def test_conditions_that_nobody_knows(tmp_path, cell, title, sentence):
    with pytest.raises(
        ProblemsInFile, match=f"column {title}: found '{cell}'; expected {sentence}"
    ):
        read(tmp_path, f"code,L,a,b,{title}\n1,50,0,0,{cell}\n")


NM = np.arange(400, 701, 10)


def spectral(rows, wavelengths=NM):
    lines = [",".join(["code", *(f"nm{at}" for at in wavelengths)])]
    return "\n".join([*lines, *(",".join(map(str, row)) for row in rows)]) + "\n"


def test_rows_may_have_readings_of_their_own(tmp_path):
    nm = np.arange(380, 731, 10)
    full = 0.2 + 0.5 * (nm - 380) / 350
    short = ["", "", *full[2:-3], "", "", ""]
    first, second = swatches_of(read(tmp_path, spectral([("1", *full), ("2", *short)], nm)))
    assert (first.reflectance.wavelengths[0], first.reflectance.wavelengths[-1]) == (380, 730)
    assert (second.reflectance.wavelengths[0], second.reflectance.wavelengths[-1]) == (400, 700)
    np.testing.assert_allclose(second.lab, reflectance_to_lab(nm[2:-3], full[2:-3]), atol=1e-12)


@pytest.mark.parametrize(
    ("text", "sentence"),
    [
        (spectral([("1", *[0.3] * 31)], NM[::-1]), "the wavelengths do not rise, 690 nm stands"),
        (spectral([("1", *[0.3] * 32)], [400, *NM]), "two columns are headed 'nm400'"),
        (spectral([("1", *[0.3] * 31)]).replace("nm410", "nm_400"), "two columns hold the wave"),
        (spectral([("1", *[0.3] * 10, "", *[0.3] * 20)]), "column nm500: the cell is empty"),
        (spectral([("1", *[0.3] * 20, *[""] * 11)]), "row 2: wavelengths: expected at least 400"),
        (spectral([("1", *[-0.1] * 31)]), "a reflectance of 0 or more"),
        (spectral([("1", *[0.3] * 31), ("2", *[30] * 31)]), "this row looks like factors"),
    ],
)
def test_spectra_that_are_not_as_they_should_be(tmp_path, text, sentence):
    with pytest.raises(InputError, match=sentence):
        read(tmp_path, text)


def test_correction_for_the_bandpass_is_remembered(tmp_path):
    factors = 0.05 + 0.85 / (1 + np.exp(-(NM - 560) / 8))
    plain = swatches_of(read(tmp_path, spectral([("1", *factors)])))[0]
    draft = read(tmp_path, spectral([("1", *factors)]), Convention(correct_bandpass=True))
    corrected = swatches_of(draft)[0]
    assert corrected.reflectance == plain.reflectance  # kept as measured
    assert corrected.measurement.bandpass == "import"
    assert 0.05 < np.linalg.norm(np.subtract(corrected.lab, plain.lab)) < 3.0
    assert "corrected for the bandpass" in " ".join(map(str, draft.notes))


LAB = "code,L,a,b\npaper,96,0,3\n1,50,20,10\n2,60,0,0\n"


@pytest.mark.parametrize("stated", ["PAPER", "lab(96 0 3)"])
def test_the_paper_of_a_range(tmp_path, stated):
    draft = read(tmp_path, LAB, bare_paper=stated)
    assert draft.paper == Paper((96.0, 0.0, 3.0), measured=True)
    assert len(draft.swatches) == (2 if stated == "PAPER" else 3)
    with open_library(tmp_path / "library.sqlite") as library:
        import_range(library, draft)
        assert library.colour_range("Fen").paper == draft.paper


def test_a_paper_that_nobody_measured(tmp_path):
    with open_library(tmp_path / "library.sqlite") as library:
        import_range(library, read(tmp_path, LAB))
        assert library.colour_range("Fen").paper == Paper(DEFAULT_PAPER_LAB, measured=False)
    with pytest.raises(InputError, match="neither a colour such as"):
        read(tmp_path, LAB, bare_paper="sheet")


def test_a_correction_of_a_range(tmp_path):
    path = tmp_path / "library.sqlite"
    factors = [0.4] * 31
    with open_library(path) as library:
        import_range(library, read(tmp_path, spectral([("1", *factors), ("2", *factors)])))
        before = library.swatches()
        library.decide([before[1]], {"lightness": 10.0, "a": 0.0, "b": 0.0}, "edit")
        correct_range(library, "fen", RangeCorrection(offset=(1.0, -0.5, 0.25)), "correction")
        correct_range(library, "fen", RangeCorrection(offset=(1.0, 0.0, 0.0)), "correction")
        assert library.colour_range("Fen").shift == pytest.approx((2.0, -0.5, 0.25))
        moved, by_hand = library.swatches()
        np.testing.assert_allclose(moved.lab, np.add(before[0].lab, (2.0, -0.5, 0.25)), atol=1e-12)
        assert moved.reflectance is None
        assert by_hand.lab == (10.0, 0.0, 0.0)
        library.undo()
        assert library.colour_range("Fen").shift == pytest.approx((1.0, -0.5, 0.25))
        assert clear_correction(library, "Fen", "clear")
        assert not clear_correction(library, "Fen", "clear")
        assert library.swatches()[0] == before[0]
        library.undo()
        report = import_range(
            library, read(tmp_path, spectral([("1", *factors), ("2", *factors)])), renew=True
        )
        assert "taken back" in " ".join(map(str, report.notes))
        assert library.swatches()[0] == before[0]


def test_flare_and_gain_reach_spectra_and_doubt(tmp_path):
    """XYZ is linear in reflectance, so both ways to the corrected Lab are the same."""
    factors = [0.1 + 0.02 * step for step in range(31)]
    correction = RangeCorrection(0.03, -0.05, own=1.5, shared=0.7)
    with open_library(tmp_path / "library.sqlite") as library:
        import_range(library, read(tmp_path, spectral([("1", *factors), ("2", *factors[::-1])])))
        before = library.swatches()
        correct_range(library, "Fen", correction, "correction")
        moved = library.swatches()
    for one, other in zip(before, moved, strict=True):
        values = other.reflectance.values
        np.testing.assert_allclose(values, 0.03 + 0.95 * np.array(one.reflectance.values))
        by_spectrum = reflectance_to_lab(other.reflectance.wavelengths, values)
        np.testing.assert_allclose(other.lab, by_spectrum, atol=2e-3)
        assert (other.uncertainty, other.covariance) == (1.5, None)
        assert other.shared_uncertainty == pytest.approx(np.hypot(one.shared_uncertainty, 0.7))


@pytest.fixture
def first_version(tmp_path):
    """A library as the first version of the tables had it."""
    path = tmp_path / "old.sqlite"
    entry = (
        '{"kind": "lab", "values": [50, 1, 2], "wavelengths": [], "text": "", "white": "D65",'
        ' "observer": 2}'
    )
    with closing(sqlite3.connect(path, isolation_level=None)) as old:
        old.row_factory = sqlite3.Row
        old.execute(f"PRAGMA application_id = {APPLICATION_ID}")
        take_step(old, *steps()[0])
        watch_tables(old, ("colour_range", "swatch", "decision"))
        old.execute("INSERT INTO colour_range VALUES (1, 'Fen', 'D65', 2, 1, 'fen.csv')")
        for number, said in enumerate([entry, entry.replace('"lab"', '"hex"')], start=1):
            old.execute(
                "INSERT INTO swatch VALUES (?, 1, ?, 0, ?, '', 50, 1, 2, ?, 0, 'current', 'plain',"
                " NULL, NULL, NULL, NULL, NULL, 'measured', 0.5, '', '', '{}')",
                (number, number, f"{number}", said),
            )
    return path


def test_a_library_of_the_first_version_is_brought_up_to_date(first_version):
    path = first_version
    with open_library(path) as library:
        first, second = library.swatches()
        assert first.measurement == MeasurementConditions("D65", 2, assumed=True)
        assert second.measurement == MeasurementConditions()
        assert first.lab == (50.0, 1.0, 2.0)
        assert library.colour_range("Fen").paper.measured is False
        correct_range(library, "Fen", RangeCorrection(offset=(1.0, 0.0, 0.0)), "correction")
        assert library.swatches()[0].lab == (51.0, 1.0, 2.0)
        library.undo()
        assert library.swatches()[0] == first
    assert path.with_name("old.sqlite.version-1").exists()


def test_reading_brings_it_up_to_date_too(first_version):
    with open_library(first_version, read_only=True) as library:
        assert len(library.swatches()) == 2
    assert first_version.with_name("old.sqlite.version-1").exists()


def test_a_backup_of_the_first_version_is_put_back_and_left_as_it_was(first_version, tmp_path):
    before = first_version.read_bytes()
    path = tmp_path / "library.sqlite"
    restore(first_version, path)
    assert first_version.read_bytes() == before
    with open_library(path) as library:
        assert len(library.swatches()) == 2


@pytest.mark.skipif(os.geteuid() == 0, reason="nothing is read-only to the superuser")
def test_a_library_that_may_not_be_written_says_so(first_version):
    first_version.chmod(0o444)
    with pytest.raises(LibraryError, match="bring it up to date"):
        open_library(first_version, read_only=True)
