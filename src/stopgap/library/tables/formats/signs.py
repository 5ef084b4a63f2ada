"""By which sign a file is known to be of a format; what reads it is loaded only then."""

import re

_ARCHIVE = b"PK\x03\x04"
_COMPOUND = b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1"  # [MS-CFB] 2.2: XLS, and XLSX with a password
_XML = re.compile(rb"(?:\xef\xbb\xbf|\xff\xfe|\xfe\xff)?\s*<[?!\w]")
_MARK = re.compile(rb"^\s*BEGIN_DATA(_FORMAT)?[ \t]*\r?$", re.MULTILINE | re.IGNORECASE)


def is_archive(data: bytes) -> bool:
    """Whether `data` begins as a ZIP archive does."""
    return data.startswith(_ARCHIVE)


def is_xlsx(data: bytes) -> bool:
    """Whether it is an Office Open XML workbook (ISO/IEC 29500)."""
    if not is_archive(data):
        return False
    from stopgap.library.tables.formats.gate import parts_of
    from stopgap.library.tables.formats.xlsx import WORKBOOK

    return WORKBOOK in parts_of(data)


def is_ods(data: bytes) -> bool:
    """Whether it is an OpenDocument spreadsheet (ISO/IEC 26300), or an archive that is neither."""
    return is_archive(data) and not is_xlsx(data)


def is_xls(data: bytes) -> bool:
    """Whether it is a compound file, as XLS is, and XLSX under a password."""
    return data.startswith(_COMPOUND)


def is_xml(data: bytes) -> bool:
    """Whether the data is XML of any kind; CxF is the only one that is read."""
    start = data[:200].replace(b"\0", b"")
    return _XML.match(start) is not None


def is_cgats(data: bytes) -> bool:
    """Whether the text begins a CGATS file or holds a table of one."""
    start = data.lstrip(b"\xef\xbb\xbf \t\r\n")[:6].upper()
    return start.startswith(b"CGATS.") or (
        _MARK.search(data) is not None and not data.startswith(b"PK")
    )
