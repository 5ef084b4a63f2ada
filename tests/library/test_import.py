"""Range files to swatches: everything found out, every problem told, all or nothing."""

import codecs

import numpy as np
import pytest

from stopgap.errors import InputError, Problem, ProblemsInFile, Remedy
from stopgap.library import open_library
from stopgap.library.ranges.conversion import Convention
from stopgap.library.ranges.importing import import_range
from stopgap.library.ranges.reading import read_range
from stopgap.swatches import (
    Core,
    Finish,
    Lightfastness,
    LightfastnessScale,
    Pressure,
    Source,
    Status,
)

MEASURED = Convention("D50", 2, Source.MEASURED)

FULL = """Code,NAME,L*,a*,b*,Status,Owned,Finish,Core,Lightfastness,Lightfastness_scale,Price,\
Laydown,Uncertainty,Paper,Note,Tin
F1,Wet Slate,45.2,-1.5,-4.25,discontinued,yes,plain,wax,II,ASTM,2.50,4,0.8,smooth,stub,upper
F2,Gull Wing,80,0,2,current,no,metallic,oil,7,BWS,,,,,,
F3,,60,20,30,,,,water-soluble,,,,,,,,lower
"""


def write(tmp_path, content, name="range.csv"):
    path = tmp_path / name
    path.write_bytes(content if isinstance(content, bytes) else content.encode())
    return path


def read(tmp_path, content, convention=MEASURED, name="range.csv"):
    return read_range(write(tmp_path, content, name), "Fen", convention)


def swatches_of(draft):
    return [swatch for swatch, _ in draft.swatches]


def test_every_column_is_read(tmp_path):
    first, second, third = swatches_of(read(tmp_path, FULL))
    assert (first.code, first.name, first.lab) == ("F1", "Wet Slate", (45.2, -1.5, -4.25))
    assert (first.status, first.owned, first.core) == (Status.DISCONTINUED, True, Core.WAX)
    assert first.lightfastness == Lightfastness(LightfastnessScale.ASTM, 2)
    assert (first.price, first.laydown, first.uncertainty) == (2.5, 4, 0.8)
    assert (first.paper, first.note, first.extra) == ("smooth", "stub", {"Tin": "upper"})
    assert second.finish is Finish.METALLIC
    assert second.lightfastness == Lightfastness(LightfastnessScale.BWS, 7)
    assert (second.price, second.uncertainty, second.shared_uncertainty) == (None, 0.4, 0.3)
    assert (third.name, third.status, third.core) == ("", Status.CURRENT, Core.WATER_SOLUBLE)


ROWS = [
    ("code", "name", "L", "a", "b"),
    ("1", "Käpp", "52,5", "-3,25", "10"),
    ("2", "Ü", "6", "0", "1"),
]


@pytest.mark.parametrize("delimiter", [";", "\t"], ids=["semicolon", "tab"])
@pytest.mark.parametrize(
    ("codec", "mark", "called"),
    [
        ("utf-8", b"", "UTF-8"),
        ("utf-8", codecs.BOM_UTF8, "UTF-8 with byte order mark"),
        ("utf-16-le", codecs.BOM_UTF16_LE, "UTF-16 with byte order mark"),
        ("cp1252", b"", "cp1252 (Western European)"),
    ],
)
def test_delimiter_decimal_mark_and_encoding_are_found_out(
    tmp_path, delimiter, codec, mark, called
):
    text = "\r\n".join(delimiter.join(row) for row in ROWS)
    draft = read(tmp_path, mark + text.encode(codec))
    first = swatches_of(draft)[0]
    assert (first.name, first.lab) == ("Käpp", (52.5, -3.25, 10.0))
    assert draft.details["encoding"] == called
    assert draft.details["delimiter"] == {";": "semicolon", "\t": "tab"}[delimiter]
    assert draft.details["decimal mark"] == "comma"


@pytest.mark.parametrize(("ending", "engine"), [("xlsx", "openpyxl"), ("ods", "odf")])
def test_workbooks_are_known_by_their_content(tmp_path, ending, engine):
    import pandas

    frame = pandas.DataFrame(
        {"code": [7, 8], "name": ["Kelp", "NA"], "L": [50.5, 60], "a": [1, -2], "b": [3.25, 4]}
    )
    path = tmp_path / f"range.{ending}"
    frame.to_excel(path, index=False, engine=engine)
    renamed = path.rename(tmp_path / "range.csv")
    draft = read_range(renamed, "Fen", MEASURED)
    assert draft.details["format"] == ending.upper()
    first, second = swatches_of(draft)
    assert (first.code, first.lab) == ("7", (50.5, 1.0, 3.25))
    assert second.name == "NA"


def test_spectra_are_integrated_and_kept(tmp_path):
    import colour

    # colour-science 0.4.7, ISO 30 reflectances of its ColorChecker N Ohta, patch "dark skin"
    spectrum = colour.SDS_COLOURCHECKERS["ColorChecker N Ohta"]["dark skin"]
    spectrum = spectrum.copy().align(colour.SpectralShape(400, 700, 10))
    header = "code," + ",".join(f"nm{int(nm)}" for nm in spectrum.wavelengths)
    row = "1," + ",".join(repr(float(value)) for value in spectrum.values)
    (swatch,) = swatches_of(read(tmp_path, f"{header}\n{row}\n", Convention()))
    assert swatch.reflectance is not None
    np.testing.assert_array_equal(swatch.reflectance.values, spectrum.values)
    cmfs = colour.MSDS_CMFS["CIE 1931 2 Degree Standard Observer"]
    # colour-science warns whenever it interpolates; the request is deliberate here
    cmfs = cmfs.copy().align(colour.SpectralShape(360, 780, 1))
    illuminant = colour.SDS_ILLUMINANTS["D50"].copy().align(cmfs.shape)
    with colour.utilities.suppress_warnings(colour_runtime_warnings=True):
        XYZ = colour.sd_to_XYZ(spectrum, cmfs, illuminant)
        white = colour.sd_to_XYZ(colour.sd_ones(cmfs.shape), cmfs, illuminant)
    lab = colour.XYZ_to_Lab(XYZ / 100, colour.XYZ_to_xy(white / 100))
    # the white of the tabulated illuminant and that of its chromaticity differ in the fourth digit
    np.testing.assert_allclose(swatch.lab, lab, atol=0.05)
    per_cent = "1," + ",".join(repr(100 * float(value)) for value in spectrum.values)
    draft = read(tmp_path, f"{header}\n{per_cent}\n", Convention())
    np.testing.assert_allclose(swatches_of(draft)[0].lab, swatch.lab, atol=1e-9)
    assert any("per cent" in note.text for note in draft.notes)


def test_another_white_is_adapted_and_the_original_kept(tmp_path):
    from coloraide import Color

    draft = read(tmp_path, "code,L,a,b\n1,60,20,-30\n", Convention("D65", 2))
    ((swatch, entry),) = draft.swatches
    # coloraide: CIELAB with D65 white, adapted to D50 by its Bradford, the default
    expected = Color("color(--lab-d65 60 20 -30)").convert("lab").coords()
    np.testing.assert_allclose(swatch.lab, expected, atol=1e-2)
    assert (entry.values, entry.white) == ((60.0, 20.0, -30.0), "D65")


def test_hex_brings_its_own_white(tmp_path):
    from coloraide import Color

    ((swatch, entry),) = read(tmp_path, "code,hex\n1,c04a2b\n", Convention()).swatches
    np.testing.assert_allclose(swatch.lab, Color("#c04a2b").convert("lab").coords(), atol=1e-2)
    assert (swatch.source, swatch.uncertainty, entry.text) == (Source.TYPED, 1.0, "#c04a2b")
    assert swatch.shared_uncertainty == 4.9


def test_an_unstated_white_is_assumed_and_said(tmp_path):
    draft = read(tmp_path, "code,L,a,b\n1,60,20,-30\n", Convention())
    assert any("D50, 2 degree was assumed" in note.text for note in draft.notes)
    assert not any("degree was assumed" in note.text for note in read(tmp_path, FULL).notes)


LAID = "code,L,a,b,pressure\n1,60,20,-30,light\n2,50,0,0,\n3,40,0,0,\n"


def test_a_pressure_that_nobody_stated_is_heavy_and_said(tmp_path):
    draft = read(tmp_path, LAID)
    assert [swatch.pressure for swatch in swatches_of(draft)] == ["light", "heavy", "heavy"]
    (note,) = [note for note in draft.notes if note.remedy is Remedy.STATE_PRESSURE]
    assert note.text.startswith("How hard 2 of 3 swatches were laid is not stated")
    paper = read_range(
        write(tmp_path, LAID.replace("3,", "sheet,")), "Fen", MEASURED, bare_paper="sheet"
    )
    (note,) = [note for note in paper.notes if note.remedy is Remedy.STATE_PRESSURE]
    assert "1 of 2" in note.text  # bare paper was not laid


def test_the_pressure_of_all_is_said_once_and_rows_that_say_theirs_keep_it(tmp_path):
    draft = read(tmp_path, LAID, Convention("D50", 2, Source.MEASURED, laid=Pressure.MEDIUM))
    assert [swatch.pressure for swatch in swatches_of(draft)] == ["light", "medium", "medium"]
    assert Remedy.STATE_PRESSURE not in [note.remedy for note in draft.notes]


def test_ten_degrees_without_spectra_need_consent(tmp_path):
    with pytest.raises(InputError, match="10"):
        read(tmp_path, "code,L,a,b\n1,60,20,-30\n", Convention("D65", 10))
    accepted = Convention("D65", 10, Source.MEASURED, accept_observer=True)
    (swatch,) = swatches_of(read(tmp_path, "code,L,a,b\n1,60,20,-30\n", accepted))
    assert swatch.uncertainty > 0.5


def test_unknown_columns_are_said_once_and_kept(tmp_path):
    notes = [note for note in read(tmp_path, FULL).notes if "'Tin'" in note.text]
    assert len(notes) == 1


def test_all_problems_are_told_together(tmp_path):
    bad = (
        "code,L,a,b,owned,laydown,price,lightfastness,uncertainty\n"
        "1,abc,0,0,,,,,\n"
        ",50,0,0,,,,,\n"
        "3,50,0,999,maybe,6,-1,II,x\n"
        "1,101,0,nan,,2.5,,,\n"
        "5,,0,0,,,1e999,,\n"
    )
    with pytest.raises(ProblemsInFile) as caught:
        read(tmp_path, bad)
    expected = [
        "row 2, column L: found 'abc'",
        "row 3, column code: the cell is empty",
        "row 4, column b: found '999'",
        "row 4, column owned: found 'maybe'",
        "row 4, column laydown: found '6'",
        "row 4, column price: found '-1'",
        "row 4, column lightfastness: found 'II'",
        "row 4, column uncertainty: found 'x'",
        "row 5, column L: found '101'",
        "row 5, column b: found 'nan'",
        "row 5, column laydown: found '2.5'",
        "row 5, column code: found '1', which row 2 has already",
        "row 6, column L: the cell is empty",
        "row 6, column price: found '1e999'",
    ]
    for words in expected:
        assert any(str(problem).startswith(words) for problem in caught.value.problems), words
    assert len(caught.value.problems) == len(expected)
    assert caught.value.remedy is Remedy.REPEATED_READINGS
    assert caught.value.problems[0] == Problem(2, "L", "abc", "a lightness from 0 to 100")
    rows = [problem.row for problem in caught.value.problems]
    assert rows == sorted(rows)


@pytest.mark.parametrize(
    ("content", "says"),
    [
        (b"", "empty"),
        (b"\n\n  \n", "empty"),
        (b"\xff", "empty"),  # a space that does not part words, in an old encoding
        (b"code,L,a,b\n", "no row"),
        (b"number,L,a,b\n1,50,0,0\n", "'code'"),
        (b"code,L,a\n1,50,0\n", "L and a alone are no colour"),
        (b"code,L,a,b,L\n1,50,0,0,50\n", "two columns"),
        (b"code;L;a;b\n1;50;0;0\n2,60,0,0\n", "row 3"),
        (b"code;L;a;b\n1;50,5;0;0\n2;60.5;0;0\n", "decimal comma in row 2"),
        (b"code,L,a,b\n1,50,0,0,7\n", "row 2: 5 cells"),
        (b'code,L,a,b\n"1,50,0,0\n', "quotes"),
        (b"\x89PNG\r\n\x1a\n\0\0\0\rIHDR", "not a text file"),
        (b"PK\x03\x04 broken", "damaged"),
        (b"code,L,a,b\n1,50,0,0\n\x81\x8d", "not a text file"),
    ],
    ids=lambda value: str(value)[:24],
)
def test_a_file_that_is_no_range_is_refused_in_a_sentence(tmp_path, content, says):
    with pytest.raises(InputError, match=says) as caught:
        read(tmp_path, content)
    assert "range.csv" in str(caught.value)


def test_a_huge_file_is_refused_without_reading_it_all(tmp_path):
    path = tmp_path / "huge.csv"
    with path.open("wb") as stream:
        stream.write(b"code,L,a,b\n")
        stream.truncate(200 * 2**20)
    with pytest.raises(InputError, match="larger than 64 MB"):
        read_range(path, "Fen", MEASURED)


def test_a_folder_and_a_missing_file_are_refused(tmp_path):
    with pytest.raises(InputError, match="folder"):
        read_range(tmp_path, "Fen", MEASURED)
    with pytest.raises(InputError, match="cannot be read"):
        read_range(tmp_path / "none.csv", "Fen", MEASURED)


@pytest.mark.parametrize("name", ["", "  ", "a:b", "x" * 101, "bell\a"])
def test_range_names_that_could_not_be_asked_for(tmp_path, name):
    with pytest.raises(InputError, match="range name"):
        read_range(write(tmp_path, FULL), name, MEASURED)


def spectra(first, finish="plain"):
    titles = ",".join(f"nm{nm}" for nm in range(400, 701, 20))
    return f"code,finish,{titles}\n1,{finish},{first}" + ",0.5" * 15 + "\n"


def test_reflectance_above_one_is_only_for_fluorescents(tmp_path):
    with pytest.raises(ProblemsInFile, match="row 2, column nm400"):
        read(tmp_path, spectra("1.4"))
    assert swatches_of(read(tmp_path, spectra("1.4", "fluorescent")))
    with pytest.raises(ProblemsInFile, match="column nm400"):
        read(tmp_path, spectra("-0.1"))


def warnings_of(tmp_path, content, convention=MEASURED):
    with open_library(tmp_path / "library.sqlite") as library:
        return " ".join(import_range(library, read(tmp_path, content, convention)).warnings)


def test_probable_mistakes_are_warned_of(tmp_path):
    swapped = "code,L,b,a\n" + "".join(
        f"{code},{L},{a},{b}\n"
        for code, (L, a, b) in enumerate(
            [(88, -5, 88), (80, 10, 78), (92, -8, 60), (85, 2, 92), (78, 14, 85), (90, -2, 75)]
        )
    )
    assert "look swapped" in warnings_of(tmp_path, swapped)


@pytest.mark.parametrize(
    ("content", "says"),
    [
        ("code,L,a,b\n1,50,10,10\n2,50,10,10\n3,50,10,11\n", "1 and 2 have the same colour"),
        ("code,L,a,b\n1,95,90,90\n2,50,10,10\n", "1: lab(95.0 90.0 90.0) is more vivid"),
        ("code,name,L,a,b\n1,Sea Green,50,60,35\n", "'Sea Green'"),
    ],
    ids=["duplicate", "outside", "name"],
)
def test_warnings_do_not_hinder_the_import(tmp_path, content, says):
    assert says in warnings_of(tmp_path, content)


def test_an_ordinary_range_is_not_warned_of(tmp_path):
    assert warnings_of(tmp_path, FULL) == ""
