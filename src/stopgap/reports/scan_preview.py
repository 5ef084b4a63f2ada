"""A scan as a page to look through: each box beside the colour read, doubtful ones first."""

from base64 import b64encode
from io import BytesIO
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from stopgap.colorimetry import lab_text
from stopgap.reports.answers.scan import (
    box_words,
    doubtful_first,
    in_doubt,
    state_words,
    summary_words,
    used_boxes,
)
from stopgap.reports.render.filling import page, source
from stopgap.reports.render.paint import Paint, paint_rules, paints
from stopgap.reports.render.rooms import ScanCards
from stopgap.scanning import Scan, ScannedBox
from stopgap.swatches import Lab


class _Field(NamedTuple):
    paint: Paint | None
    words: str


class _Card(NamedTuple):
    picture: str
    fields: tuple[_Field, ...]
    name: str
    state: str
    place: str


class _Part(NamedTuple):
    words: str
    cards: tuple[_Card, ...]


def scan_cards(found: Scan) -> ScanCards:
    """Each box that was used, doubtful ones first."""
    labs = [
        field.lab for box in found.boxes for field in box.reading.fields if field.lab is not None
    ]
    used = paints(labs, prefix="read")
    boxes = doubtful_first(used_boxes(found))
    doubted = tuple(_card(box, used) for box in boxes if in_doubt(box))
    sure = tuple(_card(box, used) for box in boxes if not in_doubt(box))
    parts = (_Part("To look at", doubted), _Part("Read", sure))
    return ScanCards(parts, paint_rules(used))


def render_preview(found: Scan) -> str:
    """One page that loads nothing; pictures of the boxes are in it."""
    cards = scan_cards(found)
    return page(
        "scan.html",
        styles="\n".join([source("ground.css"), source("scan.css"), cards.rules]),
        pictures=True,
        title=f"Scan of chart {found.edition.number}",
        summary=summary_words(found),
        parts=cards.parts,
    )


def _card(box: ScannedBox, used: "dict[Lab, Paint]") -> _Card:
    fields = tuple(
        _Field(
            None if field.lab is None else used[field.lab],
            ""
            if field.lab is None
            else lab_text(field.lab)
            + f" ± {field.sigma:.1f}, shared {field.shared_sigma:.1f}"
            + (f", {field.pressures[0]}" if len(box.reading.fields) > 1 else ""),
        )
        for field in box.reading.fields
    )
    crop = box.reading.crop
    return _Card(
        "" if crop is None else _embedded(crop),
        fields,
        box_words(box),
        state_words(box),
        f"page {box.reading.page}, row {box.row}, box {box.column}",
    )


def _embedded(pixels: npt.NDArray[np.uint8]) -> str:
    from markupsafe import Markup
    from PIL import Image

    stream = BytesIO()
    Image.fromarray(pixels).save(stream, "PNG")
    coded = b64encode(stream.getvalue()).decode("ascii")
    return Markup("data:image/png;base64,") + coded
