"""Workbooks: whole or not at all, within a budget, and as the programs that wrote them meant."""

import datetime
import io
import subprocess
import sys
import zipfile
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from workbook_parts import archive, number, ods, ods_number, ods_row, ods_text, sheet_part, xlsx

from stopgap.errors import InputError
from stopgap.library.tables.formats import FORMATS, read_table
from stopgap.library.tables.formats.gate import column_letters, column_number
from stopgap.library.tables.formats.ods import (
    _condensed,
    _shorter,
    exact_extents,
    sheet_extents,
)
from stopgap.library.tables.formats.xlsx import exact_extent, sheet_extent

pytestmark = pytest.mark.slow

XLS = Path(__file__).parent / "data" / "pencils.xls"
ROW = '<row r="1">{}</row>'
BILLION = "2000000000"


def read(data, form=None):
    form = form or next(name for name, row in FORMATS.items() if row.recognises(data))
    return FORMATS[form].read(data, "file")


def cells_of(table):
    return [row.cells for row in (table.header, *table.rows)]


def test_an_xlsx_of_openpyxl_reads_as_it_was_written():
    import openpyxl

    # openpyxl 3.1: what its writer was given
    book = openpyxl.Workbook()
    sheet = book.active
    sheet.append(["code", "made", "owned", "note"])
    sheet.append(["007", datetime.date(2024, 1, 2), True, "two\nlines"])
    sheet.append([7, datetime.datetime(2024, 1, 2, 3, 4), False, 0.25])
    stream = io.BytesIO()
    book.save(stream)
    table = read(stream.getvalue())
    assert cells_of(table) == [
        ("code", "made", "owned", "note"),
        ("007", "2024-01-02", "True", "two\nlines"),
        ("7", "2024-01-02 03:04:00", "False", "0.25"),
    ]
    assert table.dates == {(2, 1), (3, 1)}
    assert table.details == {"format": "XLSX", "sheet": "Sheet"}


def test_an_ods_of_odfpy_reads_as_it_was_written():
    from odf.opendocument import OpenDocumentSpreadsheet
    from odf.table import Table, TableCell, TableRow
    from odf.text import LineBreak, P, S, Tab

    # odfpy 1.4: what its writer was given
    book = OpenDocumentSpreadsheet()
    sheet = Table(name="Stifte")
    row = TableRow()
    words = P(text="one")
    for element in (S(c=2), Tab(), LineBreak()):
        words.addElement(element)
    words.addText("two")
    text = TableCell(valuetype="string")
    text.addElement(words)
    row.addElement(text)
    row.addElement(TableCell(valuetype="date", datevalue="2024-01-02"))
    row.addElement(TableCell(valuetype="currency", value="2.5", currency="EUR"))
    row.addElement(TableCell(valuetype="float", value="7", numbercolumnsrepeated=2))
    sheet.addElement(row)
    last = TableRow(numberrowsrepeated=1048575)
    last.addElement(TableCell(numbercolumnsrepeated=16384))
    sheet.addElement(last)
    book.spreadsheet.addElement(sheet)
    stream = io.BytesIO()
    book.write(stream)
    table = read(stream.getvalue())
    assert cells_of(table) == [("one  \t\ntwo", "2024-01-02", "2.5", "7", "7")]
    assert (table.details["sheet"], table.dates) == ("Stifte", {(1, 1)})


def test_an_xls_reads_as_it_was_written():
    # data/pencils.xls: xlwt 1.3.0, an empty sheet and one of these cells
    table = read_table(XLS)
    assert cells_of(table) == [
        ("code", "name", "L", "a", "b", "owned", "date", "note"),
        ("007", "Kelp Frond", "45.2", "-1.5", repr(0.1 + 0.2), "True", "2024-01-02", "=1+1"),
        ("8", "Möwe ✓", "60", "0", "-0.25", "False", "2024-03-04", "a\nb"),
    ]
    assert table.details == {"format": "XLS", "sheet": "Pencils"}
    assert table.dates == {(2, 6)}


BOMBS = {
    "a cell at the far end": xlsx(ROW.format(number("A1", 1) + number("XFD1048576", 1))),
    "a column beyond all": xlsx(ROW.format(number("ZZZZZZZ1", 1))),
    "a row beyond all": xlsx(f'<row r="4294967290"><c><v>1</v></c></row>{ROW}'),
    "an empty text at the far end": xlsx(
        '<row><c r="C1048576" t="inlineStr"><is><t></t></is></c></row>'
    ),
    "a long text a thousand times": xlsx(
        ROW.format('<c t="s"><v>0</v></c>' * 1000), shared=["x" * 100_000]
    ),
    "a count of texts": xlsx(ROW.format(number("A1", 1)), counts=f'uniqueCount="{BILLION}"'),
    "a cell within a cell": xlsx(ROW.format(f'<c r="A1">{number("XFD1048576", 1)}</c>')),
    "a cell two billion times": ods(ods_row(ods_number(1, BILLION))),
    "a row two billion times": ods(ods_row(ods_number(1), repeated=BILLION)),
    "rows before the last": ods(
        ods_row("<table:table-cell/>", repeated=BILLION) + ods_row(ods_number(1))
    ),
    "two billion spaces": ods(ods_row(ods_text(f'<text:p><text:s text:c="{BILLION}"/></text:p>'))),
    "a text in every row": ods(
        ods_row(ods_text(f"<text:p>{'x' * 1000}</text:p>"), repeated="900000")
    ),
    "a table within a cell": ods(
        ods_row(
            ods_text(f"<table:table>{ods_row(ods_number(1), repeated='1000000')}</table:table>"),
            ods_number(1, "1000"),
        )
    ),
    "fewer than none": ods(ods_row(ods_number(1, "-1"))),
    "a number of eighty digits": ods(ods_row(ods_number(1, "9" * 80))),
    "an entity": ods(ods_row(ods_number(1)), head='<!DOCTYPE x [<!ENTITY a "aa">]>'),
}


@pytest.mark.parametrize("name", BOMBS)
def test_what_would_fill_the_memory_is_refused_in_a_sentence(name):
    with pytest.raises(InputError, match=r"^file: .*\.$") as caught:
        read(BOMBS[name])
    assert "not read: " in str(caught.value)


@pytest.fixture(scope="module")
def zeros():
    """200 MB of nothing, which packs well; made where it is wanted, since that takes a second."""
    return archive({"xl/workbook.xml": bytes(200 * 2**20), "xl/_rels/workbook.xml.rels": "<a/>"})


def test_zeros_that_pack_well_are_refused_too(zeros):
    with pytest.raises(InputError, match=r"^file: .*not read: .*\.$"):
        read(zeros)


STATUS = Path("/proc/self/status")


@pytest.mark.skipif(not STATUS.exists(), reason="the peak of a process's own memory is told there")
def test_refusing_costs_little(zeros, tmp_path):
    # wait4 would tell the memory of the process that started the child, where that had more.
    for name, data in (BOMBS | {"zeros": zeros}).items():
        (tmp_path / name).write_bytes(data)
    code = (
        "import sys, pathlib, time\n"
        "from stopgap.library.tables.formats import read_table\n"
        "from stopgap.errors import InputError\n"
        "for path in sorted(pathlib.Path(sys.argv[1]).iterdir()):\n"
        "    try: read_table(path)\n"
        "    except InputError: continue\n"
        "    sys.exit(path.name)\n"
        "status = pathlib.Path('/proc/self/status').read_text()\n"
        "print(status.split('VmHWM:')[1].split()[0], time.process_time())\n"
    )
    done = subprocess.run(
        [sys.executable, "-c", code, str(tmp_path)], capture_output=True, text=True, check=True
    )
    peak, seconds = map(float, done.stdout.split())
    assert 5e3 < peak < 500 * 2**10  # kB
    assert seconds < 10.0  # all of them, of which each may have as much


def test_empty_cells_at_the_far_end_do_no_harm():
    far = '<c r="XFD1048576" s="0"/>'
    assert cells_of(read(xlsx(ROW.format(number("A1", 1) + far)))) == [("1",)]
    rows = ods_row(ods_number(1)) + ods_row('<table:table-cell table:style-name="a"/>', repeated=9)
    assert cells_of(read(ods(rows))) == [("1",)]


def test_the_first_sheet_that_holds_something_is_read():
    assert read(xlsx("", ROW.format(number("B2", 5)))).details["sheet"] == "S1"
    assert (
        read(ods(ods_row("<table:table-cell/>"), ods_row(ods_number(5)))).details["sheet"] == "S1"
    )
    for two in (
        xlsx(ROW.format(number("A1", 1)), ROW.format(number("A1", 2)), ""),
        ods(ods_row(ods_number(1)), ods_row(ods_number(2)), ""),
    ):
        # that there is another is not passed over in silence
        assert (read(two).sheet, read(two).others) == ("S0", 1)
    hidden = xlsx(ROW.format(number("A1", 1)), ROW.format(number("A1", 2)))
    with zipfile.ZipFile(io.BytesIO(hidden)) as packed:
        parts = {name: packed.read(name) for name in packed.namelist()}
    book = parts["xl/workbook.xml"].replace(b'name="S0"', b'name="S0" state="hidden"')
    assert cells_of(read(archive(parts | {"xl/workbook.xml": book}))) == [("2",)]
    for empty in (xlsx(""), ods("")):
        with pytest.raises(InputError, match="none of its sheets holds anything"):
            read(empty)


def test_rows_are_numbered_as_the_program_shows_them():
    table = read(xlsx(f'<row r="3">{number("B3", 1)}</row><row r="5">{number("C5", 2)}</row>'))
    assert [(row.number, row.cells) for row in (table.header, *table.rows)] == [
        (3, ("", "1", "")),
        (5, ("", "", "2")),
    ]


def test_formulas_without_a_result_are_told():
    table = read(xlsx(ROW.format('<c r="A1"><f>1+1</f></c><c r="B1"><f>1+1</f><v>2</v></c>')))
    assert cells_of(table) == [("", "2")]
    assert table.notes[0].startswith("1 cell with a formula whose result")
    assert "A1" in table.notes[0]
    waiting = '<table:table-cell table:formula="of:=1+1"/>'
    assert "B1" in read(ods(ods_row(ods_number(1), waiting))).notes[0]
    assert read(xlsx(ROW.format(number("A1", 1)))).notes == ()


def test_errors_of_formulas_are_told():
    table = read(xlsx(ROW.format(number("A1", 1) + '<c r="B1" t="e"><v>#N/A</v></c>')))
    assert "ends in an error: B1" in table.notes[0]


def read_or_told(data):
    """The table, or what is said where there is none."""
    try:
        return read(data)
    except InputError as error:
        return str(error)


@pytest.mark.parametrize(
    ("form", "make"),
    [
        ("XLSX", lambda: xlsx(ROW.format(number("A1", 1) + number("B1", 0.25)))),
        ("ODS", lambda: ods(ods_row(ods_number(1)), ods_row(ods_number(2)))),
    ],
)
def test_a_file_cut_off_anywhere_is_refused(form, make):
    data = make()
    whole = read(data)
    for length in range(4, len(data)):
        found = read_or_told(data[:length])
        assert found == whole or "cannot be read" in found


def test_a_part_cut_off_anywhere_is_refused():
    rows = ods_row(ods_number(1)) + ods_row(ods_text("<text:p>a</text:p>"))
    with zipfile.ZipFile(io.BytesIO(ods(rows))) as packed:
        parts = {name: packed.read(name) for name in packed.namelist()}
    content = parts["content.xml"]
    for length in range(len(content)):
        with pytest.raises(InputError):
            read(archive(parts | {"content.xml": content[:length]}), "ODS")


def test_an_xls_cut_off_is_refused_or_whole():
    data = XLS.read_bytes()
    whole = read(data)
    for length in (600, 2500, len(data) - 500, len(data) - 1):
        found = read_or_told(data[:length])
        assert found == whole or "cannot be read" in found


@pytest.mark.parametrize(
    ("data", "says"),
    [
        (archive({"Index/Document.iwa": "x"}), "neither an XLSX nor an ODS"),
        (archive({"xl/workbook.bin": "x"}), "neither an XLSX nor an ODS"),
        (b"PK\x03\x04 and no more", "cannot be read"),
        (XLS.read_bytes()[:512] + "EncryptedPackage".encode("utf-16-le"), "password"),
        (b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1" + bytes(600), "cannot be read"),
        (ods(ods_row(ods_number(1)), head="<?xml version='1.0' encoding='UTF-16'?>"), "UTF-16"),
    ],
    ids=["IWA", "XLSB", "cut", "encrypted", "zeros", "UTF-16"],  # an archive bears the time
)
def test_other_archives_are_refused_in_a_sentence(data, says, capfd):
    with pytest.raises(InputError, match=says):
        read(data)
    assert capfd.readouterr().out == ""


ODS_CELLS = st.sampled_from(
    [
        "<table:table-cell/>",
        *(ods_number(1), ods_number(1, "3"), ods_text('<text:p>a<text:s text:c="4"/></text:p>')),
        ods_text("<text:p>&lt;table:table-row&gt; table:formula</text:p>"),
        '<table:table-cell table:number-columns-repeated="5"/>',
        '<table:table-cell table:style-name="c" table:number-columns-repeated="16000"/>',
        "<table:covered-table-cell table:number-columns-repeated='2'/>",
        '<table:covered-table-cell/><table:table-cell table:formula="of:=1+1"/>',
        '<table:table-cell calcext:value-type="error"/>',
    ]
)
ODS_ROWS = st.lists(
    st.builds(
        lambda cells, times, around: around.format(ods_row(*cells, repeated=times)),
        st.lists(ODS_CELLS, max_size=4),
        st.sampled_from(["", "", "", "2", "1000"]),
        st.sampled_from(
            ["{}", "{}", "{}", "<table:table-row-group>{}</table:table-row-group>", "<!-- -->{}"]
        ),
    ),
    max_size=6,
)


@settings(max_examples=300, deadline=None)
@given(st.lists(ODS_ROWS.map("".join), max_size=2))
def test_the_quick_count_of_ods_agrees_with_the_exact_one(sheets):
    with zipfile.ZipFile(io.BytesIO(ods(*sheets))) as packed:
        content = packed.read("content.xml")
    quick, exact = sheet_extents(content), exact_extents(content)
    assert len(quick) == len(exact) == len(sheets)
    for fast, slow in zip(quick, exact):
        assert (fast.unsaved, fast.failed, fast.text) == (slow.unsaved, slow.failed, slow.text)
        assert bool(fast.rows) == bool(slow.rows)
        assert fast.rows >= slow.rows
        assert fast.columns >= slow.columns


def test_rows_as_programs_write_them_are_not_followed_element_by_element():
    behind = '<table:table-cell table:style-name="c" table:number-columns-repeated="16374"/>'
    shown = ods_number(0.5).replace("/>", "><text:p>0,50</text:p></table:table-cell>")
    rows = "".join(ods_row(shown, ods_number(row), behind) for row in range(500))
    head = '<table:table-column table:default-cell-style-name="Default"/>'
    book = ods(head + rows + ods_row(behind, repeated="1048076"))
    with zipfile.ZipFile(io.BytesIO(book)) as packed:
        content = packed.read("content.xml")
    assert len(_condensed(_shorter(content))) < 500
    (quick,), (exact,) = sheet_extents(content), exact_extents(content)
    assert (quick.rows, exact.rows) == (500, 500)
    assert 2 == exact.columns <= quick.columns <= 3


@pytest.mark.parametrize(
    "cell",
    [
        '<table:table-cell office:value-type="float" office:value="2" _t="1"/>',
        *("<_c></table:table-cell>", "<_c>", '<table:table-cell a="office:value-type="float""/>'),
        '<table:table-cell a=" office:value-type="float" office:value="2"/>',
        '<table:table-cell a=" office:value-type="float" office:value="2""/>',
    ],
)
def test_what_is_ill_formed_stays_so_in_shorter_words(cell):
    with pytest.raises(InputError, match="cannot be read"):
        FORMATS["ODS"].read(ods(ods_row(cell), ods_row(ods_number(3))), "book")


@pytest.mark.parametrize(
    "rows",
    [
        ods_row(ods_number(1), ods_text(f"<table:table>{ods_row(ods_number(1))}</table:table>")),
        ods_row(ods_number(1)) + ods_row(ods_number(1), repeated="3") + ods_number(1) * 9,
        ods_row(f"<table:table-row>{ods_number(1, '7')}</table:table-row>" + ods_number(1)),
        ods_row(ods_number(1)) + f"<![CDATA[{ods_row(ods_number(1))}]]>",
    ],
)
def test_what_no_program_writes_is_counted_element_by_element(rows):
    with zipfile.ZipFile(io.BytesIO(ods(rows))) as packed:
        content = packed.read("content.xml")
    assert sheet_extents(content) == exact_extents(content)


CELLS = st.lists(
    st.tuples(
        st.integers(1, 40),
        st.integers(1, 1000),
        st.sampled_from(["<v>1</v>", "", "<f>1</f>", "<f>1</f><v>2</v>", "<is><t>a</t></is>"]),
        st.sampled_from(["", ' t="s"', ' t="e"', ' s="1"']),
    ),
    max_size=8,
)


@settings(max_examples=200, deadline=None)
@given(CELLS)
def test_the_quick_count_agrees_with_the_exact_one(cells):
    rows = "".join(
        f'<row r="{row}"><c r="{column_letters(column)}{row}"{kind}>{inside}</c></row>'
        for row, column, inside, kind in cells
    )
    part = sheet_part(rows).encode()
    (quick, shared), (exact, sure) = sheet_extent(part), exact_extent(part)
    assert (quick.unsaved, quick.failed) == (exact.unsaved, exact.failed)
    assert bool(quick.rows) == bool(exact.rows)
    assert quick.rows >= exact.rows
    assert quick.columns >= exact.columns
    assert shared >= sure


@pytest.mark.parametrize(
    "cell",
    [
        *('<c r="A7"><f>1</f></c>', "<c r='XFD7'><v>1</v></c>", '<c\nr="C7"><v>1</v></c>'),
        *('<x:c r="XFD7"><v>1</v></x:c>', '<c s="1" r="XFD7"><v>1</v></c>', "<c><v>1</v></c>"),
        '<!-- <c r="XFD7"><v>1</v></c> -->',
    ],
)
def test_cells_written_otherwise_are_counted_element_by_element(cell):
    part = sheet_part(f'<row r="7"><c r="B7"><v>1</v></c>{cell}</row>').encode()
    assert sheet_extent(part) == exact_extent(part)


@given(st.integers(1, 20_000))
def test_columns_are_lettered_and_numbered_alike(column):
    from openpyxl.utils import get_column_letter  # openpyxl 3.1

    assert column_number(column_letters(column)) == column
    if column <= 18_278:  # the last that openpyxl letters, ZZZ
        assert column_letters(column) == get_column_letter(column)
