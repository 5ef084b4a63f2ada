"""A field of an answer is written once, and JSON, CSV and pages show the same of it."""

from typing import NamedTuple

from stopgap.reports.blocks import Chip
from stopgap.reports.columns import (
    NOWHERE,
    RowField,
    cells_of,
    data_of,
    decimal,
    grid_of,
    only_shown,
    plain,
    swatch_field,
    titles_of,
)
from stopgap.swatches import Swatch


class Row(NamedTuple):
    swatch: Swatch
    delta_E: float | None
    words: tuple[str, ...]


SEA = Swatch("Fen", "1", (50.0, 10.0, -5.0), name="Sea")
ROWS = [Row(SEA, 1.26, ("a", "b")), Row(SEA, None, ())]
FIELDS = [
    only_shown("chip", lambda row: Chip((row.swatch.lab,))),
    swatch_field(("range", "code", "L"), shown=lambda swatch: swatch.name, title="pencil"),
    decimal("delta_E", "ΔE00"),
    RowField("words", lambda row: row.words, list, {"words": "; ".join}),
    RowField("count", lambda row: len(row.words), cells=NOWHERE),
]


def test_json_has_every_field_with_data_in_order():
    first, second = data_of(FIELDS, ROWS)
    assert list(first) == ["swatch", "delta_E", "words", "count"]
    assert first["swatch"]["lab"] == [50.0, 10.0, -5.0]
    assert (first["words"], first["count"]) == (["a", "b"], 2)
    assert second["delta_E"] is None


def test_csv_has_the_columns_of_each_field_in_order():
    assert titles_of(FIELDS) == ("range", "code", "L", "delta_E", "words")
    assert cells_of(FIELDS, ROWS) == [
        ("Fen", "1", 50.0, 1.26, "a; b"),
        ("Fen", "1", 50.0, None, ""),
    ]


def test_a_page_shows_the_fields_that_are_named_and_remarks_where_there_are_some():
    grid = grid_of(FIELDS, ("chip", "delta_E", "swatch"), ROWS, lambda row: row.words)
    assert [(column.title, column.number) for column in grid.columns] == [
        ("", False),
        ("ΔE00", True),
        ("pencil", False),
    ]
    assert grid.rows == [[Chip((SEA.lab,)), "1.3", "Sea"], [Chip((SEA.lab,)), "", "Sea"]]
    assert grid.remarks == {0: ("a", "b")}


def test_plain_fields_are_attributes():
    (field,) = plain("delta_E")
    assert data_of([field], ROWS) == [{"delta_E": 1.26}, {"delta_E": None}]
    assert cells_of([field], ROWS) == [(1.26,), (None,)]
