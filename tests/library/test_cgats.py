"""CGATS text: files nobody here wrote, the grammar, and everything that is refused."""

from importlib.resources import files

import numpy as np
import pytest

from stopgap.colorimetry import reflectance_to_lab
from stopgap.errors import InputError, ProblemsInFile
from stopgap.library.ranges.conversion import Convention
from stopgap.library.ranges.exporting import export_range
from stopgap.library.ranges.reading import read_range
from stopgap.library.tables.formats import FORMATS
from stopgap.library.tables.formats.cgats import read_cgats
from stopgap.library.tables.formats.signs import is_cgats
from stopgap.swatches import Finish, MeasurementMode, Source

# Header and first rows of FOGRA39L.ti3, characterisation data of Fogra, December 2006, as in Debian
# package icc-profiles-free 2.0.1 (zlib licence), word for word; only the count of rows is ours.
PRINTED = """CTI3

KEYWORD "DEVICE_CLASS"
DEVICE_CLASS "OUTPUT"
KEYWORD "COLOR_REP"
COLOR_REP "CMYK_LAB"

ORIGINATOR "Fogra, www.fogra.org"
DESCRIPTOR "FOGRA39L"
CREATED    "December 2006"
INSTRUMENTATION "D50, 2 degree, geometry 45/0, no polarisation filter, white backing, according to \
ISO 13655"
PRINT_CONDITIONS "Offset printing, according to ISO 12647-2:2004/Amd 1, OFCOM, paper type 1 or 2"
NUMBER_OF_FIELDS 11
BEGIN_DATA_FORMAT
SAMPLE_ID CMYK_C CMYK_M CMYK_Y CMYK_K XYZ_X XYZ_Y XYZ_Z LAB_L LAB_A LAB_B
END_DATA_FORMAT
NUMBER_OF_SETS 3
BEGIN_DATA
1        0     0     0     0   84.48   87.62   74.57   95.00    0.00   -2.00
2        0    10     0     0   77.89   77.75   68.26   90.67    5.90   -3.86
3        0    20     0     0   71.44   68.34   61.53   86.18   12.01   -5.21
END_DATA
"""


def read(tmp_path, text, convention=None, **options):
    path = tmp_path / "range.txt"
    path.write_bytes(text if isinstance(text, bytes) else text.encode())
    return read_range(path, "Fen", convention or Convention(source=Source.MEASURED), **options)


def swatches_of(draft):
    return [swatch for swatch, _ in draft.swatches]


def table(fields, rows, header=""):
    return (
        f"CGATS.17\n{header}\nNUMBER_OF_FIELDS {len(fields.split())}\nBEGIN_DATA_FORMAT\n{fields}\n"
        f"END_DATA_FORMAT\nNUMBER_OF_SETS {len(rows)}\nBEGIN_DATA\n"
        + "\n".join(rows)
        + "\nEND_DATA\n"
    )


def test_a_published_header_is_read(tmp_path):
    draft = read(tmp_path, PRINTED)
    first, _, third = swatches_of(draft)
    assert (first.code, first.lab) == ("1", (95.0, 0.0, -2.0))
    assert (third.code, third.lab) == ("3", (86.18, 12.01, -5.21))
    assert third.extra == {"CMYK_C": "0", "CMYK_M": "20", "CMYK_Y": "0", "CMYK_K": "0"}
    measured = first.measurement
    assert (measured.illuminant, measured.observer, measured.assumed) == ("D50", 2, False)
    assert (measured.geometry, measured.date) == ("45/0", "December 2006")
    assert draft.details["format"] == "CGATS"


def test_it_is_written_and_read_again_to_the_last_bit(tmp_path):
    swatches = swatches_of(read(tmp_path, PRINTED))
    written = export_range(swatches, "CGATS").decode()
    assert written.startswith("CGATS.17\n")
    assert 'WEIGHTING_FUNCTION "ILLUMINANT, D50"' in written
    assert swatches_of(read(tmp_path, written)) == swatches


def test_a_damaged_header_is_refused_with_its_line(tmp_path):
    # colour-science 0.4.7 carries, among the resources of its own tests, a CGATS text whose first
    # lines are cut off; 10 samples with 36 reflectances.
    folder = files("colour") / "io" / "tests" / "resources"
    damaged = [entry for entry in folder.iterdir() if entry.name.endswith("Colour_Checker.txt")]
    if not damaged:
        pytest.skip("this colour-science comes without its tests")
    data = damaged[0].read_bytes()
    assert is_cgats(data)
    with pytest.raises(ProblemsInFile, match="line 1: 'LGOROWLENGTH' is no keyword"):
        read(tmp_path, data)
    mended = b"CGATS.17\n" + data.partition(b"\n")[2]
    draft = read(tmp_path, mended)
    assert len(draft.swatches) == 10
    assert swatches_of(draft)[0].reflectance.wavelengths[0] == 380.0


FIELDS = ["SAMPLE_ID", "LAB_L", "LAB_A", "LAB_B", "SAMPLE_NAME"]
CELLS = ["7", "52.5", "-3.25", "10", '"Käpp #2"']


@pytest.mark.parametrize("order", [(0, 1, 2, 3, 4), (4, 3, 0, 2, 1), (2, 1, 4, 3, 0)])
def test_fields_stand_in_any_order(tmp_path, order):
    text = table(" ".join(FIELDS[i] for i in order), [" ".join(CELLS[i] for i in order)])
    (swatch,) = swatches_of(read(tmp_path, text))
    assert (swatch.code, swatch.name, swatch.lab) == ("7", "Käpp #2", (52.5, -3.25, 10.0))


NM = range(380, 731, 10)
FACTORS = [round(0.1 + 0.02 * place, 3) for place in range(len(NM))]


@pytest.mark.parametrize(
    "prefix", ["SPECTRAL_NM_", "SPECTRAL_NM", "SPECTRAL_DEC", "nm", "NM_", "R_"]
)
def test_spectra_under_the_names_in_use(tmp_path, prefix):
    fields = " ".join(["SAMPLE_ID", *(f"{prefix}{at}" for at in NM)])
    (swatch,) = swatches_of(read(tmp_path, table(fields, [f"1 {' '.join(map(str, FACTORS))}"])))
    assert swatch.reflectance.values == tuple(FACTORS)
    np.testing.assert_allclose(swatch.lab, reflectance_to_lab(list(NM), FACTORS), atol=1e-12)


def paired(value, numbers, wavelengths=NM):
    fields = " ".join(["SAMPLE_ID", *["SPECTRAL_NM " + value] * len(wavelengths)])
    cells = " ".join(f"{at} {number}" for at, number in zip(wavelengths, numbers, strict=True))
    return table(fields, [f"1 {cells}"])


def test_spectra_as_pairs_in_both_units(tmp_path):
    factors = swatches_of(read(tmp_path, paired("SPECTRAL_DEC", FACTORS)))[0]
    per_cent = [100 * factor for factor in FACTORS]
    same = swatches_of(read(tmp_path, paired("SPECTRAL_PCT", per_cent)))[0]
    np.testing.assert_allclose(factors.reflectance.values, FACTORS, atol=0)
    np.testing.assert_allclose(same.lab, factors.lab, atol=1e-9)


def test_a_dark_sample_in_per_cent_is_not_taken_for_factors(tmp_path):
    (swatch,) = swatches_of(read(tmp_path, paired("SPECTRAL_PCT", [1.5] * len(NM))))
    assert max(swatch.reflectance.values) == 0.015


def test_wavelengths_out_of_order_or_twice_are_refused(tmp_path):
    for wavelengths in ([*NM][::-1], [380, *NM][: len(NM)]):
        with pytest.raises(ProblemsInFile, match="the wavelengths do not rise"):
            read(tmp_path, paired("SPECTRAL_DEC", FACTORS, wavelengths))


def test_per_cent_where_factors_are_declared_is_refused(tmp_path):
    with pytest.raises(ProblemsInFile, match="looks like per cent"):
        read(tmp_path, paired("SPECTRAL_DEC", [100 * factor for factor in FACTORS]))


def test_fluorescent_factors_need_the_finish(tmp_path):
    glowing = [*FACTORS[:-1], 1.4]
    fields = " ".join(["SAMPLE_ID", "FINISH", *(f"nm{at}" for at in NM)])
    for finish in ("plain", "fluorescent"):
        text = table(fields, [f"1 {finish} {' '.join(map(str, glowing))}"], 'KEYWORD "FINISH"')
        if finish == "plain":
            with pytest.raises(ProblemsInFile, match="more only with the finish fluorescent"):
                read(tmp_path, text)
        else:
            assert swatches_of(read(tmp_path, text))[0].finish is Finish.FLUORESCENT


def test_negative_reflectance_is_refused(tmp_path):
    with pytest.raises(ProblemsInFile, match="a reflectance of 0 or more"):
        read(tmp_path, paired("SPECTRAL_DEC", [-0.02, *FACTORS[1:]]))


@pytest.mark.parametrize(
    ("header", "illuminant", "observer"),
    [
        ('WEIGHTING_FUNCTION "ILLUMINANT, D65"\nWEIGHTING_FUNCTION "OBSERVER, 2 degree"', "D65", 2),
        ('WEIGHTING_FUNCTION "ILLUMINANT,D65" "OBSERVER,2 degree"', "D65", 2),
        ('ILLUMINANT "A"\nOBSERVER "CIE 2 degree"', "A", 2),
        ('ILLUMINATION_NAME "D50"\nOBSERVER_ANGLE "2"', "D50", 2),
        ('MEASUREMENT_SOURCE "Illumination=D65\tObserverAngle=2\tFilter=No"', "D65", 2),
        ('WEIGHTING_FUNCTION "OBSERVER, CIE 1931"', "D50", 2),
    ],
)
def test_white_and_observer_come_from_the_file(tmp_path, header, illuminant, observer):
    text = table("SAMPLE_ID LAB_L LAB_A LAB_B", ["1 50 20 10"], header)
    measured = swatches_of(read(tmp_path, text))[0].measurement
    assert (measured.illuminant, measured.observer) == (illuminant, observer)
    assert measured.assumed is ("ILLUM" not in header.upper())


def test_ten_degrees_without_spectra_follow_the_rule(tmp_path):
    header = 'WEIGHTING_FUNCTION "ILLUMINANT, D65"\nWEIGHTING_FUNCTION "OBSERVER, 10 degree"'
    text = table("SAMPLE_ID LAB_L LAB_A LAB_B", ["1 50 20 10"], header)
    with pytest.raises(InputError, match="10 degree observer cannot be turned"):
        read(tmp_path, text)
    accepted = Convention(accept_observer=True)
    (swatch,) = swatches_of(read(tmp_path, text, accepted))
    assert swatch.uncertainty > 3.0
    assert (swatch.measurement.illuminant, swatch.measurement.observer) == ("D65", 10)


def test_an_option_that_contradicts_the_file_is_refused(tmp_path):
    header = 'WEIGHTING_FUNCTION "ILLUMINANT, D65"\nWEIGHTING_FUNCTION "OBSERVER, 2 degree"'
    text = table("SAMPLE_ID LAB_L LAB_A LAB_B", ["1 50 20 10"], header)
    with pytest.raises(InputError, match="states the illuminant D65, which contradicts"):
        read(tmp_path, text, Convention("D50"))
    with pytest.raises(InputError, match="states the observer 2, which contradicts"):
        read(tmp_path, text, Convention(None, 10))
    assert read(tmp_path, text, Convention("d65", 2)).white == ("D65", 2, False)


def test_conditions_are_kept(tmp_path):
    header = (
        'MEASUREMENT_SOURCE "MeasurementCondition=M2"\nMEASUREMENT_GEOMETRY "45/0"\n'
        'INSTRUMENTATION "bench"\nSAMPLE_BACKING "black"\nCREATED "2026-02-03"'
    )
    text = table("SAMPLE_ID LAB_L LAB_A LAB_B", ["1 50 20 10"], header)
    measured = swatches_of(read(tmp_path, text))[0].measurement
    assert measured.mode is MeasurementMode.M2
    assert (measured.geometry, measured.instrument) == ("45/0", "bench")
    assert (measured.backing, measured.date) == ("black", "2026-02-03")
    with pytest.raises(InputError, match="states measurement mode M2, not M1"):
        read(tmp_path, text, Convention(mode=MeasurementMode.M1))


def test_several_tables_of_one_file(tmp_path):
    colours = table("SAMPLE_ID LAB_L LAB_A LAB_B", ["1 50 20 10", "2 60 0 0"])
    spectra = table(
        " ".join(["SAMPLE_ID", *(f"nm{at}" for at in NM)]), [f"2 {' '.join(map(str, FACTORS))}"]
    ).partition("\n")[2]
    device = table("SAMPLE_ID RGB_R", ["1 0.5"]).partition("\n")[2]
    more = table("SAMPLE_ID LAB_L LAB_A LAB_B", ["3 70 1 2"]).partition("\n")[2]
    draft = read(tmp_path, colours + spectra + device + more)
    assert draft.details["tables"] == "3 of 4"
    first, second, third = swatches_of(draft)
    assert (first.reflectance, first.lab) == (None, (50.0, 20.0, 10.0))
    assert second.reflectance.values == tuple(FACTORS)  # joined with its Lab by SAMPLE_ID
    assert (third.code, third.lab) == ("3", (70.0, 1.0, 2.0))


PLAIN = table("SAMPLE_ID LAB_L LAB_A LAB_B", ["1 50 20 10", "2 60 0 0"])


@pytest.mark.parametrize(
    ("text", "sentence"),
    [
        (PLAIN.replace("END_DATA\n", ""), "file ends within the section that line 8 begins"),
        (PLAIN[: PLAIN.index("LAB_B")], "END_DATA_FORMAT is missing"),
        (PLAIN[: PLAIN.index("BEGIN_DATA\n")], "no data"),
        (PLAIN.replace("2 60 0 0", "2 60 0"), "line 10: 3 values, but the data format names 4"),
        (PLAIN.replace("2 60 0 0\n", ""), "NUMBER_OF_SETS says 2, but there are 1"),
        (PLAIN.replace("FIELDS 4", "FIELDS 5"), "NUMBER_OF_FIELDS says 5, but there are 4"),
        (PLAIN.replace("NUMBER_OF_SETS", "ILUMINANT D50\nNUMBER_OF_SETS"), "Did you mean"),
        (PLAIN.replace("LAB_", "Q_"), "no table of the file holds a colour"),
        (PLAIN.replace("60 0 0", "60 x 0"), "row 10, column a: found 'x'"),
        (PLAIN.replace("2 60", "1 60"), "which row 9 has already"),
        (PLAIN.replace("NUMBER_OF_F", 'ILLUMINANT "TL99"\nNUMBER_OF_F'), "found 'TL99'; expected"),
        (PLAIN.replace("NUMBER_OF_F", 'OBSERVER "4 degree"\nNUMBER_OF_F'), "expected 2 or 10"),
    ],
)
def test_what_is_not_as_it_should_be(tmp_path, text, sentence):
    with pytest.raises(InputError, match=sentence):
        read(tmp_path, text)


def test_only_the_content_decides(tmp_path):
    data = PRINTED.encode()
    assert next(name for name, row in FORMATS.items() if row.recognises(data)) == "CGATS"
    assert not is_cgats(b"code,L,a,b\n1,50,0,0\n")
    assert read_cgats(data, "x").unit is None
