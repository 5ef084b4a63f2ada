"""The chart as it is drawn for the printer, coloured in by a simulated hand, and read back."""

import io

import numpy as np
import pytest
from PIL import Image
from simulate import pages, trials

from stopgap.reports.drawing.charts import edition_chart
from stopgap.scanning import BoxState

pytestmark = pytest.mark.slow


@pytest.mark.parametrize(("row", "arranged"), [("flatbed, sRGB", True), ("phone, daylight", False)])
def test_the_printed_page_is_read_back(row, arranged):
    rng = np.random.default_rng([41, trials.ROWS.index(row)])
    edition = trials.chart(rng, pencils=20, arranged=arranged)
    assert len(edition.pages) == 1
    drawing = edition_chart(edition, {}, title="A chart that hangs on a wall")
    size = tuple(round(length * pages.SCALE) for length in edition.size)
    with Image.open(io.BytesIO(drawing.png())) as opened:
        grey = opened.convert("L").resize(size, Image.Resampling.BOX)
    ink = 1.0 - np.asarray(grey, dtype=np.float32) / 255.0
    device, options = trials.make_device(row, rng)
    painted = pages.paint(edition, 1, device, rng, ink=ink)
    look = pages.on_glass if row.startswith("flatbed") else pages.by_hand
    file, _ = pages.photograph(painted, device, look(edition, rng), rng)
    boxes = edition.pages[0].boxes
    assert sum(box.spare for box in boxes) == 10 * arranged
    truth = {boxes[at].pencils[0]: labs[-1] for at, labs in painted.truth.items()}
    made = trials.Trial(edition, file, truth, device, options)
    reading = trials.read(made)
    (page,) = reading.pages
    assert (page.refused, page.marks) == ("", 4)
    for box in reading.boxes:
        assert box.heaviest.state is (BoxState.EMPTY if box.box.spare else BoxState.READ)
    off = trials.errors(made, reading)["off"]
    assert len(off) == 20
    assert off.mean() <= (1.5 if row.startswith("flatbed") else 3.5)
