"""A range's columns as XLSX (ISO/IEC 29500-1:2016, SpreadsheetML), to the last bit.

Written here and not by a library, because none at hand writes what is asked for: openpyxl 3.1
rounds numbers to sixteen digits and takes a text that begins with = for a formula.
"""

import io
import re
import zipfile
from collections.abc import Iterator, Mapping, Sequence
from types import MappingProxyType

from stopgap.library.tables.cells import TextRow, TextTable, guard_twice
from stopgap.library.tables.formats.gate import column_letters

_MAIN = "http://schemas.openxmlformats.org/spreadsheetml/2006/main"
_RELATIONS = "http://schemas.openxmlformats.org/officeDocument/2006/relationships"
_PACKAGE = "http://schemas.openxmlformats.org/package/2006"
_TYPES = "application/vnd.openxmlformats-officedocument.spreadsheetml"
_HEAD = '<?xml version="1.0" encoding="UTF-8" standalone="yes"?>\n'
_FIXED: Mapping[str, str] = MappingProxyType(
    {
        "[Content_Types].xml": f'<Types xmlns="{_PACKAGE}/content-types">'
        '<Default Extension="rels" '
        'ContentType="application/vnd.openxmlformats-package.relationships+xml"/>'
        f'<Override PartName="/xl/workbook.xml" ContentType="{_TYPES}.sheet.main+xml"/>'
        f'<Override PartName="/xl/styles.xml" ContentType="{_TYPES}.styles+xml"/>'
        f'<Override PartName="/xl/worksheets/sheet1.xml" ContentType="{_TYPES}.worksheet+xml"/>'
        "</Types>",
        "_rels/.rels": f'<Relationships xmlns="{_PACKAGE}/relationships"><Relationship Id="rId1" '
        f'Type="{_RELATIONS}/officeDocument" Target="xl/workbook.xml"/></Relationships>',
        "xl/workbook.xml": f'<workbook xmlns="{_MAIN}" xmlns:r="{_RELATIONS}"><sheets>'
        '<sheet name="Pencils" sheetId="1" r:id="rId1"/></sheets></workbook>',
        "xl/_rels/workbook.xml.rels": f'<Relationships xmlns="{_PACKAGE}/relationships">'
        f'<Relationship Id="rId1" Type="{_RELATIONS}/worksheet" Target="worksheets/sheet1.xml"/>'
        f'<Relationship Id="rId2" Type="{_RELATIONS}/styles" Target="styles.xml"/>'
        "</Relationships>",
    }
)
_FROZEN = (
    '<sheetViews><sheetView workbookViewId="0">'
    '<pane ySplit="1" topLeftCell="A2" activePane="bottomLeft" state="frozen"/>'
    "</sheetView></sheetViews>"
)
_NUMBER = re.compile(r"-?\d+(\.\d+)?(e[-+]?\d+)?")
# what would be read as an escape (ISO/IEC 29500-1, 22.9.2.19, ST_Xstring), and what XML cannot hold
_ESCAPED = re.compile(
    "_x(?=[0-9A-Fa-f]{4}_)|[^\t\n\x20-\x7e\x80-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]"
)
_MARKUP = str.maketrans({"&": "&amp;", "<": "&lt;", ">": "&gt;"})
_HEADING, _FIRST_CHIP = 1, 2  # places among the formats of cells
_WIDEST = 30  # letters of a column
_MOST_CHIPS = 60_000  # a workbook may have 64,000 formats
_DARK, _PALE = 0, 2  # places among the fonts, the second bold
_MADE = (1980, 1, 1, 0, 0, 0)  # the same bytes whenever it is written


def write_xlsx(table: TextTable) -> bytes:
    """A workbook of one sheet: headings that stay in sight, and on each code its colour as a fill.

    Text is stored with its cell and never as a formula, numbers as the shortest text that is that
    very number.
    """
    chips = list(dict.fromkeys(chip for chip in table.chips if chip))[:_MOST_CHIPS]
    formats = {chip: place for place, chip in enumerate(chips, start=_FIRST_CHIP)}
    numbers = [title in table.numbers for title in table.header.cells]
    rows = [_row(table.header, [False] * len(numbers), {0: _HEADING}, every=_HEADING)]
    for row, chip in zip(table.rows, [*table.chips, *[""] * len(table.rows)]):
        styles = {0: formats[chip]} if chip in formats else {}
        rows.append(_row(row, numbers, styles))
    sheet = (
        f'<worksheet xmlns="{_MAIN}">{_FROZEN}<cols>{"".join(_widths(table))}</cols>'
        f"<sheetData>{''.join(rows)}</sheetData></worksheet>"
    )
    stream = io.BytesIO()
    with zipfile.ZipFile(stream, "w") as archive:
        parts = {**_FIXED, "xl/styles.xml": _styles(chips), "xl/worksheets/sheet1.xml": sheet}
        for name, content in parts.items():
            member = zipfile.ZipInfo(name, _MADE)
            member.compress_type = zipfile.ZIP_DEFLATED
            archive.writestr(member, f"{_HEAD}{content}")
    return stream.getvalue()


def _widths(table: TextTable) -> Iterator[str]:
    """Columns as wide as their longest text, within bounds."""
    for place, title in enumerate(table.header.cells, start=1):
        longest = max(map(len, (title, *(row.cells[place - 1] for row in table.rows))))
        width = min(longest, _WIDEST) + 2
        yield f'<col min="{place}" max="{place}" width="{width}" customWidth="1"/>'


def _row(
    row: TextRow, numbers: Sequence[bool], styles: Mapping[int, int], *, every: int = 0
) -> str:
    return f'<row r="{row.number}">{"".join(_cells(row, numbers, styles, every))}</row>'


def _cells(
    row: TextRow, numbers: Sequence[bool], styles: Mapping[int, int], every: int
) -> Iterator[str]:
    for place, (text, number) in enumerate(zip(row.cells, numbers)):
        style = styles.get(place, every)
        begun = f'<c r="{column_letters(place + 1)}{row.number}"' + (
            f' s="{style}"' if style else ""
        )
        if number and _NUMBER.fullmatch(text):
            yield f"{begun}><v>{text}</v></c>"
        elif text:
            yield f'{begun} t="inlineStr"><is><t xml:space="preserve">{_text(text)}</t></is></c>'


def _text(text: str) -> str:
    guarded = guard_twice(text)
    return _ESCAPED.sub(
        lambda found: f"_x{ord(found[0][0]):04X}_" + found[0][1:], guarded
    ).translate(_MARKUP)


def _styles(chips: Sequence[str]) -> str:
    """Two formats, and one for each chip: a fill of that colour and letters that stand out."""
    name = '<sz val="11"/>{}<name val="Calibri"/>'
    black, white = '<color rgb="FF000000"/>', '<color rgb="FFFFFFFF"/>'
    fonts = [f"<font>{name.format(black)}</font>", f"<font><b/>{name.format(black)}</font>"]
    fonts += [f"<font>{name.format(white)}</font>"]
    fills = ['<fill><patternFill patternType="none"/></fill>']
    fills += ['<fill><patternFill patternType="gray125"/></fill>']
    fills += [
        f'<fill><patternFill patternType="solid"><fgColor rgb="FF{chip[1:].upper()}"/>'
        "</patternFill></fill>"
        for chip in chips
    ]
    plain = '<xf numFmtId="0" fontId="{}" fillId="{}" borderId="0" xfId="0" {}/>'
    formats = [plain.format(0, 0, ""), plain.format(1, 0, 'applyFont="1"')]
    formats += [
        plain.format(_DARK if _is_light(chip) else _PALE, place, 'applyFill="1" applyFont="1"')
        for place, chip in enumerate(chips, start=2)
    ]
    return (
        f'<styleSheet xmlns="{_MAIN}">{_listed("fonts", fonts)}{_listed("fills", fills)}'
        '<borders count="1"><border/></borders>'
        '<cellStyleXfs count="1"><xf numFmtId="0" fontId="0" fillId="0" borderId="0"/>'
        f"</cellStyleXfs>{_listed('cellXfs', formats)}"
        '<cellStyles count="1"><cellStyle name="Normal" xfId="0" builtinId="0"/></cellStyles>'
        "</styleSheet>"
    )


def _listed(name: str, items: Sequence[str]) -> str:
    return f'<{name} count="{len(items)}">{"".join(items)}</{name}>'


def _is_light(chip: str) -> bool:
    """Whether black letters stand out better, by the contrast ratio of WCAG 2.2."""
    linear = []
    for at in (1, 3, 5):
        value = int(chip[at : at + 2], 16) / 255.0
        linear.append(value / 12.92 if value <= 0.04045 else ((value + 0.055) / 1.055) ** 2.4)
    red, green, blue = linear
    luminance = 0.2126 * red + 0.7152 * green + 0.0722 * blue
    return (luminance + 0.05) ** 2 > 1.05 * 0.05
