"""Whole trials: a page coloured in, photographed and read, beside what an instrument would say."""

import io
from dataclasses import dataclass

import numpy as np

from stopgap.difference import delta_E
from stopgap.scanning import BoxSection, KnownColour, Reading, lay_out_edition, read_pages
from stopgap.swatches import Edition

from . import devices, materials, pages

A4 = (210.0, 297.0)
NUMBER = "204611"
PAPER_LAB = tuple(materials.lab_of(materials.PAPER).tolist())
ROWS = (
    "flatbed, own profile",
    "flatbed, sRGB",
    "flatbed, three LEDs",
    "phone, daylight",
    "phone, LED",
)
"""The devices of the table of what was known before."""


@dataclass
class Trial:
    """A file, what it shows, and how it was made."""

    edition: Edition
    file: bytes
    truth: dict[str, np.ndarray]
    device: devices.Device
    options: dict[str, str]


def chart(
    rng: np.random.Generator, pencils: int = 35, *, arranged: bool = False, **more: object
) -> Edition:
    """A page of pencils drawn from the demo's ranges, or as families of an arrangement."""
    names = list(materials.recipes())
    chosen = sorted(rng.choice(len(names), pencils, replace=False))
    boxes = [(names[at],) for at in chosen]
    half = pencils // 2
    sections = [
        BoxSection("one", boxes[:half], "wall" * arranged, arranged),
        BoxSection("other", boxes[half:], "wall" * arranged, arranged),
    ]
    return lay_out_edition(NUMBER, sections, A4, spare_rows=0, **more)


def make_device(
    row: str, rng: np.random.Generator, camera: int = 0
) -> tuple[devices.Device, dict[str, str]]:
    """A device of a row of the table that no prior was learnt from, and how it is described."""
    if row.startswith("flatbed"):
        leds = "LED" in row
        made = devices.flatbed(rng, profiled="profile" in row, leds=leds)
        return made, {"device": "flatbed-led" if leds else "flatbed"}
    lamps, cameras = devices.lamps(), devices.measured_cameras()
    word = "daylight" if "daylight" in row else "led"
    sensor = cameras[camera % len(cameras)]
    lamp = lamps[word][rng.integers(len(lamps[word]))]
    made = devices.phone(rng, sensor, lamp, lamps["daylight"][2])
    return made, {"device": "phone", "light": word}


def trial(
    row: str,
    seed: int,
    hand: pages.Hand | None = None,
    density: float | None = None,
    **more: object,
) -> Trial:
    """One page in one picture, of `density` pixels a millimetre; the same for the same seed."""
    rng = np.random.default_rng([7310, ROWS.index(row), seed])
    device, options = make_device(row, rng, seed)
    edition = chart(rng, **more)
    painted = pages.paint(edition, 1, device, rng, hand)
    dense = {} if density is None else {"density": density}
    look = pages.on_glass if row.startswith("flatbed") else pages.by_hand
    shot = look(edition, rng, **dense)
    file, _ = pages.photograph(painted, device, shot, rng)
    boxes = edition.pages[0].boxes
    truth = {boxes[at].pencils[0]: labs[-1] for at, labs in painted.truth.items()}
    return Trial(edition, file, truth, device, options)


def read(made: Trial, known: dict[str, KnownColour] | None = None, **more: object) -> Reading:
    options = {**made.options, "paper": PAPER_LAB, "known": known, **more}
    return read_pages([io.BytesIO(made.file)], {NUMBER: made.edition}, **options)


def errors(made: Trial, reading: Reading, leave: tuple[str, ...] = ()) -> dict[str, np.ndarray]:
    """Of boxes that were read: ΔE00 to the instrument, the two sigmas, Lab and true Lab."""
    rows = [
        (box.heaviest, made.truth[box.box.pencils[0]])
        for box in reading.boxes
        if box.box.pencils
        and box.box.pencils[0] in made.truth
        and box.box.pencils[0] not in leave
        and box.heaviest.lab is not None
    ]
    lab, true = np.array([field.lab for field, _ in rows]), np.array([known for _, known in rows])
    return {
        "off": delta_E(lab, true),
        "own": np.array([field.sigma for field, _ in rows]),
        "shared": np.array([field.shared_sigma for field, _ in rows]),
        "lab": lab,
        "true": true,
    }


def same_sheet(made: Trial, count: int, rng: np.random.Generator) -> dict[str, KnownColour]:
    """Pencils whose very boxes were measured: spread over the page's colours."""
    names = list(made.truth)
    chosen = rng.choice(len(names), count, replace=False)
    return {
        names[at]: KnownColour(
            tuple(made.truth[names[at]] + rng.normal(0.0, 0.2, 3)), 0.4, same_layer=True
        )
        for at in chosen
    }


def other_hand(made: Trial, count: int, rng: np.random.Generator) -> dict[str, KnownColour]:
    """Pencils known from another layer by another hand."""
    names = list(made.truth)
    found = {}
    for at in rng.choice(len(names), count, replace=False):
        load = float(np.exp(rng.normal(0.0, 0.17)))
        spectra = materials.by_load(names[at])
        reflectance = np.array([np.interp(load, materials.LOADS, c) for c in spectra.T])
        lab = materials.lab_of(reflectance) + rng.normal(0.0, 0.2, 3)
        found[names[at]] = KnownColour(tuple(lab), 0.5, same_layer=False)
    return found
