"""Every kind of file is read in one dialect, whatever format it comes in."""

import codecs

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
        lambda path: find_swatches(read_list(path), PENCILS, path.name),
        {"COLOUR": "Fen:2", "note": "1,5"},
        lambda found: found == [PENCILS[1]],
    ),
    "calibration": (
        lambda path: read_layered(path, PENCILS, ("light", "heavy"))[0],
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
