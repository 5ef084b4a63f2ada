"""What is exported comes back to the last bit, from every format that is written."""

import io
import struct

import pytest
from hypothesis import HealthCheck, given, settings
from whole_ranges import HEADINGS, NASTY, ranges, texts

from stopgap.colorimetry import lab_to_hex
from stopgap.errors import InputError
from stopgap.library.ranges.conversion import Convention
from stopgap.library.ranges.exporting import export_range
from stopgap.library.ranges.reading import read_range
from stopgap.library.ranges.understanding.mapping import ColumnMapping
from stopgap.library.ranges.understanding.proposal import propose_range
from stopgap.library.tables.columns import KNOWN
from stopgap.library.tables.formats.cgats_tables import escape, unescape
from stopgap.swatches import WRITTEN_FORMATS, MeasurementConditions, Source, Swatch

pytestmark = pytest.mark.slow

MEASURED = Convention("D50", 2, Source.MEASURED)


def bits(swatch):
    """All that is known of a swatch, its numbers as they lie in the memory."""
    numbers = (*swatch.lab, swatch.uncertainty, *([] if swatch.price is None else [swatch.price]))
    return swatch, struct.pack(f"{len(numbers)}d", *numbers)


def back(swatches, form, folder):
    path = folder / "range"
    path.write_bytes(export_range(swatches, form))
    return [swatch for swatch, _ in read_range(path, "Fen", MEASURED).swatches]


@pytest.mark.parametrize("form", WRITTEN_FORMATS)
@settings(
    max_examples=50,  # of each of four formats; tests/faults/round_trip.py tries as many as wanted
    deadline=None,
    suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow],
)
@given(swatches=ranges())
def test_a_range_comes_back_to_the_last_bit(form, swatches, tmp_path):
    assert [*map(bits, back(swatches, form, tmp_path))] == [*map(bits, swatches)]


def one(**known):
    conditions = MeasurementConditions("D50", 2)
    exact = {"lab": (50.0, -0.0, 0.1 + 0.2), "source": Source.MEASURED, "measurement": conditions}
    return Swatch(**{"range": "Fen", "code": "c", **exact, **known})


@pytest.mark.parametrize("form", WRITTEN_FORMATS)
def test_nothing_of_an_exported_range_has_to_be_guessed(form, tmp_path):
    headings = list(dict.fromkeys((*KNOWN, *HEADINGS)))
    swatches = [
        one(
            code=f"A{place}",  # a code may look like a date, and is asked about
            name=text,
            note=text,
            extra=dict.fromkeys(("Tin", *headings[place :: len(NASTY)]), text),
        )
        for place, text in enumerate(NASTY)
    ]
    path = tmp_path / "range"
    path.write_bytes(export_range(swatches, form))
    proposal = propose_range(path, "Fen", MEASURED)
    assert proposal.unconfirmed(ColumnMapping()) == []
    assert [bits(found) for found, _ in proposal.draft.swatches] == [*map(bits, swatches)]


def test_semicolons_beside_a_cell_of_two_lines_part_nothing(tmp_path):
    """By semicolons three rows would have two cells each, by commas two rows have all."""
    conditions = MeasurementConditions("D50", 2, date="two\nlines")
    swatch = one(measurement=conditions, note="a;b", extra={"<b>&amp;": "a;b"})
    assert [*map(bits, back([swatch], "CSV", tmp_path))] == [bits(swatch)]


def test_spectra_come_back_to_the_last_bit(tmp_path):
    path = tmp_path / "spectra.csv"
    values = [0.1 + 0.2, 1 / 3, *(0.01 * at for at in range(1, 30))]
    header = ",".join(f"nm{at}" for at in range(400, 710, 10))
    path.write_text(f"code,{header}\n1,{','.join(map(repr, values))}\n", encoding="utf-8")
    swatches = [swatch for swatch, _ in read_range(path, "Fen", MEASURED).swatches]
    for form in WRITTEN_FORMATS:
        (found,) = back(swatches, form, tmp_path)
        assert (found.reflectance.values, found.lab) == (tuple(values), swatches[0].lab)


def test_another_program_sees_numbers_text_and_chips(tmp_path):
    import openpyxl

    # openpyxl 3.1 as the reader
    swatches = [
        Swatch("Fen", "007", (30.0, 0.1 + 0.2, -20.0), note="=1+1", extra={"Tin": "_x0041_ <&>"}),
        Swatch("Fen", "8", (95.0, 0.0, 2.0), price=2.5, note="two\nlines"),
    ]
    sheet = openpyxl.load_workbook(io.BytesIO(export_range(swatches, "XLSX"))).active
    titles = [cell.value for cell in sheet[1]]
    first, second = (dict(zip(titles, row)) for row in sheet.iter_rows(min_row=2))
    assert (first["code"].value, first["a"].value, first["note"].value) == (
        "007",
        0.1 + 0.2,
        "=1+1",
    )
    assert (first["note"].data_type, first["a"].data_type) == ("s", "n")
    assert openpyxl.utils.escape.unescape(first["Tin"].value) == "_x0041_ <&>"
    assert (second["price"].value, second["note"].value) == (2.5, "two\nlines")
    shown = [row["code"].fill.fgColor.rgb for row in (first, second)]
    assert shown == [f"FF{lab_to_hex(swatch.lab)[1:].upper()}" for swatch in swatches]
    letters = [row["code"].font.color.rgb for row in (first, second)]
    assert letters == ["FFFFFFFF", "FF000000"]
    assert sheet.freeze_panes == "A2"


@pytest.mark.parametrize(
    ("text", "says"),
    [
        (
            "CGATS.17\nNUMBER_OF_FIELDS 5\nBEGIN_DATA_FORMAT\n"
            "SAMPLE_ID LAB_L LAB_A LAB_B Lab_L\nEND_DATA_FORMAT\nNUMBER_OF_SETS 1\nBEGIN_DATA\n"
            "1 50 0 0 60\nEND_DATA\n",
            "'LAB_L' and 'Lab_L'",
        ),
        ("code,L,a,b,l\n1,50,0,0,60\n", "two columns"),
    ],
)
def test_a_field_that_stands_twice_is_refused(text, says, tmp_path):
    path = tmp_path / "range"
    path.write_text(text, encoding="utf-8")
    with pytest.raises(InputError, match=says):
        read_range(path, "Fen", MEASURED)


def test_a_tag_that_stands_twice_is_refused(tmp_path):
    swatch = Swatch("Fen", "1", (50.0, 0.0, 0.0), extra={"Tin": "a", "Box": "b"})
    written = export_range([swatch], "CxF").replace(b'Name="Box"', b'Name="Tin"')
    (tmp_path / "range").write_bytes(written)
    with pytest.raises(InputError, match="'Tin' twice"):
        read_range(tmp_path / "range", "Fen", MEASURED)


@given(texts)
def test_lines_are_escaped_and_set_free_again(text):
    assert len(escape(text).splitlines()) == 1
    assert unescape(escape(text)) == text
