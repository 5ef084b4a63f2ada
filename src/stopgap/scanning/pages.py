"""Pictures of pages: found, lit, every field of them looked at; those of one page joined."""

from collections.abc import Iterable, Mapping, Sequence
from pathlib import Path
from typing import BinaryIO, NamedTuple

import numpy as np

from stopgap.arrays import Floats
from stopgap.difference import delta_E
from stopgap.errors import InputError
from stopgap.scanning.boxes import NOT_SEEN, BoxState, Shown, pixels_of, show_field
from stopgap.scanning.colour import balanced_lab
from stopgap.scanning.light import Blank, Light, blank_of, fit_light
from stopgap.scanning.marks import Pose, find_marks, page_pose
from stopgap.scanning.picture import Picture, open_images, picture_of
from stopgap.scanning.profile import Bytes
from stopgap.swatches import Box, ChartPage, Edition, Rectangle

_DARK = 0.09  # of full light: 8 bits then hold a third of their steps
_FULL_SHARE = 0.25
_UNEVEN = 2.0
_SLANTING = 0.01
_CROP = 3.0  # pixels a millimetre
_NEAR = 30.0  # mm
_DISAGREE = 4.0
"""Median ΔE00 between two pictures of a page above which they show different sheets or light."""


class PageReading(NamedTuple):
    """A picture and the page it shows; `refused` is the reason where it cannot be read."""

    name: str
    edition: str = ""
    page: int = 0
    marks: int = 0
    dots_per_inch: int = 0
    profile: str = ""
    flags: tuple[str, ...] = ()
    refused: str = ""

    @property
    def profiled(self) -> bool:
        """Whether the picture says what its values mean."""
        return bool(self.profile)


class SeenPage(NamedTuple):
    """What a picture shows of a page: of every box its fields, and a small picture of it.

    `slanting` where it cannot have lain on glass.
    """

    reading: PageReading
    edition: Edition
    page: ChartPage
    fields: tuple[tuple[Shown, ...], ...]
    crops: tuple[Bytes | None, ...]
    slanting: bool


def see_page(picture: Picture, editions: Mapping[str, Edition]) -> SeenPage:
    """The page that a picture shows.

    Raises
    ------
    InputError
        With the reason, if it cannot be read.
    """
    marks = find_marks(picture.values)
    number = marks[0].mark.edition
    edition = editions.get(number)
    if edition is None:
        raise InputError(f"it is a page of chart {number}, which is none of this library's.")
    pose = page_pose(marks, edition.size)
    page = edition.page(pose.page)
    if page is None:
        raise InputError(f"chart {number} has no page {pose.page}.")
    blanks = _blanks(picture, pose, page)
    light = fit_light(blanks, edition.size)
    fields = tuple(_fields(picture, pose, light, blanks, box) for box in page.boxes)
    shown = [shown for of_box in fields for shown in of_box]
    if all(one.state is BoxState.OUTSIDE for one in shown):
        raise InputError("none of its boxes is wholly in the picture.")
    if all(one.state in (BoxState.EMPTY, BoxState.OUTSIDE) for one in shown):
        raise InputError("no box of it is coloured in.")
    reading = PageReading(
        picture.name,
        number,
        pose.page,
        pose.marks,
        round(25.4 * pose.density),
        picture.profile,
        _flags(blanks, light, shown),
    )
    crops = tuple(_crop(picture, pose, box.outline) for box in page.boxes)
    return SeenPage(reading, edition, page, fields, crops, pose.slant(edition.size) > _SLANTING)


def _blanks(picture: Picture, pose: Pose, page: ChartPage) -> list[Blank]:
    found = []
    for place in page.blanks:
        taken = pixels_of(picture, pose, place)
        if taken is not None and len(taken[0]) >= 12:
            coded, at = taken
            middle = (float(at[:, 0].mean()), float(at[:, 1].mean()))
            found.append(blank_of(picture.decode(coded), coded, middle))
    return found


def _fields(
    picture: Picture, pose: Pose, light: Light, blanks: list[Blank], box: Box
) -> tuple[Shown, ...]:
    outline = box.outline
    x, y = outline.x + outline.width / 2.0, outline.y + outline.height / 2.0
    near = [blank.full for blank in blanks if np.hypot(blank.x - x, blank.y - y) < _NEAR]
    full = bool(near) and sum(near) / len(near) > _FULL_SHARE
    seen = []
    for field in box.fields:
        try:
            shown = show_field(picture, pose, light, field.place, paper_full=full)
        except IndexError:  # no pixel within
            shown = NOT_SEEN
        seen.append(shown)
    return tuple(seen)


def _flags(blanks: list[Blank], light: Light, shown: list[Shown]) -> tuple[str, ...]:
    levels: Floats = np.array([blank.linear for blank in blanks])
    brightness = levels.mean(axis=1)[light.kept > 0.0]
    outside = sum(one.state is BoxState.OUTSIDE for one in shown)
    clipped = sum(one.state is BoxState.CLIPPED for one in shown)
    flags = []
    if np.mean([blank.full for blank in blanks]) > _FULL_SHARE:
        flags.append("over-exposed: the paper is as bright as the picture can say")
    if float(np.median(brightness)) < _DARK:
        flags.append("dark: little is left to tell dark colours by")
    if brightness.size and brightness.max() > _UNEVEN * brightness.min():
        flags.append("unevenly lit")
    if outside:
        flags.append(f"cut: {outside} fields are out of the picture")
    if clipped:
        flags.append(f"clipped: {clipped} fields are brighter or darker than the picture can say")
    return tuple(flags)


def _crop(picture: Picture, pose: Pose, place: Rectangle) -> Bytes | None:
    """A small upright picture of a place, None where it is not wholly in the picture."""
    columns, rows = (max(1, round(_CROP * length)) for length in (place.width, place.height))
    x = place.x + (np.arange(columns) + 0.5) / _CROP
    y = place.y + (np.arange(rows) + 0.5) / _CROP
    at = np.rint(pose.pixels(np.stack(np.meshgrid(x, y), axis=-1))).astype(int)
    height, width = picture.values.shape[:2]
    if at.min() < 0 or at[..., 0].max() >= width or at[..., 1].max() >= height:
        return None
    return np.asarray(picture.values[at[..., 1], at[..., 0]])


class MergedBox(NamedTuple):
    """A box with what all its pictures say: shown fields, balanced Lab and masstone a field."""

    page: int
    box: Box
    shown: tuple[Shown, ...]
    lab: Floats
    masstone: Floats
    pictures: int
    crop: Bytes | None


def see_pages(
    files: Iterable[Path | BinaryIO], editions: Mapping[str, Edition]
) -> tuple[list[PageReading], list[SeenPage], bool]:
    """Every picture's reading, the pages that could be read, and whether a camera took any."""
    readings, seen, of_camera = [], [], False
    for number, file in enumerate(files, 1):
        name = Path(str(getattr(file, "name", f"picture {number}"))).name
        pictures = open_images(file, name)
        while True:
            called = name
            try:
                opened = next(pictures, None)
                if opened is None:
                    break
                called = opened.called(name)
                of_camera = of_camera or opened.of_camera
                page = see_page(picture_of(opened, name), editions)
            except InputError as error:
                reason = error.sentence.removeprefix(f"{called}: ").removeprefix(f"{name}: ")
                readings.append(PageReading(called, refused=reason))
                continue
            of_camera = of_camera or page.slanting
            seen.append(page)
            readings.append(page.reading)
    return readings, seen, of_camera


def agreeing(
    readings: list[PageReading], seen: list[SeenPage], paper: Floats
) -> tuple[list[PageReading], list[SeenPage]]:
    """Pictures of one page that tell different colours are refused, each for the other."""
    refused: dict[int, str] = {}
    for at, one in enumerate(seen):
        for other in seen[:at]:
            if one.reading[1:3] == other.reading[1:3] and _apart(one, other, paper):
                for this, that in ((one, other), (other, one)):
                    refused[id(this.reading)] = (
                        f"it shows page {this.page.number} in other colours than "
                        f"{that.reading.name}; is it the same sheet, in the same light?"
                    )
    kept = [one for one in seen if id(one.reading) not in refused]
    marked = [one._replace(refused=refused.get(id(one), one.refused)) for one in readings]
    return marked, kept


def _apart(one: SeenPage, other: SeenPage, paper: Floats) -> bool:
    """Whether two pictures of a page show other boxes coloured in, or other colours."""
    pairs = [
        pair
        for of_one, of_other in zip(one.fields, other.fields, strict=True)
        for pair in zip(of_one, of_other, strict=True)
        if all(shown.state is not BoxState.OUTSIDE for shown in pair)
    ]
    filled = [sum(shown.state is not BoxState.EMPTY for shown in pair) for pair in pairs]
    if filled.count(1) > max(1.0, 0.2 * len(pairs)):
        return True
    both = [pair for pair in pairs if all(shown.state.readable for shown in pair)]
    if not both:
        return False
    first, second = (
        balanced_lab(np.array([pair[side].ratio for pair in both]), paper) for side in (0, 1)
    )
    return float(np.median(delta_E(first, second))) > _DISAGREE


def merged_boxes(seen: Sequence[SeenPage], paper: Floats) -> list[MergedBox]:
    """Every box once, whatever number of pictures shows it."""
    by_page: dict[tuple[str, int], list[SeenPage]] = {}
    for one in seen:
        by_page.setdefault((one.edition.number, one.page.number), []).append(one)
    merged = []
    for (_, number), pictures in by_page.items():
        for at, box in enumerate(pictures[0].page.boxes):
            views = list(zip(*(one.fields[at] for one in pictures), strict=True))
            best = tuple(_best(of_field) for of_field in views)
            ratios = np.array([_mean(of_field, "ratio") for of_field in views])
            darkest = np.array([_mean(of_field, "darkest") for of_field in views])
            count = max(sum(shown.state.readable for shown in of_field) for of_field in views)
            crop = next((one.crops[at] for one in pictures if one.crops[at] is not None), None)
            merged.append(
                MergedBox(
                    number,
                    box,
                    best,
                    balanced_lab(ratios, paper),
                    balanced_lab(darkest, paper),
                    max(1, count),
                    crop,
                )
            )
    return merged


_ORDER = (BoxState.READ, BoxState.PARTLY, BoxState.CLIPPED, BoxState.EMPTY, BoxState.OUTSIDE)


def _best(views: Sequence[Shown]) -> Shown:
    return min(views, key=lambda shown: _ORDER.index(shown.state))


def _mean(views: Sequence[Shown], name: str) -> Floats:
    """The mean (3,) over the pictures that show the field best; 1 where none does."""
    state = _best(views).state
    if state is BoxState.OUTSIDE:
        return np.ones(3)
    chosen = [getattr(shown, name) for shown in views if shown.state is state]
    return np.asarray(np.mean(chosen, axis=0))
