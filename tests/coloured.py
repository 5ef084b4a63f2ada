"""A page of a chart as if it had been coloured in, for tests of everything but the reading itself.

Colours are flat and by sRGB, and nothing is lit: what scans really do is simulated in
`tests/scanning/simulate`.
"""

from dataclasses import replace
from io import BytesIO

from PIL import Image, ImageDraw

from stopgap.blends import file_swatches
from stopgap.colorimetry import lab_to_hex
from stopgap.library import keep_edition, open_library
from stopgap.reports.drawing.charts import edition_chart
from stopgap.scanning import SHEETS, code_sections, new_edition

NUMBER = "271828"
DOTS = 144.0 / 25.4  # a millimetre


def coloured_page(path, leave=(), **more):
    """A PNG of page 1 of edition 271828, which the library at `path` then has.

    It holds ten pencils of the range Quillet, all coloured in but those of the codes in `leave`.
    """
    with open_library(path) as library:
        swatches = [each for each in library.swatches() if each.range == "Quillet"][2:12]
        fresh = new_edition(code_sections(swatches), swatches, SHEETS["A4"], **more)
        edition = keep_edition(library, replace(fresh, number=NUMBER))
        by_address = {each.address: each for each in library.swatches()}
    filed = {each.swatch.address: each for each in file_swatches(list(by_address.values()))}
    page = edition.pages[0]
    stream = BytesIO(edition_chart(edition, filed, title="Quillet", pages=[page]).png())
    with Image.open(stream) as opened:
        picture = opened.convert("RGB")
    pen = ImageDraw.Draw(picture)
    for box in page.boxes:
        if box.pencils and by_address[box.pencils[0]].code not in leave:
            ink = lab_to_hex(by_address[box.pencils[0]].lab)
            for field in box.fields:
                corners = (*field.place.corners[0], *field.place.corners[2])
                pen.rectangle([round(each * DOTS) for each in corners], fill=ink)
    saved = BytesIO()
    picture.point(lambda value: value * 15 // 16).save(
        saved, "PNG"
    )  # else the white is over-exposed
    return saved.getvalue()
