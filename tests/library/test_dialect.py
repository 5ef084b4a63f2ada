"""Every kind of file is read in one dialect, whatever format it comes in."""

import codecs

import numpy as np
import pandas
import pytest

from stopgap.errors import InputError, Problem, ProblemsInFile
from stopgap.library import (
    Convention,
    find_swatches,
    find_targets,
    read_blends,
    read_layered,
    read_list,
    read_range,
)
from stopgap.swatches import Swatch

PENCILS = (Swatch("Fen", "1", (50.0, 0.0, 0.0), "Kelp"), Swatch("Fen", "2", (60.0, 0.0, 0.0)))

KINDS = {
    "range": (
        lambda path: read_range(path, "Fen", Convention("D50", 2)).swatches[0][0],
        {"Code*": "1", "L *": "50,5", "A*": "−3,25", "b": "1,5", "Lightfastness scale": "BWS"},
        lambda swatch: (swatch.code, swatch.lab) == ("1", (50.5, -3.25, 1.5)),
    ),
    "list": (
        lambda path: read_list(path)[0],
        {"Colour*": "Fen:1", "LABEL": "sky", "Weight ": "1,5"},
        lambda row: (row.colour, row.label, row.weight, row.row) == ("Fen:1", "sky", 1.5, 2),
    ),
    "blends": (
        lambda path: read_blends(path)[0],
        {"NAME": "sky", "From*": "Fen:1", "To*": "Fen:2", "Step": "7,5"},
        lambda row: (row.name, row.start, row.end, row.step) == ("sky", "Fen:1", "Fen:2", 7.5),
    ),
    "owned": (
        lambda path: find_swatches(read_list(path), PENCILS),
        {"COLOUR": "Fen:2", "note": "1,5"},
        lambda found: found == [PENCILS[1]],
    ),
    "calibration": (
        lambda path: read_layered(path, PENCILS, ("light", "heavy")).rows[0],
        {"First": "Fen:1", "First pressure*": "Light", "L*": "70,5", "a": "−0,5", "B*": "2,25"},
        lambda row: (*row.stack[0], row.lab) == (PENCILS[0], "light", FOUND),
    ),
}
FOUND = (70.5, -0.5, 2.25)


def semicolons(cells):
    return "\r\n".join(";".join(row) for row in (cells, cells.values()))


def tabs(cells):
    return "\n".join("\t".join(row) for row in (cells, cells.values()))


WRITERS = {
    "UTF-8": lambda path, cells: path.write_text(semicolons(cells), encoding="utf-8"),
    "UTF-8 with mark": lambda path, cells: path.write_text(tabs(cells), encoding="utf-8-sig"),
    "UTF-16": lambda path, cells: path.write_bytes(
        codecs.BOM_UTF16_LE + semicolons(cells).encode("utf-16-le")
    ),
    "cp1252": lambda path, cells: path.write_bytes(
        semicolons(cells | {"Größe": "ä"}).replace("−", "-").encode("cp1252")
    ),
    "XLSX": lambda path, cells: pandas.DataFrame([cells]).to_excel(
        path, index=False, engine="openpyxl"
    ),
    "ODS": lambda path, cells: pandas.DataFrame([cells]).to_excel(path, index=False, engine="odf"),
}


@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize("writer", WRITERS)
def test_headings_numbers_and_encodings_are_understood_alike(kind, writer, tmp_path):
    read, cells, as_meant = KINDS[kind]
    ending = {"XLSX": ".xlsx", "ODS": ".ods"}.get(writer, ".csv")
    path = tmp_path / f"file{ending}"
    WRITERS[writer](path, cells)
    assert as_meant(read(path))


@pytest.mark.parametrize("kind", KINDS)
def test_what_a_file_lacks_is_told_alike(kind, tmp_path):
    read, cells, _ = KINDS[kind]
    path = tmp_path / "file.csv"
    path.write_text("nothing,known\n1,2\n")
    with pytest.raises(InputError, match=r"file\.csv: row 1: no column is headed '"):
        read(path)
    path.write_text(",".join(cells) + "\n")
    with pytest.raises(InputError, match=r"file\.csv: there is a header but no row below it"):
        read(path)
    twice = [*cells, next(iter(cells)).upper()]
    path.write_text(",".join(twice) + "\n" + ",".join("1" * len(twice)) + "\n")
    with pytest.raises(InputError, match=r"file\.csv: row 1: two columns are headed"):
        read(path)


@pytest.mark.parametrize(
    ("kind", "column", "bad"),
    [
        ("range", "b", "blue"),
        ("list", "Weight ", "0"),
        ("blends", "Step", "−1"),
        ("owned", "COLOUR", "Fen:99"),
        ("calibration", "First pressure*", "hard"),
    ],
)
def test_a_bad_cell_is_told_as_a_value_alike(kind, column, bad, tmp_path):
    read, cells, _ = KINDS[kind]
    path = tmp_path / "file.csv"
    path.write_text(semicolons(cells | {column: bad}), encoding="utf-8")
    with pytest.raises(ProblemsInFile, match=r"file\.csv: nothing was ") as caught:
        read(path)
    (problem,) = caught.value.problems
    assert isinstance(problem, Problem)
    assert problem.row == 2
    assert problem.column.casefold() == column.strip().casefold()
    assert str(problem).startswith(f"row 2, column {problem.column}: ")
    assert bad in (problem.found, *problem.reason.split("'"))


def test_every_name_that_nothing_bears_is_told_with_its_column(tmp_path):
    path = tmp_path / "file.csv"
    path.write_text("name,from,to\nsky,Fen:1,Fen:2\nsea,Fen:8,lab(50 0 x)\nsand,Fen:2,Fen:9\n")
    blends = read_blends(path)
    assert find_targets(blends[:1], PENCILS) == [PENCILS]
    with pytest.raises(ProblemsInFile, match=r"file\.csv: nothing was done\.") as caught:
        find_targets(blends, PENCILS)
    places = [(problem.row, problem.column) for problem in caught.value.problems]
    assert places == [(3, "from"), (3, "to"), (4, "to")]
    path.write_text("colour\nFen:1\nFen:9\n#zzz\n")
    with pytest.raises(ProblemsInFile) as caught:
        find_targets(read_list(path), PENCILS)
    places = [(problem.row, problem.column) for problem in caught.value.problems]
    assert places == [(3, "colour"), (4, "colour")]
    assert find_targets([], PENCILS) == []


@pytest.mark.parametrize(
    "heading",
    [
        *("blend,start,end,largest step", "Verlauf,von,bis,Schritt", "dégradé,de,à,pas"),
        *("degradado,desde,hasta,paso", "sfumatura,da,a,passo", "verloop,van,naar,stap"),
        "Paper,To,FROM*,Name,Step",
    ],
)
def test_blends_are_headed_in_six_languages(heading, tmp_path):
    path = tmp_path / "file.csv"
    cells = {"paper": "White", "to": "Fen:2", "from*": "Fen:1", "name": "sky", "step": "7"}
    own = heading.startswith("Paper")
    row = [cells[each.casefold()] for each in heading.split(",")] if own else "sky Fen:1 Fen:2 7"
    path.write_text(f"{heading}\n{','.join(row if own else row.split())}\n", encoding="utf-8")
    (found,) = read_blends(path)
    assert (found.name, found.start, found.end, found.step) == ("sky", "Fen:1", "Fen:2", 7.0)
    assert found.paper == ("White" if own else "")


def test_a_list_says_weight_and_paper_in_other_words(tmp_path):
    path = tmp_path / "file.csv"
    path.write_text("Farbe;Gewicht;Papier\nFen:1;2,5;Kraft\n", encoding="utf-8")
    (found,) = read_list(path)
    assert (found.colour, found.weight, found.paper) == ("Fen:1", 2.5, "Kraft")


AS_STATED = Convention()
SPECTRUM = [f"nm{nm}" for nm in range(400, 701, 20)]


def layered(path, titles, *colours, convention=AS_STATED):
    rows = [("first", "first_pressure", *titles), *(("Fen:1", "light", *each) for each in colours)]
    path.write_text("\n".join(",".join(map(str, row)) for row in rows))
    return [row.lab for row in read_layered(path, PENCILS, ("light", "heavy"), convention).rows]


def test_a_layered_swatch_may_be_a_hex(tmp_path):
    from coloraide import Color

    (lab,) = layered(tmp_path / "layered.csv", ["hex"], ["#c04a2b"])
    # coloraide: sRGB (IEC 61966-2-1) to CIELAB D50, by Bradford
    np.testing.assert_allclose(lab, Color("#c04a2b").convert("lab").coords(), atol=1e-2)
    as_lab = layered(tmp_path / "layered.csv", "Lab", [repr(value) for value in lab])
    np.testing.assert_allclose(as_lab, [lab], atol=1e-12)


@pytest.mark.parametrize("stated", ["by the file", "beside it", "by nobody"])
def test_a_layered_swatch_may_be_a_tristimulus(tmp_path, stated):
    from coloraide import Color

    # coloraide: CIELAB of D65 to XYZ of D65, and to CIELAB D50 by Bradford; its D50 for nobody
    space, result = ("lab", "xyz-d50") if stated == "by nobody" else ("--lab-d65", "xyz-d65")
    colour = Color(f"color({space} 60 20 -30)") if space != "lab" else Color("lab(60 20 -30)")
    XYZ = [100 * value for value in colour.convert(result).coords()]
    by_file = stated == "by the file"
    found = layered(
        tmp_path / "layered.csv",
        [*"XYZ", *(["illuminant"] if by_file else [])],
        [*XYZ, *(["D65"] if by_file else [])],
        convention=Convention("D65", 2) if stated == "beside it" else AS_STATED,
    )
    np.testing.assert_allclose(found, [colour.convert("lab").coords()], atol=2e-2)


@pytest.mark.parametrize("unit", [1.0, 100.0])
def test_a_layered_swatch_may_be_a_spectrum(tmp_path, unit):
    import colour

    # colour-science 0.4.7, sd_to_XYZ(method="ASTM E308") of patches of its ColorChecker N Ohta
    patches = colour.SDS_COLOURCHECKERS["ColorChecker N Ohta"]
    shape = colour.SpectralShape(360, 780, 1)
    cmfs = colour.MSDS_CMFS["CIE 1931 2 Degree Standard Observer"].copy()
    expected, rows = [], []
    # colour-science warns whenever it interpolates; the request is deliberate here
    with colour.utilities.suppress_warnings(colour_runtime_warnings=True):
        cmfs = cmfs.align(shape)
        illuminant = colour.SDS_ILLUMINANTS["D50"].copy().align(shape)
        white = colour.sd_to_XYZ(colour.sd_ones(shape), cmfs, illuminant)
        for name in ("dark skin", "foliage", "white 9.5 (.05 D)"):
            spectrum = patches[name].copy().align(colour.SpectralShape(400, 700, 10))
            XYZ = colour.sd_to_XYZ(spectrum, cmfs, illuminant)
            expected.append(colour.XYZ_to_Lab(XYZ / 100, colour.XYZ_to_xy(white / 100)))
            rows.append([repr(float(unit * value)) for value in spectrum.values])
    found = layered(tmp_path / "layered.csv", [f"nm{nm}" for nm in range(400, 701, 10)], *rows)
    # the white of the tabulated illuminant and that of its chromaticity differ in the fourth digit
    np.testing.assert_allclose(found, expected, atol=0.05)


@pytest.mark.parametrize(
    ("titles", "row", "says"),
    [
        (["hex", *"Lab"], ["", "", "", ""], "row 3, column colour"),
        (["hex"], ["#c04x"], "row 3, column hex"),
        (["X", "Y", "Z"], ["10", "", "12"], "row 3, column Y"),
        ([*"Lab", "illuminant"], ["50", "0", "0", "lamp"], "row 3, column illuminant"),
        (SPECTRUM, ["0.5", "1.5", *["0.5"] * 14], "row 3, column nm420"),
    ],
)
def test_a_layered_swatch_without_a_good_colour_is_named(tmp_path, titles, row, says):
    good = {"hex": "#808080", "illuminant": "D50"}
    first = [good.get(title, "0.5") for title in titles]
    with pytest.raises(ProblemsInFile) as found:
        layered(tmp_path / "layered.csv", titles, first, row)
    assert says in str(found.value)
    assert "layered.csv: nothing was learnt" in str(found.value)


def test_layered_swatches_without_any_colour_or_against_their_own_white_are_refused(tmp_path):
    with pytest.raises(InputError, match=r"layered\.csv: row 1: no colour\. Expected"):
        layered(tmp_path / "layered.csv", ["note"], ["pale"])
    with pytest.raises(InputError, match=r"layered\.csv: row 2 states the illuminant D50"):
        layered(
            tmp_path / "layered.csv",
            [*"Lab", "illuminant"],
            ["50", "0", "0", "D50"],
            convention=Convention("D65"),
        )
    with pytest.raises(InputError, match="10 degree"):
        layered(tmp_path / "layered.csv", "Lab", "500", convention=Convention("D50", 10))


# "stage" in the words of lessons: English, German, French, Spanish, Italian, Dutch; common practice
@pytest.mark.parametrize(
    "heading", ["Stage", "Work step", "Arbeitsschritt", "Étape", "Fase", "Passaggio", "Werkstap"]
)
@pytest.mark.parametrize("colour", ["colour", "Couleur"])
def test_stages_of_a_list_go_on_until_another_is_named(tmp_path, colour, heading):
    path = tmp_path / "lesson.csv"
    path.write_text(
        f"{colour},{heading}\nFen:1,\nFen:2,Sky  and sea\nFen:1,\nFen:2,Accents\n", encoding="utf-8"
    )
    stages = [row.stage for row in read_list(path)]
    assert stages == ["", "Sky and sea", "Sky and sea", "Accents"]
