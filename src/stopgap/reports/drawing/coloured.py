"""A page of a chart as if it had been coloured in, to try how pages are read back.

Colours are flat and by sRGB, and nothing is lit: a scan of paper is harder to read.
"""

from collections.abc import Container, Iterable
from dataclasses import replace
from io import BytesIO

from PIL import Image, ImageDraw

from stopgap import defaults
from stopgap.blends import file_swatches
from stopgap.colorimetry import lab_to_hex
from stopgap.library import Library, find_swatch, keep_edition
from stopgap.reports.drawing.charts import edition_chart
from stopgap.scanning import code_sections, new_edition, sheet_size
from stopgap.swatches import Swatch

_DOTS = 144.0 / 25.4  # a millimetre
_DIMMED = 15 / 16  # else the white is over-exposed


def coloured_page(
    library: Library,
    pencils: Iterable[Swatch | str],
    *,
    leave: Container[str] = (),
    number: str = "",
    thirds: bool = False,
) -> bytes:
    """A chart of pencils, kept in a library, and its first page as if it had been coloured in: PNG.

    It is drawn, not scanned, to try what reads pages: colours are flat and by sRGB.

    Parameters
    ----------
    pencils
        Pencils of the library that have a colour, or what they are called.
    leave
        Codes of those whose boxes stay white.
    number
        The number of the edition, drawn by lot where none is given.
    thirds
        Whether boxes of some pencils have three fields, as of `stopgap.scanning.new_edition`.

    Raises
    ------
    InputError, UnknownSwatchError
        Where a name is not one pencil's.

    Examples
    --------
    >>> import stopgap
    >>> with stopgap.demo_library() as library:
    ...     page = stopgap.coloured_page(library, ["Quillet:Q3", "Quillet:Q4"])
    >>> page[1:4]
    b'PNG'
    """
    known = library.swatches()
    some = [find_swatch(one, known) if isinstance(one, str) else one for one in pencils]
    sheet = sheet_size(defaults.CHART_PAPER)
    fresh = new_edition(code_sections(some), some, sheet, thirds=thirds)
    edition = keep_edition(library, replace(fresh, number=number))
    page = edition.pages[0]
    filed = {each.swatch.address: each for each in file_swatches(known)}
    title = ", ".join(dict.fromkeys(swatch.range for swatch in some))
    stream = BytesIO(edition_chart(edition, filed, title=title, pages=[page]).png())
    with Image.open(stream) as opened:
        picture = opened.convert("RGB")
    pen = ImageDraw.Draw(picture)
    for box in page.boxes:
        if box.pencils and filed[box.pencils[0]].swatch.code not in leave:
            ink = lab_to_hex(filed[box.pencils[0]].swatch.lab)
            for field in box.fields:
                corners = (*field.place.corners[0], *field.place.corners[2])
                pen.rectangle([round(each * _DOTS) for each in corners], fill=ink)
    saved = BytesIO()
    picture.point(lambda value: int(value * _DIMMED)).save(saved, "PNG")
    return saved.getvalue()
