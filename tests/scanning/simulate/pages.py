"""Pages coloured in by a simulated hand, and photographs of them."""

import io
from collections.abc import Mapping
from dataclasses import dataclass, field

import numpy as np
import zxingcpp
from PIL import Image, ImageDraw
from scipy.ndimage import gaussian_filter, map_coordinates, zoom

from stopgap.swatches import MARK, Box, Edition, Mark, Rectangle, mark_places

from . import materials
from .devices import Device

SCALE = 6.0
"""Of the canvas [px/mm]."""
STRAY = 1.2
"""How far a hand strays over the line of a box [mm]."""


@dataclass
class Hand:
    """How boxes are filled: `load` of a heavy layer by box, where not 1; `skip` leaves boxes empty,
    `half` fills only their left part.
    """

    load: Mapping[tuple[str, ...], float] = field(default_factory=dict)
    skip: frozenset[tuple[str, ...]] = frozenset()
    half: frozenset[tuple[str, ...]] = frozenset()
    spread: float = 0.12
    swapped: Mapping[tuple[str, ...], tuple[str, ...]] = field(default_factory=dict)


@dataclass
class Painted:
    """A page in a device's raw values (height, width, 3), and the Lab of every field laid."""

    canvas: np.ndarray
    truth: dict[int, list[np.ndarray]]
    size: tuple[float, float]


@dataclass
class Shot:
    """How a page is looked at: corners of the page in the picture [px] and what light does."""

    shape: tuple[int, int]
    corners: np.ndarray
    falloff: float
    vignette: float
    blur: float
    noise: float
    sharpen: float
    quality: int | None
    around: float = 0.25
    shadow: float = 0.0


def printed(edition: Edition, page_number: int) -> np.ndarray:
    """The print of a page as ink (height, width) from 0 to 1 on the canvas' grid."""
    width, height = (round(length * SCALE) for length in edition.size)
    picture = Image.new("L", (width, height), 255)
    pen = ImageDraw.Draw(picture)
    page = edition.page(page_number)
    for box in page.boxes:
        corners = [value * SCALE for value in (*box.outline.corners[0], *box.outline.corners[2])]
        pen.rectangle(corners, outline=140, width=1)
        at = (box.outline.x * SCALE, (box.outline.y + box.outline.height + 1.5) * SCALE)
        pen.text(at, " ".join(box.pencils) or "spare", fill=40, font_size=15)
    for heading in page.headings:
        pen.text((12 * SCALE, (heading.y + 1) * SCALE), heading.words, fill=20, font_size=22)
    pen.text((30 * SCALE, 12 * SCALE), "A chart to colour in", fill=20, font_size=30)
    for corner, place in enumerate(mark_places(edition.size)):
        symbol = Mark(edition.number, page_number, corner).digits
        kind = zxingcpp.BarcodeFormat.DataMatrix
        modules = np.array(
            zxingcpp.create_barcode(symbol, kind).to_image(scale=1, add_quiet_zones=False)
        )
        side = round(MARK * SCALE)
        drawn = Image.fromarray(modules).resize((side, side), Image.Resampling.NEAREST)
        picture.paste(drawn, (round(place.x * SCALE), round(place.y * SCALE)))
    return 1.0 - np.asarray(picture, dtype=np.float32) / 255.0


def paint(
    edition: Edition,
    page_number: int,
    device: Device,
    rng: np.random.Generator,
    hand: Hand | None = None,
    ink: np.ndarray | None = None,
) -> Painted:
    """The page coloured in, as `device` sees it under even light."""
    hand = hand or Hand()
    ink = printed(edition, page_number) if ink is None else ink
    paper = device.raw(materials.PAPER)
    canvas = np.empty((*ink.shape, 3), np.float32)
    grain = gaussian_filter(rng.standard_normal(ink.shape, np.float32), 1.2)
    grain *= 0.008 / grain.std()
    canvas[:] = paper
    canvas *= 1.0 + grain[..., None]
    truth = {}
    for at, box in enumerate(edition.page(page_number).boxes):
        pencils = hand.swapped.get(box.pencils, box.pencils)
        if pencils and box.pencils not in hand.skip:
            truth[at] = _colour_in(canvas, box, pencils, device, rng, hand)
    canvas *= (1.0 - 0.96 * ink)[..., None]
    return Painted(canvas, truth, edition.size)


def _colour_in(
    canvas: np.ndarray,
    box: Box,
    pencils: tuple[str, ...],
    device: Device,
    rng: np.random.Generator,
    hand: Hand,
) -> list[np.ndarray]:
    place = box.outline.inset(-STRAY)
    top, left = round(place.y * SCALE), round(place.x * SCALE)
    height, width = round(place.height * SCALE), round(place.width * SCALE)
    y, x = np.mgrid[0:height, 0:width] / SCALE - STRAY
    laid = hand.load.get(box.pencils, float(np.exp(rng.normal(0.0, hand.spread))))
    load = laid * _texture(rng, (height, width))
    edge = _ragged(rng, x, y, box.outline, box.pencils in hand.half)
    load *= edge
    films = _films(box, pencils)
    if len(box.fields) == 1:  # the tail runs out towards light
        field_ends = box.fields[0].place.x + box.fields[0].place.width - box.outline.x
        load *= np.clip(1.0 - 0.7 * (x - field_ends) / 10.0, 0.2, 1.0)
        films = [films[0]]
    truths = []
    for at, spectra in enumerate(films):
        part = _part(box, at, x)
        share = box.fields[at].pressures[-1]
        loads = load * materials.PRESSURES[share]
        seen = np.stack([np.interp(loads, materials.LOADS, c) for c in device.raw(spectra).T], -1)
        area = canvas[top : top + height, left : left + width]
        bare = device.raw(materials.PAPER)
        area[part] *= (seen / bare)[part]
        inner = box.fields[at].place.inset(1.5)
        shown = (np.abs(x - (inner.x + inner.width / 2 - box.outline.x)) < inner.width / 2) & (
            np.abs(y - (inner.y + inner.height / 2 - box.outline.y)) < inner.height / 2
        )
        mean = np.array([np.interp(loads[shown], materials.LOADS, c).mean() for c in spectra.T])
        truths.append(materials.lab_of(mean))
    return truths


def _part(box: Box, at: int, x: np.ndarray) -> np.ndarray:
    if len(box.fields) == 1:
        return np.ones(x.shape, bool)
    place: Rectangle = box.fields[at].place
    start = -np.inf if at == 0 else place.x - box.outline.x
    end = np.inf if at == len(box.fields) - 1 else place.x + place.width - box.outline.x
    return (x >= start) & (x < end)


def _films(box: Box, pencils: tuple[str, ...]) -> list[np.ndarray]:
    if len(pencils) == 1:
        return [materials.by_load(pencils[0])] * len(box.fields)
    found = []
    for laid in box.fields:
        paper = materials.PAPER
        for pencil, pressure in zip(pencils[:-1], laid.pressures, strict=False):
            spectra = materials.film(materials.recipes(special=True)[pencil], paper)
            weight = materials.PRESSURES[pressure]
            paper = np.array([np.interp(weight, materials.LOADS, c) for c in spectra.T])
        top = materials.film(materials.recipes(special=True)[pencils[-1]], paper)
        found.append(top)
    return found


def _texture(rng: np.random.Generator, shape: tuple[int, int]) -> np.ndarray:
    """Load about 1: tooth of the paper, strokes, a slow drift of the hand, flecks."""
    tooth = gaussian_filter(rng.normal(0, 1, shape), 0.16 * SCALE)
    lines = gaussian_filter(rng.normal(0, 1, shape), (0.2 * SCALE, 2.5 * SCALE))
    slow = gaussian_filter(rng.normal(0, 1, shape), 4.0 * SCALE)
    made = 1.0 + 0.22 * tooth / tooth.std() + 0.10 * lines / lines.std()
    made += 0.04 * slow / max(slow.std(), 1e-9)
    flecks = gaussian_filter(rng.normal(0, 1, shape), 0.12 * SCALE)
    made = np.where(flecks > 2.1 * flecks.std(), 0.05, made)
    return np.clip(made, 0.03, 2.2)


def _ragged(
    rng: np.random.Generator, x: np.ndarray, y: np.ndarray, outline: Rectangle, half: bool
) -> np.ndarray:
    def edge(count: int) -> np.ndarray:
        waves = gaussian_filter(rng.normal(0, 1, count), 0.5 * SCALE)
        return rng.uniform(-0.5, 0.3) + 0.35 * waves / waves.std()

    rows, columns = x.shape
    right = outline.width * (0.4 if half else 1.0)
    inside = (np.minimum(x - edge(rows)[:, None], right - x - edge(rows)[:, None]) > 0.0) & (
        np.minimum(y - edge(columns)[None], outline.height - y - edge(columns)[None]) > 0.0
    )
    return gaussian_filter(inside.astype(float), 0.08 * SCALE)


def homography(source: np.ndarray, target: np.ndarray) -> np.ndarray:
    """3 by 3, of four points (4, 2) onto four others."""
    rows = []
    for (x, y), (u, v) in zip(source, target, strict=True):
        rows.append([x, y, 1, 0, 0, 0, -u * x, -u * y, -u])
        rows.append([0, 0, 0, x, y, 1, -v * x, -v * y, -v])
    return np.linalg.svd(np.array(rows))[2][-1].reshape(3, 3)


def photograph(
    painted: Painted, device: Device, shot: Shot, rng: np.random.Generator
) -> tuple[bytes, np.ndarray]:
    """A file, and the homography from millimetres of the page to pixels of it."""
    width, height = painted.size
    page = np.array([[0, 0], [width, 0], [width, height], [0, height]])
    to_picture = homography(page, shot.corners)
    back = np.linalg.inv(to_picture).astype(np.float32)
    rows, columns = shot.shape
    v, u = np.mgrid[0:rows, 0:columns].astype(np.float32)
    w = back[2, 0] * u + back[2, 1] * v + back[2, 2]
    x = (back[0, 0] * u + back[0, 1] * v + back[0, 2]) / w
    y = (back[1, 0] * u + back[1, 1] * v + back[1, 2]) / w
    on_page = (x >= 0) & (x <= width) & (y >= 0) & (y <= height)
    density = np.sqrt(rows * columns * on_page.mean() / (width * height))
    picture = np.empty((rows, columns, 3), np.float32)
    soft = max(0.0, 0.45 * (SCALE / density - 1.0))
    for channel in range(3):
        plane = painted.canvas[..., channel]
        plane = gaussian_filter(plane, soft) if soft > 0.1 else plane
        picture[..., channel] = map_coordinates(
            plane, [y * SCALE - 0.5, x * SCALE - 0.5], order=1, mode="nearest"
        )
    table = rng.standard_normal((rows // 4 + 1, columns // 4 + 1), np.float32)
    table = gaussian_filter(table, (1, 12))
    table = shot.around * (1.0 + 0.1 * zoom(table / table.std(), 4, order=1)[:rows, :columns])
    picture = np.where(on_page[..., None], picture, table[..., None])
    picture *= _light(shot, x / width * 2 - 1, y / height * 2 - 1, rng)[..., None]
    radius = ((u / columns - 0.5) ** 2 + (v / rows - 0.5) ** 2) / 0.5
    picture *= (1.0 - shot.vignette * radius)[..., None]
    for channel in range(3):
        picture[..., channel] = gaussian_filter(picture[..., channel], shot.blur)
    noise = rng.standard_normal(picture.shape, np.float32) * np.float32(shot.noise)
    picture = np.maximum(picture + noise * np.sqrt(np.maximum(picture, 0.0) + 0.01), 0.0)
    coded = device.encode(picture)
    if shot.sharpen:
        for channel in range(3):
            plane = coded[..., channel]
            coded[..., channel] = plane + shot.sharpen * (plane - gaussian_filter(plane, 1.0))
    values = np.rint(255.0 * np.clip(coded, 0.0, 1.0)).astype(np.uint8)
    file = io.BytesIO()
    profile = device.profile()
    options = {"icc_profile": profile} if profile else {}
    if shot.quality is None:
        Image.fromarray(values).save(file, "PNG", compress_level=1, **options)
    else:
        Image.fromarray(values).save(file, "JPEG", quality=shot.quality, **options)
    return file.getvalue(), to_picture


def _light(shot: Shot, x: np.ndarray, y: np.ndarray, rng: np.random.Generator) -> np.ndarray:
    slope = rng.normal(0.0, 1.0, 2)
    slope *= shot.falloff / np.hypot(*slope)
    bend = rng.normal(0.0, 0.3 * shot.falloff, 3)
    light = np.exp(
        np.clip(
            slope[0] * x + slope[1] * y + bend[0] * x * x + bend[1] * x * y + bend[2] * y * y, -1, 1
        )
        - abs(slope[0]) * 0.5
        - abs(slope[1]) * 0.5
    )
    if shot.shadow:
        angle = rng.uniform(0, 2 * np.pi)
        along = np.cos(angle) * x + np.sin(angle) * y - rng.uniform(-0.3, 0.3)
        light = light * (1.0 - shot.shadow / (1.0 + np.exp(-along / 0.08)))
    return light


def on_glass(edition: Edition, rng: np.random.Generator, *, density: float = 5.9) -> Shot:
    """On a flatbed: askew by up to 3 degrees, in any quarter turn, the lid white or grey."""
    width, height = (length * density for length in edition.size)
    corners = np.array([[0, 0], [width, 0], [width, height], [0, height]])
    turn = rng.normal(0.0, np.radians(1.2)) + np.pi / 2 * rng.integers(4)
    centre = np.array([width, height]) / 2
    turned = (corners - centre) @ np.array(
        [[np.cos(turn), np.sin(turn)], [-np.sin(turn), np.cos(turn)]]
    )
    extent = np.abs(turned).max(axis=0)
    shape = (round(2 * extent[1]), round(2 * extent[0]))
    return Shot(
        shape,
        turned + np.array([shape[1], shape[0]]) / 2,
        falloff=0.015,
        vignette=0.0,
        blur=0.6,
        noise=0.004,
        sharpen=float(rng.choice([0.0, 0.4])),
        quality=None,
        around=rng.uniform(0.5, 0.85),
    )


def by_hand(
    edition: Edition, rng: np.random.Generator, *, density: float = 5.5, shadow: float = 0.0
) -> Shot:
    """By phone: tilted, lit from a side, with a vignette, noisy, sharpened, as JPEG."""
    width, height = (length * density for length in edition.size)
    shape = (round(1.2 * height), round(1.2 * width))
    if rng.random() < 0.5:
        shape = shape[::-1]
    corners = np.array([[-1, -1], [1, -1], [1, 1], [-1, 1]]) * [width / 2, height / 2]
    turn = rng.normal(0.0, np.radians(4)) + (np.pi / 2 if shape[1] > shape[0] else 0.0)
    turn += np.pi * rng.integers(2)
    corners = corners @ np.array([[np.cos(turn), np.sin(turn)], [-np.sin(turn), np.cos(turn)]])
    tilt = rng.normal(0.0, 0.09, 2) / max(width, height) * 1.0
    depth = 1.0 + corners @ tilt
    corners = corners / depth[:, None] * 0.95
    return Shot(
        shape,
        corners + np.array([shape[1], shape[0]]) / 2 + rng.normal(0, 10, 2),
        falloff=rng.uniform(0.05, 0.2),
        vignette=rng.uniform(0.05, 0.25),
        blur=rng.uniform(0.6, 1.1),
        noise=rng.uniform(0.006, 0.014),
        sharpen=rng.uniform(0.3, 0.9),
        quality=int(rng.integers(85, 96)),
        around=rng.uniform(0.1, 0.4),
        shadow=shadow,
    )
