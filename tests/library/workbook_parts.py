"""Workbooks put together part by part, so that a test can put into them what no program would."""

import io
import zipfile

_MAIN = 'xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main"'
_OFFICE = "http://schemas.openxmlformats.org/officeDocument/2006/relationships"
_OASIS = "urn:oasis:names:tc:opendocument:xmlns"


def archive(parts):
    """A ZIP archive of parts by name."""
    stream = io.BytesIO()
    with zipfile.ZipFile(stream, "w", zipfile.ZIP_DEFLATED) as packed:
        for name, content in parts.items():
            # OpenDocument 1.3, part 2, 3.3: the type stands first and as it is
            kind = zipfile.ZIP_STORED if name == "mimetype" else zipfile.ZIP_DEFLATED
            packed.writestr(name, content, kind)
    return stream.getvalue()


def xlsx(*sheets, shared=(), counts=""):
    """An XLSX workbook of sheets, each given by its rows in XML or as a whole part."""
    relations = "".join(
        f'<Relationship Id="r{n}" Type="{_OFFICE}/worksheet" Target="worksheets/sheet{n}.xml"/>'
        for n in range(len(sheets))
    )
    named = "".join(
        f'<sheet name="S{n}" sheetId="{n + 1}" r:id="r{n}"/>' for n in range(len(sheets))
    )
    package = "http://schemas.openxmlformats.org/package/2006/relationships"
    parts = {
        "_rels/.rels": f'<Relationships xmlns="{package}"><Relationship Id="a" '
        f'Type="{_OFFICE}/officeDocument" Target="xl/workbook.xml"/></Relationships>',
        "xl/workbook.xml": f'<workbook {_MAIN} xmlns:r="{_OFFICE}"><sheets>{named}</sheets>'
        "</workbook>",
        "xl/_rels/workbook.xml.rels": f'<Relationships xmlns="{package}">{relations}'
        "</Relationships>",
        "xl/sharedStrings.xml": f"<sst {_MAIN} {counts}>"
        + "".join(f"<si><t>{text}</t></si>" for text in shared)
        + "</sst>",
    }
    for place, rows in enumerate(sheets):
        parts[f"xl/worksheets/sheet{place}.xml"] = sheet_part(rows)
    return archive(parts)


def sheet_part(rows):
    """A sheet of an XLSX workbook by its rows."""
    return f"<worksheet {_MAIN}><sheetData>{rows}</sheetData></worksheet>"


def ods(*sheets, head=""):
    """An ODS workbook of sheets, each given by its rows in XML."""
    spaces = " ".join(f'xmlns:{each}="{_OASIS}:{each}:1.0"' for each in ("office", "table", "text"))
    tables = "".join(
        f'<table:table table:name="S{n}">{rows}</table:table>' for n, rows in enumerate(sheets)
    )
    return archive(
        {
            "mimetype": "application/vnd.oasis.opendocument.spreadsheet",
            "META-INF/manifest.xml": f'<m:manifest xmlns:m="{_OASIS}:manifest:1.0"/>',
            "content.xml": f"{head}<office:document-content {spaces}><office:body>"
            f"<office:spreadsheet>{tables}</office:spreadsheet></office:body>"
            "</office:document-content>",
        }
    )


def number(reference, value):
    """A cell of XLSX with a number."""
    return f'<c r="{reference}"><v>{value}</v></c>'


def ods_row(*cells, repeated=""):
    """A row of ODS."""
    times = f' table:number-rows-repeated="{repeated}"' if repeated else ""
    return f"<table:table-row{times}>{''.join(cells)}</table:table-row>"


def ods_number(value, repeated=""):
    """A cell of ODS with a number."""
    times = f' table:number-columns-repeated="{repeated}"' if repeated else ""
    return f'<table:table-cell office:value-type="float" office:value="{value}"{times}/>'


def ods_text(markup):
    """A cell of ODS with text."""
    return f'<table:table-cell office:value-type="string">{markup}</table:table-cell>'
