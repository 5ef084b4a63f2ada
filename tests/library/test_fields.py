"""The table of fields, row by row: import, store, edit, export, show, undo, and the manual."""

import csv
import io
import json
import re
import sqlite3
from contextlib import closing
from dataclasses import fields
from pathlib import Path

import click
import pytest

from stopgap.cli.library.swatch import add, edit
from stopgap.errors import InputError
from stopgap.library import (
    Convention,
    edit_swatch,
    export_range,
    import_range,
    open_library,
    read_range,
)
from stopgap.library.tables.columns import KNOWN
from stopgap.library.tables.formats import FORMATS
from stopgap.swatches import (
    FIELDS,
    WRITTEN_FORMATS,
    Number,
    OneOf,
    PencilFields,
    Rating,
    Sets,
    Source,
    YesOrNo,
)
from stopgap.swatches.kinds import Text

MANUAL = (Path(__file__).parents[2] / "src/stopgap/manual/ranges.md").read_text(encoding="utf-8")
TRAVELLING = [row for row in FIELDS.values() if row.formats]
NOT_ANYTHING = [row for row in TRAVELLING if not isinstance(row.kind, Text)]  # as a text may be
DECIDED = [row for row in FIELDS.values() if row.decidable]
DEFAULTS = {each.name: each.default for each in fields(PencilFields)}
MEASURED = Convention("D50", 2, Source.MEASURED)


def cells(row, which):
    """Two sets of cells that a file could have for a field, the first not the default."""
    if row.name == "lab":
        return (("50.5", "-10.25", "20"), ("61.5", "1", "-2.125"))[which]
    match row.kind:
        case Rating():
            return (("II", "ASTM"), ("7", "BWS"))[which]
        case YesOrNo():
            return (("yes",), ("no",))[which]
        case OneOf(choices=choices):
            words = [str(choice) for choice in choices if choice is not DEFAULTS[row.name]]
            return ((words[-1],), (str(DEFAULTS[row.name] or words[-2]),))[which]
        case Number():
            return (("3",), ("4",))[which]
        case Sets():
            return (("Shore; Tin of 24", "18.5; "), ("Large", "60"))[which]
    return (("some text",), ("another text",))[which]


def imported(tmp_path, library, **by_name):
    """The swatch of a range whose file holds cells for some fields."""
    stated = {"code": ("1",), "lab": ("40", "0", "0"), **by_name}
    titles = [title for name in stated for title in FIELDS[name].titles]
    path = tmp_path / "range.csv"
    with path.open("w", encoding="utf-8", newline="") as stream:
        written = [titles, [cell for of_one in stated.values() for cell in of_one]]
        csv.writer(stream).writerows(written)
    renew = bool(library.range_names())
    import_range(library, read_range(path, "Fen", MEASURED), renew=renew)
    (swatch,) = library.swatches()
    return swatch


@pytest.fixture
def library(tmp_path):
    with open_library(tmp_path / "library.sqlite") as opened:
        yield opened


def the_value(row, which=0):
    return row.kind.read(*cells(row, which))


@pytest.mark.parametrize("row", TRAVELLING, ids=lambda row: row.name)
def test_a_field_is_imported_and_stored(row, tmp_path, library):
    plain = None if row.name == "code" else imported(tmp_path, library)
    swatch = imported(tmp_path, library, **{row.name: cells(row, 0)})
    assert getattr(swatch, row.name) == the_value(row)
    if plain is not None:
        assert getattr(plain, row.name) != the_value(row)
    with closing(sqlite3.connect(library.path)) as raw:
        (stored,) = raw.execute(f"SELECT {', '.join(row.columns)} FROM swatch")
    assert row.kind.restored(*stored) == the_value(row)


@pytest.mark.parametrize("row", DECIDED, ids=lambda row: row.name)
def test_a_field_is_decided_over_the_file_and_the_decision_undone(row, tmp_path, library):
    before = imported(tmp_path, library, **({row.name: cells(row, 0)} if row.formats else {}))
    assert edit_swatch(library, before, {row.name: the_value(row, 1)})
    decided = library.swatches()[0]
    assert getattr(decided, row.name) == the_value(row, 1) != getattr(before, row.name)
    again = imported(tmp_path, library)  # the file's own word is another now, and lies beneath
    assert getattr(again, row.name) == the_value(row, 1)
    if row.formats:
        assert getattr(library.as_imported(again), row.name) != the_value(row)
    library.undo()
    assert library.swatches()[0] == decided
    assert library.undo() == "editing Fen:1"
    assert library.swatches()[0] == before


def test_what_nobody_may_decide_is_refused(tmp_path, library):
    swatch = imported(tmp_path, library)
    others = [row.name for row in FIELDS.values() if not row.decidable]
    for name in [*others, "nonsense"]:
        with pytest.raises(InputError, match="not something that can be set"):
            edit_swatch(library, swatch, {name: "x"})


@pytest.mark.parametrize("form", WRITTEN_FORMATS)
@pytest.mark.parametrize("row", FIELDS.values(), ids=lambda row: row.name)
def test_a_field_travels_in_the_formats_that_its_row_names(row, form, tmp_path, library):
    imported(tmp_path, library, **({row.name: cells(row, 0)} if row.formats else {}))
    swatch = library.swatches()[0]
    if not row.formats:
        edit_swatch(library, swatch, {row.name: the_value(row)})
        swatch = library.swatches()[0]
    path = tmp_path / "again"
    path.write_bytes(export_range([swatch], form))
    ((again, _),) = read_range(path, "Fen", Convention(source=Source.MEASURED)).swatches
    came = getattr(again, row.name) == getattr(swatch, row.name)
    assert came is (form in row.formats)


def test_formats_are_those_that_are_written():
    assert set(WRITTEN_FORMATS) == {name for name, form in FORMATS.items() if form.write}


@pytest.mark.parametrize("row", FIELDS.values(), ids=lambda row: row.name)
def test_a_field_is_shown(row, tmp_path, stopgap_run):
    with open_library(stopgap_run.library) as library:
        imported(tmp_path, library, **({row.name: cells(row, 0)} if row.formats else {}))
        swatch = library.swatches()[0]
    answer = json.loads(stopgap_run("range", "show", "Fen", "--json")[1])["swatches"][0]
    shown = {**answer, **answer["swatch"]}[row.name]
    value = getattr(swatch, row.name)
    assert shown == (list(value) if row.name == "lab" else row.kind.told(value))
    (line,) = csv.DictReader(io.StringIO(stopgap_run("range", "show", "Fen", "--csv")[1]))
    titles = row.titles if row.name == "lab" else (row.name,)
    assert all(line[title] for title in titles)


def test_a_price_is_shown_with_its_currency_and_no_known_column_is_told_as_kept(
    tmp_path, stopgap_run
):
    path = tmp_path / "range.csv"
    rows = [
        "code,L,a,b,Price,Currency,Section,Shelf,pressure",
        "1,50,0,0,2.5,EUR,Greys,3,heavy",
        "1,70,0,0,,,Light greys,3,light",
        "2,60,0,0,4,,Greys,,heavy",
    ]
    path.write_text("\n".join(rows) + "\n", encoding="utf-8")
    said = " ".join(stopgap_run("range", "import", str(path), "--name", "Fen")[1].split())
    assert "does not use them: 'Shelf'." in said
    shown = stopgap_run("range", "show", "Fen")[1]
    assert re.search(r"2\.50 EUR", shown)
    assert "4.00" not in shown  # of which nobody said what it is in
    first = json.loads(stopgap_run("range", "show", "Fen", "--json")[1])["swatches"][0]
    assert [swatch["section"] for swatch in first["swatches"]] == ["Greys", "Light greys"]


def test_each_field_that_has_an_option_is_an_option():
    for command in (add, edit):
        options = [each for each in command.params if isinstance(each, click.Option)]
        helps = {option.name: option.help for option in options}
        for row in FIELDS.values():
            if row.about:
                assert helps[row.name] == row.about
    kinds = {option.name: option.type for option in edit.params}
    assert isinstance(kinds["laydown"], click.IntRange)
    assert list(kinds["status"].choices) == ["current", "discontinued"]


def test_the_manual_has_a_line_for_every_column_of_a_range_file():
    table = MANUAL[MANUAL.index("| column | what it holds |") :]
    named = set(re.findall(r"`([A-Za-z_]+)`", table[: table.index("\n\n")]))
    assert named >= {title for row in TRAVELLING for title in row.titles}
    assert named <= {*KNOWN, "nm"}


@pytest.mark.parametrize("row", NOT_ANYTHING, ids=lambda row: row.name)
def test_what_is_not_as_expected_is_told_with_its_place(row, tmp_path):
    path = tmp_path / "range.csv"
    titles = [title for title in ("code", "L", "a", "b") if title not in row.titles]
    bad = ["?" for _ in row.titles]
    path.write_text(",".join([*titles, *row.titles]) + "\n" + ",".join(["1"] * len(titles) + bad))
    with pytest.raises(InputError) as caught:
        read_range(path, "Fen", MEASURED)
    problem = caught.value.problems[0]
    assert (problem.row, problem.column, problem.found) == (2, row.titles[0], "?")
