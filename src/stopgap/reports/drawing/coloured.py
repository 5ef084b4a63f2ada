"""A page of a chart as if it had been coloured in, to try how pages are read back.

Colours are flat and by sRGB, and nothing is lit: a scan of paper is harder to read.
"""

from collections.abc import Container, Mapping
from io import BytesIO

from PIL import Image, ImageDraw

from stopgap.blends import Filed
from stopgap.colorimetry import lab_to_hex
from stopgap.reports.drawing.charts import edition_chart
from stopgap.swatches import ChartPage, Edition

_DOTS = 144.0 / 25.4  # a millimetre
_DIMMED = 15 / 16  # else the white is over-exposed


def coloured_page(
    edition: Edition,
    page: ChartPage,
    filed: Mapping[str, Filed],
    *,
    title: str,
    leave: Container[str] = (),
) -> bytes:
    """A PNG of a page, every box filled with its pencil's colour but those of the codes in `leave`.

    `filed` has the pencils by address, as for `edition_chart`.
    """
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
