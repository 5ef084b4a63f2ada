"""The main colours of a picture: its histogram, k-means over it, and the accents that it loses.

Squared distances in Lab would spend the colours on differences of chroma that nobody sees, so
lightness and chroma are first stretched as CIEDE2000 weighs them: by the integrals of 1 / S_C and
of 1 / S_L, this with the distance from L* = 50 for its root.

References
----------
Weights: ISO/CIE 11664-6:2022, S_L = 1 + 0.015 (L' - 50)^2 / sqrt(20 + (L' - 50)^2) and
S_C = 1 + 0.045 C'.
S. P. Lloyd (1982), "Least squares quantization in PCM", IEEE Transactions on Information Theory
28(2), 129-137; the start by D. Arthur and S. Vassilvitskii (2007), "k-means++", SODA. Both are
scikit-learn's, with a fixed seed. From the mean to the point with the least sum of distances:
E. Weiszfeld (1937), Tohoku Mathematical Journal 43, 355-386.
"""

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from stopgap.arrays import Floats, Integers
from stopgap.colorimetry import RGB_TO_D50_XYZ, srgb_to_lab, xyz_to_lab
from stopgap.defaults import MAIN_COLOURS
from stopgap.difference import GRADES, delta_E_ciede2000
from stopgap.errors import InputError
from stopgap.neighbours import in_cells
from stopgap.scanning.picture import open_images
from stopgap.scanning.profile import Bytes, decoder
from stopgap.swatches import Lab, Swatch

if TYPE_CHECKING:
    from PIL import Image

LOST_BEYOND = 10.0
"""ΔE00 to every colour of a list from which an accent counts as lost: this project's choice."""

LOST_SHARE = 5e-4
"""Share of the area from which it counts: a spot of 2 by 2 per cent; this project's choice."""

MOST_COLOURS = 256

BITS = 5
"""Bits kept of each channel; what falls together is told by its mean."""

_AT_ONCE = 2**20  # pixels that lie in a processor's cache together
_THUMBNAIL = 1200  # pixels of the longer side

_STARTS, _FEW, _STEPS, _SEED = 9, 16, 5, 12
_MOST_WEIGHED = 1_000_000  # coordinates: up to some 60 colours ΔE00 itself is quick enough
_MOST_LOST = 5


class Histogram(NamedTuple):
    """Lab (n, 3) of the colours that occur, and the share of the area (n,) that each takes.

    `thumbnail` (height, width, 3) is the picture itself as sRGB from 0 to 255, made small.
    """

    lab: Floats
    share: Floats
    thumbnail: Bytes

    @property
    def coarse(self) -> tuple[Floats, Floats]:
        """Lab (k, 3) and share (k,) of fewer colours, what lies in one cell of Lab as one."""
        return in_cells(self.lab, self.share)


def read_histogram(path: Path) -> Histogram:
    """The colours of a picture by its embedded profile, as sRGB where it has none.

    Pixels that are more transparent than not are no part of the picture.

    Raises
    ------
    InputError
        If the file is no such picture, is cut short, too large, in inks, or all transparent.
    """
    opened = next(open_images(path, str(path)))
    try:
        decode = decoder(opened.profile)
    except InputError as error:
        raise InputError(f"{path}: {error.sentence}") from error
    colours, shares = _counted(opened.image, path)
    coded = np.rint(255.0 * colours).astype(np.uint8)
    lab = (
        xyz_to_lab(100.0 * decode(coded) @ RGB_TO_D50_XYZ.T)
        if opened.profile
        else srgb_to_lab(colours)
    )
    return Histogram(lab, shares, _thumbnail(opened.image))


class MainColour(NamedTuple):
    """A colour of a picture, the share of the area that it stands for, and how far that lies off.

    `delta_E` is the mean ΔE00 of that area; of a lost accent, that to the nearest colour listed.
    `swatch` is the pencil of that colour where pencils were chosen.
    """

    lab: Lab
    share: float
    delta_E: float
    swatch: Swatch | None = None


class MainColours(NamedTuple):
    """Colours of a picture, largest area first, accents that they lose, and the mean ΔE00.

    `asked` is how many were asked for; fewer where the picture has no more.
    """

    colours: tuple[MainColour, ...]
    lost: tuple[MainColour, ...]
    mean_delta_E: float
    asked: int


def find_main_colours(histogram: Histogram, count: int = MAIN_COLOURS) -> MainColours:
    """At most `count` colours that stand for a picture with the least squared error in Lab.

    Those that would be very close to each other become one, so a picture of few colours gets few.

    Raises
    ------
    InputError
        If `count` is not from 1 to 256.
    """
    if not 1 <= count <= MOST_COLOURS:
        raise InputError(f"count: expected 1 to {MOST_COLOURS} colours, found {count}.")
    centres = _merged(*_clustered(histogram, min(count, len(histogram.lab))))
    return main_colours_of(histogram, centres, count)


def colours_of_pencils(histogram: Histogram, swatches: Sequence[Swatch], asked: int) -> MainColours:
    """How pencils stand for a picture, `asked` being how many were to be chosen."""
    lab = np.array([swatch.lab for swatch in swatches])
    return main_colours_of(histogram, lab, asked, tuple(swatches))


def main_colours_of(
    histogram: Histogram, lab: Floats, asked: int, swatches: tuple[Swatch, ...] = ()
) -> MainColours:
    """How the colours `lab` (k, 3) stand for a picture, each part by the nearest of them."""
    nearest, off = _off(histogram, lab)
    shares = np.bincount(nearest, weights=histogram.share, minlength=len(lab))
    sums = np.bincount(nearest, weights=histogram.share * off, minlength=len(lab))
    colours = [
        MainColour(
            _triple(lab[place]),
            float(shares[place]),
            float(sums[place] / shares[place]),
            swatches[place] if swatches else None,
        )
        for place in np.argsort(-shares, kind="stable")
        if shares[place] > 0.0
    ]
    lost = _lost(histogram, off)
    return MainColours(tuple(colours), lost, float(histogram.share @ off), asked)


def _clustered(histogram: Histogram, count: int) -> tuple[Floats, Floats]:
    """Centres (k, 3) in Lab and their shares (k,): the best of several starts, moved nearer."""
    starts = _STARTS if count <= _FEW else _STARTS // 3
    found = [_from_start(histogram, count, _SEED + start) for start in range(starts)]
    lab = found[int(np.argmin([_off(histogram, one)[1] @ histogram.share for one in found]))]
    near, off = _off(histogram, lab)
    for _ in range(_STEPS if lab.size * len(histogram.lab) <= _MOST_WEIGHED else 0):
        lab, _ = _means(histogram.lab, histogram.share / np.maximum(off, 1.0), near, lab)
        near, off = _off(histogram, lab)
    shares = np.bincount(near, weights=histogram.share, minlength=len(lab)).astype(np.float64)
    return lab[shares > 0.0], shares[shares > 0.0]


def _from_start(histogram: Histogram, count: int, seed: int) -> Floats:
    """Centres (k, 3) in Lab from one start."""
    from sklearn.cluster import KMeans

    even = _stretched(histogram.lab)
    fitted = KMeans(count, n_init=1, random_state=seed).fit(even, sample_weight=histogram.share)
    centres = np.asarray(fitted.cluster_centers_, dtype=np.float64)
    for _ in range(_STEPS):
        near, off = _nearest(_distances(even, centres))
        centres, _ = _means(even, histogram.share / np.maximum(off, 1.0), near, centres)
    near, _ = _nearest(_distances(even, centres))
    lab, shares = _means(histogram.lab, histogram.share, near, np.zeros_like(centres))
    return lab[shares > 0.0]


def _off(histogram: Histogram, lab: Floats) -> tuple[Integers, Floats]:
    """Which of the colours (k, 3) is nearest to each of the histogram's, and its ΔE00."""
    return _nearest(delta_E_ciede2000(histogram.lab[:, np.newaxis], lab))


def _nearest(distances: Floats) -> tuple[Integers, Floats]:
    """Which column (n,) of distances (n, k) is least in each row, and how small it is."""
    near = distances.argmin(axis=1)
    return near, distances[np.arange(len(near)), near]


def _stretched(lab: Floats) -> Floats:
    """Coordinates (n, 3) whose distances are nearer to ΔE00 than those of Lab."""
    from_middle, chroma = lab[:, 0] - 50.0, np.hypot(lab[:, 1], lab[:, 2])
    lightness = np.sign(from_middle) * np.log1p(0.015 * np.abs(from_middle)) / 0.015
    shrunk = np.log1p(0.045 * chroma) / (0.045 * np.maximum(chroma, 1e-9))
    return np.column_stack([lightness, lab[:, 1] * shrunk, lab[:, 2] * shrunk])


def _distances(points: Floats, centres: Floats) -> Floats:
    squared = np.zeros((len(points), len(centres)))
    for axis in range(3):
        squared += (points[:, axis, np.newaxis] - centres[:, axis]) ** 2
    return np.sqrt(squared)


def _means(
    points: Floats, weights: Floats, groups: Integers, without: Floats
) -> tuple[Floats, Floats]:
    """Weighted mean (k, 3) of each group, that of `without` where it is empty, and its weight."""
    total = np.bincount(groups, weights=weights, minlength=len(without)).astype(np.float64)
    sums = [
        np.bincount(groups, weights=weights * axis, minlength=len(without)) for axis in points.T
    ]
    there = total[:, np.newaxis] > 0.0
    return np.divide(np.array(sums).T, total[:, np.newaxis], out=without.copy(), where=there), total


def _merged(centres: Floats, shares: Floats) -> Floats:
    """The centres, the nearest two joined as long as they are very close."""
    while len(centres) > 1:
        apart = delta_E_ciede2000(centres[:, np.newaxis], centres)
        apart[np.diag_indices(len(centres))] = np.inf
        one, other = np.unravel_index(apart.argmin(), apart.shape)
        if apart[one, other] > GRADES["very close"]:
            break
        both = shares[[one, other]]
        centres[one] = both @ centres[[one, other]] / both.sum()
        shares[one] = both.sum()
        centres, shares = np.delete(centres, other, 0), np.delete(shares, other)
    return centres


def _lost(histogram: Histogram, off: Floats) -> tuple[MainColour, ...]:
    """Accents: colours far from all that are listed, those near to each other taken together."""
    left: Integers = np.flatnonzero(off > LOST_BEYOND)
    found: list[MainColour] = []
    while len(left) and len(found) < _MOST_LOST:
        first = left[(histogram.share[left] * off[left]).argmax()]
        near = delta_E_ciede2000(histogram.lab[left], histogram.lab[first]) <= LOST_BEYOND
        some, left = left[near], left[~near]
        share = histogram.share[some]
        if share.sum() >= LOST_SHARE:
            mean = share @ histogram.lab[some] / share.sum()
            distance = float(share @ off[some] / share.sum())
            found.append(MainColour(_triple(mean), float(share.sum()), distance))
    return tuple(sorted(found, key=lambda accent: -accent.share))


def _triple(lab: Floats) -> Lab:
    L, a, b = map(float, lab)
    return (L, a, b)


def _counted(picture: "Image.Image", path: Path) -> tuple[Floats, Floats]:
    """Mean colour (n, 3) from 0 to 1 of the cells that occur, and the share of each."""
    seen = picture.has_transparency_data
    pixels = np.asarray(picture.convert("RGBA" if seen else "RGB")).reshape(-1, 3 + seen)
    size = 1 << 3 * BITS
    counts, sums = np.zeros(size), np.zeros((3, size))
    for begin in range(0, len(pixels), _AT_ONCE):
        block = pixels[begin : begin + _AT_ONCE]
        if seen:
            block = block[block[:, 3] > 127]
        channels = [block[:, place].astype(np.intp) for place in range(3)]
        cells = np.zeros(len(block), dtype=np.intp)
        for channel in channels:
            cells = cells << BITS | channel >> 8 - BITS
        counts += np.bincount(cells, minlength=size)
        for total, channel in zip(sums, channels, strict=True):
            total += np.bincount(cells, weights=channel, minlength=size)
    there = np.flatnonzero(counts)
    if not len(there):
        raise InputError(f"{path}: the picture is transparent all over; it has no colour.")
    counts = counts[there]
    return (sums[:, there] / counts).T / 255.0, counts / counts.sum()


def _thumbnail(picture: "Image.Image") -> Bytes:
    small = picture.convert("RGB")
    small.thumbnail((_THUMBNAIL, _THUMBNAIL))
    return np.asarray(small)
