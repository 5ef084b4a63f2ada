"""Coloured pages read back: from pictures to the colour and the doubt of every box.

What cannot be promised: near-white pencils by phone, metallics and fluorescents, mixed light, dark
blues and violets on a flatbed with three LEDs. All of it was simulated; no real scan was tried.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import BinaryIO, NamedTuple

import numpy as np

from stopgap.arrays import Floats, as_lab
from stopgap.difference import metric_tensor
from stopgap.errors import Note
from stopgap.scanning.anchors import evidence, learn, worth_measuring
from stopgap.scanning.boxes import BoxState
from stopgap.scanning.colour import (
    Anchor,
    Correction,
    DeviceClass,
    FromAnchors,
    device_class,
    expected,
    prior_of,
)
from stopgap.scanning.known import KnownColour, known_anchors, notes_on_target, with_patches
from stopgap.scanning.pages import (
    MergedBox,
    PageReading,
    agreeing,
    merged_boxes,
    see_pages,
)
from stopgap.scanning.profile import Bytes
from stopgap.swatches import DEFAULT_PAPER_LAB, Box, Edition, Lab, Pressure, TargetPatch

LED_RESIDUAL = 2.0
"""Mean ΔE00 of anchors left out above which a flatbed probably lights with three LEDs."""
_ENOUGH_TO_SUSPECT = 4
_TO_MEASURE, _BY_LAMPS, _WORTH_IT = 4, 8, 0.75
_SURE = 3.0  # of the logarithm of a ratio of probabilities: twenty to one
_BEYOND_GAMUT = 2.0
"""Added doubt [ΔE00] where a channel is at its end, so that the colour is more vivid than said."""


_UNEVEN = 0.2
"""What of a field's unevenness is doubt of its mean: an aperture sees some of the same."""


class FieldReading(NamedTuple):
    """A field: `lab` and `masstone` are None where it has no colour; sigmas are ΔE00."""

    pressures: tuple[Pressure, ...]
    state: BoxState
    lab: Lab | None
    masstone: Lab | None
    coverage: float
    sigma: float
    shared_sigma: float


@dataclass(frozen=True, slots=True)
class BoxReading:
    """A box: the colour is that of its heaviest field; `crop` is a small picture of it."""

    page: int
    box: Box
    fields: tuple[FieldReading, ...]
    crop: Bytes | None

    @property
    def heaviest(self) -> FieldReading:
        """The field that says the pencil's colour."""
        ranks = tuple(Pressure)
        return max(self.fields, key=lambda field: ranks.index(field.pressures[-1]))


class ScanCalibration(NamedTuple):
    """How readings became colours: `white paper`, `prior` or `anchors`.

    `to_measure` are pencils whose boxes, measured on these very sheets, would tell most about the
    device, and `shared_then` is the mean ΔE00 that all colours would then share in doubt.
    """

    method: str
    anchors: int
    left_one_out: float | None
    device_class: DeviceClass
    doubted: tuple[str, ...] = ()
    to_measure: tuple[str, ...] = ()
    shared_then: float = 0.0


@dataclass(frozen=True, slots=True)
class Reading:
    """Everything that pictures say; nothing is to be stored where a page was refused."""

    pages: tuple[PageReading, ...]
    boxes: tuple[BoxReading, ...]
    calibration: ScanCalibration
    notes: tuple[Note, ...]

    @property
    def refused(self) -> tuple[PageReading, ...]:
        """Pictures that cannot be read."""
        return tuple(page for page in self.pages if page.refused)


def read_pages(
    files: Iterable[Path | BinaryIO],
    editions: Mapping[str, Edition],
    *,
    device: str | None = None,
    light: str | None = None,
    paper: Lab | Mapping[str, Lab] = DEFAULT_PAPER_LAB,
    known: Mapping[str, KnownColour] | None = None,
    target: Sequence[TargetPatch] = (),
    use_prior: bool = True,
) -> Reading:
    """The colours of every box on the pages that pictures show.

    Parameters
    ----------
    files
        JPEG, PNG or TIFF; several pictures of a page are averaged.
    editions
        The charts of the library by their number.
    device
        flatbed, flatbed-led or phone; by default a phone where the picture says an exposure, or the
        page is seen at a slant.
    light
        daylight, led, fluorescent or tungsten, of a phone's pictures.
    paper
        Lab of the paper, D50, 2 degree observer; or of each chart's, by its number.
    known
        Colours of anchors, by address.
    target
        Patches of known colour that lie on the pages, or boxes that were measured themselves.
    use_prior
        False to take white paper alone where there are no anchors.

    Raises
    ------
    UsageError
        For an unknown device or light.
    InputError
        For a patch said to be a box that is not there.
    """
    if device is not None or light is not None:
        device_class(device or "phone", light)
    lying = with_patches(editions, target)
    readings, seen, of_camera = see_pages(files, lying.editions)
    lying.refuse_missing((one.edition.number, one.page.number) for one in seen)
    if not isinstance(paper, tuple):
        paper = next((paper[one.edition.number] for one in seen), DEFAULT_PAPER_LAB)
    readings, seen = agreeing(readings, seen, np.array(paper))
    kind = device_class(device or ("phone" if of_camera else "flatbed"), light)
    white = np.array(paper)
    merged = merged_boxes(seen, white)
    learnt, kind, used = _learn(known_anchors(merged, known or {}, lying), kind, white)
    correction, method = _applied(learnt, used, white, use_prior=use_prior)
    boxes = tuple(_box_reading(one, correction) for one in merged if one.box not in lying.patches)
    wanted = ((), 0.0) if method == "anchors" else _to_measure(merged, correction, kind)
    calibration = ScanCalibration(method, used, learnt.left_one_out, kind, learnt.doubted, *wanted)
    notes = (*_notes(calibration, kind, device, light), *notes_on_target(merged, lying, seen))
    return Reading(tuple(readings), boxes, calibration, notes)


def _applied(
    learnt: FromAnchors, used: int, white: Floats, *, use_prior: bool
) -> tuple[Correction, str]:
    """The correction that is applied, and by what."""
    found = learnt.correction
    if not used and not use_prior:
        found = Correction(white, np.zeros_like(found.weights), found.factors, found.misfit)
    return found, "anchors" if learnt.used else "prior" if use_prior else "white paper"


def _to_measure(
    merged: Sequence[MergedBox], correction: Correction, kind: DeviceClass
) -> tuple[tuple[str, ...], float]:
    """The pencils worth measuring and the doubt then shared; none where that is hardly less."""
    boxes = {
        one.box.pencils[0]: one.lab[-1]
        for one in merged
        if len(one.box.pencils) == 1 and one.shown[-1].state is BoxState.READ
    }
    count = _TO_MEASURE if kind.flatbed or kind is DeviceClass.PHONE_DAYLIGHT else _BY_LAMPS
    if len(boxes) <= count:
        return (), 0.0
    read = np.array(list(boxes.values()))
    chosen, then = worth_measuring(read, prior_of(kind), correction.paper, count)
    if then > _WORTH_IT * correction.shared(read).mean():
        return (), 0.0
    names = tuple(boxes)
    return tuple(names[at] for at in chosen), then


def _learn(
    anchors: Sequence[Anchor], kind: DeviceClass, paper: Floats
) -> tuple[FromAnchors, DeviceClass, int]:
    """The correction, the class it is of, and how many anchors it has."""
    if not anchors:
        return FromAnchors(expected(prior_of(kind), paper), None, (), used=False), kind, 0
    learnt = learn(anchors, prior_of(kind), paper)
    if kind is DeviceClass.FLATBED and len(anchors) >= _ENOUGH_TO_SUSPECT:
        leds = prior_of(DeviceClass.FLATBED_LED)
        fitting = [anchor for anchor in anchors if anchor.name not in learnt.doubted]
        likelier = evidence(fitting, leds, paper) - evidence(fitting, prior_of(kind), paper)
        if likelier > _SURE or (learnt.left_one_out or 0.0) > LED_RESIDUAL:
            kind = DeviceClass.FLATBED_LED
            if likelier > 0.0:
                learnt = learn(anchors, leds, paper)
            else:  # only the doubt is theirs
                learnt = learnt._replace(correction=learnt.correction._replace(misfit=leds.misfit))
    return learnt, kind, len(anchors) - len(learnt.doubted)


def _box_reading(one: MergedBox, correction: Correction) -> BoxReading:
    lab, masstone = correction.corrected(one.lab), correction.corrected(one.masstone)
    own, shared = correction.own(lab), correction.shared(one.lab)
    uneven = _uneven(one, correction.paper)
    fields = []
    for at, (field, shown) in enumerate(zip(one.box.fields, one.shown, strict=True)):
        sigma = float(
            np.sqrt(own[at] ** 2 + uneven[at] ** 2) + _BEYOND_GAMUT * shown.edge_of_gamut
        ) * (1.5 if shown.state is BoxState.PARTLY else 1.0)
        readable = shown.state.readable
        fields.append(
            FieldReading(
                field.pressures,
                shown.state,
                _lab(lab[at]) if readable else None,
                _lab(masstone[at]) if readable else None,
                shown.coverage,
                sigma if readable else 0.0,
                float(shared[at]) if readable else 0.0,
            )
        )
    return BoxReading(one.page, one.box, tuple(fields), one.crop)


def _uneven(one: MergedBox, paper: Floats) -> Floats:
    """How sure the mean of each field is (n,), ΔE00, since it is not laid evenly."""
    error = np.array([shown.error for shown in one.shown]) / np.sqrt(one.pictures)
    along = (one.lab - paper) * error[:, np.newaxis]
    squared = np.einsum("ni,nij,nj->n", along, metric_tensor(as_lab(one.lab)), along)
    return np.asarray(_UNEVEN * np.sqrt(squared))


def _lab(values: Floats) -> Lab:
    L, a, b = values.tolist()
    return max(0.0, min(100.0, L)), a, b


def _notes(
    calibration: ScanCalibration, kind: DeviceClass, device: str | None, light: str | None
) -> tuple[Note, ...]:
    notes = []
    if kind is DeviceClass.FLATBED_LED and device != "flatbed-led":
        notes.append(
            Note(
                "Pencils of known colour come out otherwise than a flatbed with colour filters "
                "reads them: probably a three-LED flatbed, so the doubt is wider."
            )
        )
    if kind.flatbed and device is None:
        notes.append(Note("No camera is told of, and it is seen from straight above: a flatbed."))
    if kind.flatbed and light is not None:
        notes.append(Note("A flatbed has a lamp of its own: the light stated changes nothing."))
    if not kind.flatbed and light is None:
        notes.append(Note("No light is stated, so daylight is taken."))
    if calibration.doubted:
        listed = ", ".join(calibration.doubted)
        notes.append(
            Note(f"Not used to learn from, since they fit no others (boxes swapped?): {listed}.")
        )
    if calibration.anchors and calibration.method != "anchors":
        notes.append(
            Note("The pencils of known colour would have made it worse, so they were not used.")
        )
    return tuple(notes)
