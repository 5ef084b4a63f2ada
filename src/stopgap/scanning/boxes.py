"""What a field of a box shows: its share of the paper's light, and whether it can be read.

The mean in linear light over the field is what the aperture of an instrument sees; a mean of coded
values is not, and a median passes over the paper that shines through.
"""

from enum import StrEnum
from typing import NamedTuple

import numpy as np

from stopgap.arrays import Floats
from stopgap.scanning.light import Light
from stopgap.scanning.marks import Pose, inverse, project
from stopgap.scanning.picture import Picture
from stopgap.scanning.profile import Bytes
from stopgap.swatches import Rectangle

INSET = 1.5
"""From the edge of a field to what is read of it [mm]: hands stray, lines are printed."""
_CELLS = (8, 4)
_EMPTY = 0.028  # of paper's light in its strongest channel; paper itself varies by a third of that
_FILLED = 0.4  # of what a filled cell takes from the light
_PARTLY = 0.15  # share of cells that are not filled
_FULL, _NONE = 254, 1
_CLIPPED = 0.1


class BoxState(StrEnum):
    """What became of a box."""

    READ = "read"
    EMPTY = "empty or white"
    PARTLY = "partly filled"
    CLIPPED = "clipped"
    OUTSIDE = "out of the picture"

    @property
    def readable(self) -> bool:
        """Whether it has a colour."""
        return self in (BoxState.READ, BoxState.PARTLY)


class Shown(NamedTuple):
    """A field as the picture shows it.

    `ratio` (3,) is its light as a share of bare paper's at the place, `darkest` that of its darkest
    third, `coverage` the share of it that is coloured, `error` the standard error of `ratio`.
    """

    state: BoxState
    ratio: Floats
    darkest: Floats
    coverage: float
    error: float
    edge_of_gamut: bool = False


NOT_SEEN = Shown(BoxState.OUTSIDE, np.full(3, np.nan), np.full(3, np.nan), 0.0, 0.0)


def pixels_of(picture: Picture, pose: Pose, place: Rectangle) -> tuple[Bytes, Floats] | None:
    """Coded values (n, 3) of the native pixels within a place, and where they lie [mm] (n, 2).

    None where the place is not wholly in the picture.
    """
    quad = pose.pixels(np.array(place.corners))
    height, width = picture.values.shape[:2]
    low, high = np.floor(quad.min(axis=0)).astype(int), np.ceil(quad.max(axis=0)).astype(int)
    if (low < 0).any() or high[0] >= width or high[1] >= height:
        return None
    columns, rows = np.meshgrid(np.arange(low[0], high[0] + 1), np.arange(low[1], high[1] + 1))
    pixels = np.column_stack([columns.ravel(), rows.ravel()])
    on_page = project(inverse(pose.homography), pixels.astype(np.float64))
    x, y = on_page[:, 0] - place.x, on_page[:, 1] - place.y
    inside = (x >= 0.0) & (x <= place.width) & (y >= 0.0) & (y <= place.height)
    chosen = pixels[inside]
    return picture.values[chosen[:, 1], chosen[:, 0]], on_page[inside]


def show_field(
    picture: Picture, pose: Pose, light: Light, place: Rectangle, *, paper_full: bool
) -> Shown:
    """How a field of a page looks; `paper_full` where the paper beside it is over-exposed."""
    inner = place.inset(INSET)
    taken = pixels_of(picture, pose, inner)
    if taken is None:
        return NOT_SEEN
    coded, at = taken
    middle = np.array([place.x + place.width / 2.0, place.y + place.height / 2.0])
    ratio = picture.decode(coded) / (light.at(at) * light.local(middle))
    depth = np.abs(1.0 - ratio).max(axis=1)
    mean = ratio.mean(axis=0)
    cells = _by_cell(ratio, at, inner)
    # what is brighter than paper in every channel is not coloured: there the light is misjudged
    if (1.0 - mean).max() < _EMPTY and ((1.0 - cells).max(axis=1) < 2 * _EMPTY).all():
        return Shown(BoxState.EMPTY, mean, mean, 0.0, 0.0)
    deep = np.abs(1.0 - cells).max(axis=1)
    filled = deep > _FILLED * np.median(np.sort(deep)[len(deep) // 2 :])
    partly = 1.0 - filled.mean() > _PARTLY
    coverage = float((depth > _FILLED * float(np.median(depth[depth >= np.median(depth)]))).mean())
    if partly:
        mean = cells[filled].mean(axis=0)
    brightness = ratio.sum(axis=1)
    darkest = ratio[brightness <= np.percentile(brightness, 100.0 / 3.0)].mean(axis=0)
    spread = np.log(np.maximum(cells[filled], 1e-3)).std(axis=0).mean()
    error = float(spread / np.sqrt(max(1, int(filled.sum()))))
    return Shown(
        _state(coded, paper_full, partly),
        mean,
        darkest,
        coverage,
        error,
        bool(((coded <= _NONE).any(axis=1)).mean() > _CLIPPED),
    )


def _state(coded: Bytes, paper_full: bool, partly: bool) -> BoxState:
    bright = np.asarray((coded >= _FULL).any(axis=1))
    black = (coded <= _NONE).sum(axis=1) >= 2
    if paper_full or bright.mean() > _CLIPPED or black.mean() > 0.5:
        return BoxState.CLIPPED
    return BoxState.PARTLY if partly else BoxState.READ


def _by_cell(ratio: Floats, at: Floats, place: Rectangle) -> Floats:
    """Means (cells, 3) over a grid of the place."""
    columns, rows = _CELLS
    x = np.clip(((at[:, 0] - place.x) / place.width * columns).astype(int), 0, columns - 1)
    y = np.clip(((at[:, 1] - place.y) / place.height * rows).astype(int), 0, rows - 1)
    cell = y * columns + x
    count = np.bincount(cell, minlength=columns * rows)
    sums = np.column_stack(
        [np.bincount(cell, ratio[:, channel], columns * rows) for channel in range(3)]
    )
    return np.asarray(sums[count > 0] / count[count > 0, np.newaxis])
