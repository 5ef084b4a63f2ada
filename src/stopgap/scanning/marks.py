"""The marks in the corners of a page: written, found in a picture in any turn, and what they place.

Each mark gives four points, so that a page is found by any two. Four or three marks give a
perspective (R. Hartley and A. Zisserman (2004), "Multiple View Geometry in Computer Vision", 2nd
ed., algorithm 4.2: normalised direct linear transformation); two a similarity, which is enough for
a page on a flatbed's glass.
"""

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np

from stopgap.arrays import Booleans, Floats
from stopgap.errors import InputError
from stopgap.scanning.profile import Bytes
from stopgap.swatches import Mark, mark_places

COARSEST = 3.5
"""Least pixels a millimetre, 90 dots an inch: below, a box is too few pixels."""
_FEWEST_PIXELS = 800  # of a side: a smaller page has less than 70 dots an inch
_LONG_SIDE = 2600  # pixels: larger pictures are searched in a smaller copy first
_MOST_OFF = 0.5  # mm, root mean square: a page that bends more is not flat
_BLURRED = (
    0.12  # of the range of greys within one pixel: the steepest edge of a sharp picture has more
)


class FoundMark(NamedTuple):
    """A mark and its corners (4, 2) in the picture [px], in the order of `Rectangle.corners`."""

    mark: Mark
    corners: Floats


class Pose(NamedTuple):
    """Where a page lies in a picture: `homography` takes millimetres of it to pixels (x, y)."""

    edition: str
    page: int
    homography: Floats
    marks: int
    density: float

    def pixels(self, places: Floats) -> Floats:
        """Pixels (..., 2) of places (..., 2) [mm]."""
        return project(self.homography, places)

    def slant(self, size: tuple[float, float]) -> float:
        """How much longer a millimetre is at one corner of the page than at another, as a share."""
        corners = np.array([(x, y) for x in (0.0, size[0]) for y in (0.0, size[1])])
        depth = corners @ self.homography[2, :2] + self.homography[2, 2]
        return float(depth.max() / depth.min() - 1.0)


def project(homography: Floats, points: Floats) -> Floats:
    """Points (..., 2) through a homography (3, 3)."""
    turned = points @ homography[:, :2].T + homography[:, 2]
    return np.asarray(turned[..., :2] / turned[..., 2:])


def inverse(homography: Floats) -> Floats:
    """From pixels back to millimetres."""
    return np.asarray(np.linalg.inv(homography), dtype=np.float64)


def dark_modules(mark: Mark) -> Booleans:
    """Which modules (12, 12) of a mark are dark, the first row on top."""
    import zxingcpp

    symbol = zxingcpp.create_barcode(mark.digits, zxingcpp.BarcodeFormat.DataMatrix)
    dark: Booleans = np.asarray(symbol.to_image(scale=1, add_quiet_zones=False)) < 128
    return dark


def find_marks(values: Bytes) -> tuple[FoundMark, ...]:
    """The marks of charts in coded values (height, width, 3); other symbols are passed over.

    Raises
    ------
    InputError
        If there is none, with the likeliest reason.
    """
    from PIL import Image

    grey = Image.fromarray(values).convert("L")
    found: tuple[FoundMark, ...] = ()
    strange = 0
    for side in (_LONG_SIDE, max(grey.size)):
        share = min(1.0, side / max(grey.size))
        smaller = grey.resize((round(grey.width * share), round(grey.height * share)))
        marks, others = _symbols(np.asarray(smaller), share)
        strange = max(strange, others)
        if len(marks) > len(found):
            found = marks
        if len(found) >= 4 or share == 1.0:
            break
    if not found:
        raise InputError(_why_none(np.asarray(grey), strange))
    return found


def _symbols(grey: Bytes, share: float) -> tuple[tuple[FoundMark, ...], int]:
    import zxingcpp

    marks: dict[tuple[Mark, int, int], FoundMark] = {}
    others = 0
    wanted = zxingcpp.BarcodeFormats(zxingcpp.BarcodeFormat.DataMatrix)
    for symbol in zxingcpp.read_barcodes(grey, formats=wanted):
        mark = Mark.of(symbol.text)
        if mark is None:
            others += 1
            continue
        at = symbol.position
        corners = np.array(
            [
                (point.x, point.y)
                for point in (at.top_left, at.top_right, at.bottom_right, at.bottom_left)
            ],
            dtype=np.float64,
        )
        centre = corners.mean(axis=0)
        outward = 0.5 * np.sign(corners - centre)  # a corner is the middle of its outermost pixel
        key = (mark, round(centre[0] / 20.0), round(centre[1] / 20.0))
        marks[key] = FoundMark(mark, (corners + outward + 0.5) / share - 0.5)
    return tuple(marks.values()), others


def _why_none(grey: Bytes, strange: int) -> str:
    if strange:
        return "its symbols are none of a chart of stopgap."
    if max(grey.shape) < _FEWEST_PIXELS:
        return "it has too few pixels for the marks in its corners; use 150 dots an inch or more."
    low, high = float(grey.min()), float(np.percentile(grey, 99))
    if high < 80:
        return "it is too dark for the marks in the corners; take it again in more light."
    if high - low < 40:
        return "nothing can be made out: it is all of one brightness."
    steepest = np.abs(np.diff(grey.astype(np.int16), axis=1)).max(initial=0) / (high - low)
    if steepest < _BLURRED:
        return "it is blurred, so that no mark in a corner can be read; hold still and near enough."
    return "no mark of a chart is seen; the corners of the page must be in the picture, and sharp."


def page_pose(marks: Sequence[FoundMark], size: tuple[float, float]) -> Pose:
    """Where the page of these marks lies; its size [mm].

    Raises
    ------
    InputError
        For marks of two pages, one mark alone, a page that is not flat or too coarse a picture.
    """
    pages = sorted({(found.mark.edition, found.mark.page) for found in marks})
    if len(pages) > 1:
        listed = " and ".join(f"{page} of chart {edition}" for edition, page in pages[:2])
        raise InputError(f"it shows pages {listed}; one page a picture.")
    corners = [found.mark.corner for found in marks]
    if len(set(corners)) < len(corners):
        raise InputError("the same corner is seen twice; one page a picture.")
    if len(marks) < 2:
        raise InputError(
            "only one of the four marks can be read; the whole page must be in the picture."
        )
    places = mark_places(size)
    page = np.array([places[found.mark.corner].corners for found in marks]).reshape(-1, 2)
    seen = np.concatenate([found.corners for found in marks])
    homography = _perspective(page, seen) if len(marks) > 2 else _similarity(page, seen)
    off = project(inverse(homography), seen) - page
    root = float(np.sqrt((off**2).sum(axis=1).mean()))
    if root > _MOST_OFF:
        raise InputError(
            "its two marks do not lie as on a flat page seen straight on; take all four corners "
            "into the picture."
            if len(marks) == 2
            else f"its marks lie {root:.1f} mm off a flat page; lay it flat, uncreased."
        )
    middle = np.array(size) / 2.0
    near = project(homography, middle + np.array([[0.0, 0.0], [1.0, 0.0], [0.0, 1.0]]))
    density = float(np.sqrt(abs(np.linalg.det(near[1:] - near[0]))))
    if density < COARSEST:
        raise InputError(
            f"has {density * 25.4:.0f} dots an inch, too few to read a box; use 150 or more."
        )
    return Pose(*pages[0], homography, len(marks), density)


def _perspective(page: Floats, seen: Floats) -> Floats:
    """Homography of points (n, 2) onto (n, 2), n > 3, least squares of the algebraic distance."""

    def normalising(points: Floats) -> Floats:
        centre = points.mean(axis=0)
        scale = np.sqrt(2.0) / np.sqrt(((points - centre) ** 2).sum(axis=1)).mean()
        return np.array([[scale, 0, -scale * centre[0]], [0, scale, -scale * centre[1]], [0, 0, 1]])

    of_page, of_seen = normalising(page), normalising(seen)
    rows = []
    for (x, y), (u, v) in zip(project(of_page, page), project(of_seen, seen), strict=True):
        rows.append([x, y, 1.0, 0.0, 0.0, 0.0, -u * x, -u * y, -u])
        rows.append([0.0, 0.0, 0.0, x, y, 1.0, -v * x, -v * y, -v])
    normalised = np.linalg.svd(np.array(rows))[2][-1].reshape(3, 3)
    homography = np.linalg.inv(of_seen) @ normalised @ of_page
    return np.asarray(homography / homography[2, 2])


def _similarity(page: Floats, seen: Floats) -> Floats:
    """Turn, scale and shift of points (n, 2) onto (n, 2) by least squares."""
    source = (page - page.mean(axis=0)) @ [1.0, 1.0j]
    target = (seen - seen.mean(axis=0)) @ [1.0, 1.0j]
    turn = np.vdot(source, target) / np.vdot(source, source)
    linear = np.array([[turn.real, -turn.imag], [turn.imag, turn.real]])
    shift = seen.mean(axis=0) - linear @ page.mean(axis=0)
    return np.vstack([np.column_stack([linear, shift]), [0.0, 0.0, 1.0]])
