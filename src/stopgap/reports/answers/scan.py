"""The answer of `scan`: what became of every box, and how readings were made into colours."""

from collections import Counter
from collections.abc import Sequence
from functools import partial

from stopgap.errors import Note, Remedy
from stopgap.reports.blocks import Block, Chip, Figures, Paragraph, Report, Say, remarks
from stopgap.reports.columns import (
    NOWHERE,
    RowField,
    cells_of,
    data_of,
    grid_of,
    one_decimal,
    only_shown,
    plain,
    titles_of,
)
from stopgap.reports.wording import swatch_data, swatch_words
from stopgap.scanning import ANCHOR, MEASURED, BoxReading, BoxState, Scan, ScannedBox
from stopgap.swatches import Lab


def scan_report(found: Scan, say: Say = str) -> Report:
    """JSON schema stopgap.scan/1; boxes in doubt come first on a page."""
    learnt = found.reading.calibration
    boxes = used_boxes(found)
    notes = remarks([*found.reading.notes, *_worth_measuring(found), *_stored(found)], say)
    grid = grid_of(
        _FIELDS, ("chips", "shown lab", "shown sigma", "shown"), doubtful_first(boxes), _remarks
    )
    flags = [f"{page.name}: {flag}" for page in found.reading.pages for flag in page.flags]
    blocks: list[Block] = [Paragraph(summary_words(found)), *([grid] if boxes else [])]
    blocks += [Paragraph(flag, mark="!") for flag in flags]
    return Report(
        "stopgap.scan/1",
        {
            "edition": found.edition.number,
            "pages": [
                page._asdict() | {"profiled": page.profiled, "flags": list(page.flags)}
                for page in found.reading.pages
            ],
            "boxes": data_of(_FIELDS, found.boxes),
            "calibration": {
                "method": learnt.method,
                "anchors": learnt.anchors,
                "left_one_out": learnt.left_one_out,
                "device_class": str(learnt.device_class),
                "to_measure": list(learnt.to_measure),
            },
            "stored": len(found.kept) if found.stored else 0,
            "notes": [note.text for note in notes],
        },
        [*blocks, *notes],
        titles_of(_FIELDS),
        cells_of(_FIELDS, found.boxes),
    )


def used_boxes(found: Scan) -> list[ScannedBox]:
    """Every box but spare ones that are white."""
    return [box for box in found.boxes if not _untouched(box)]


def doubtful_first(boxes: Sequence[ScannedBox]) -> list[ScannedBox]:
    """What was not read before what was; then the largest uncertainty of a box's own first."""
    return sorted(
        boxes,
        key=lambda box: (_state(box.reading) is BoxState.READ, -box.reading.heaviest.sigma),
    )


def in_doubt(box: ScannedBox) -> bool:
    """Whether somebody should look at it: it was not read, though it may have been coloured."""
    return _state(box.reading) is not BoxState.READ


def box_words(box: ScannedBox) -> str:
    """Whose box it is, else where it stands."""
    if not box.pencils:
        asked = ", ".join(box.reading.box.pencils) or "spare box"
        return f"{asked}, page {box.reading.page}, row {box.row}, box {box.column}"
    return " + ".join(map(swatch_words, box.pencils))


def state_words(box: ScannedBox) -> str:
    """What became of it, and why nothing is kept of it."""
    state = str(_state(box.reading))
    return state if box.reason in ("", state) else f"{state}; {box.reason}"


def _state(reading: BoxReading) -> BoxState:
    return reading.heaviest.state


def _untouched(box: ScannedBox) -> bool:
    """A spare box that nobody has used."""
    return box.reading.box.spare and _state(box.reading) is BoxState.EMPTY


def summary_words(found: Scan) -> str:
    """What was read of which pages, and how, in a sentence."""
    counts = Counter(str(_state(box.reading)) for box in used_boxes(found))
    listed = ", ".join(f"{count} {state}" for state, count in counts.items())
    pages = sorted({page.page for page in found.reading.pages})
    plural = "s" if len(pages) > 1 else ""
    numbers = ", ".join(map(str, pages))
    learnt = found.reading.calibration
    how = (
        f"{learnt.anchors} pencils of known colour"
        if learnt.method == "anchors"
        else "white paper"
        if learnt.method == "white paper"
        else "white paper and what such devices get wrong"
    )
    return (
        f"Edition {found.edition.number}, page{plural} {numbers}, {learnt.device_class}, by {how}: "
        f"{listed}."
    )


def _stored(found: Scan) -> list[Note]:
    count = len(found.kept)
    measured = sum(box.reason == MEASURED for box in found.boxes)
    notes = []
    if measured:
        text = f"{measured} pencils have a measured colour, which stays."
        notes.append(Note(text, Remedy.REPLACE_MEASURED))
    if not count:
        return [*notes, Note("There is nothing to store.")]
    swatches = "1 swatch" if count == 1 else f"{count} swatches"
    if not found.stored:
        return [*notes, Note(f"{swatches} would be stored; nothing was.")]
    return [*notes, Note(f"Stored {swatches}.", Remedy.TAKE_BACK)]


def _worth_measuring(found: Scan) -> list[Note]:
    """Which boxes would teach most, where they stand, and what would be gained."""
    learnt = found.reading.calibration
    if not learnt.to_measure:
        return []
    where = {
        box.reading.box.pencils[0]: f"{box.pencils[0].address} (page {box.reading.page}, row "
        f"{box.row}, box {box.column})"
        for box in found.boxes
        if box.pencils and len(box.reading.box.pencils) == 1
    }
    boxes = [where[address] for address in learnt.to_measure if address in where]
    shared = [box.reading.heaviest.shared_sigma for box in found.boxes if box.reading.heaviest.lab]
    text = (
        "Have you an instrument? Measured on this very sheet, these boxes would tell most: "
        f"{', '.join(boxes)}. What all colours share in doubt would fall from "
        f"{sum(shared) / len(shared):.1f} to about {learnt.shared_then:.1f}."
    )
    return [Note(text, Remedy.STATE_PATCHES)]


def _remarks(box: ScannedBox) -> Sequence[str]:
    told = (BoxState.READ, MEASURED, *((ANCHOR,) if box.reading.box.anchor else ()))
    said = [state for state in (str(_state(box.reading)), box.reason) if state not in ("", *told)]
    return [f"! {'; '.join(dict.fromkeys(said))}"] if said else []


def _colours(box: ScannedBox) -> Chip | str:
    labs = [field.lab for field in box.reading.fields if field.lab is not None]
    return Chip(tuple(labs)) if labs else ""


def _lab_words(box: ScannedBox) -> str:
    lab = box.reading.heaviest.lab
    return "{:.1f} {:.1f} {:.1f}".format(*lab) if lab else ""


def _sigmas(box: ScannedBox) -> str:
    field = box.reading.heaviest
    return f"{field.sigma:.1f} / {field.shared_sigma:.1f}" if field.lab else ""


def _listed(lab: Lab | None) -> list[float] | None:
    return None if lab is None else list(lab)


def _coordinate(place: int, lab: Lab | None) -> float | None:
    return None if lab is None else lab[place]


def _fields_data(box: ScannedBox) -> list[dict[str, object]]:
    return [
        {
            "pressures": [str(pressure) for pressure in field.pressures],
            "state": str(field.state),
            "lab": _listed(field.lab),
            "masstone": _listed(field.masstone),
            "coverage": field.coverage,
            "sigma": field.sigma,
            "shared_sigma": field.shared_sigma,
        }
        for field in box.reading.fields
    ]


_FIELDS: list[RowField[ScannedBox]] = [
    only_shown("chips", _colours),
    only_shown("shown lab", _lab_words, Figures("L* a* b*")),
    only_shown("shown sigma", _sigmas, Figures("± own / shared")),
    only_shown("shown", box_words, "pencil"),
    RowField("page", lambda box: box.reading.page),
    *plain("row", "column"),
    RowField(
        "swatch",
        lambda box: box.pencils[0] if len(box.reading.box.pencils) == 1 and box.pencils else None,
        lambda swatch: swatch and swatch_data(swatch),
        {"swatch": lambda swatch: swatch.address if swatch else ""},
    ),
    RowField(
        "layers",
        lambda box: box.pencils if len(box.reading.box.pencils) > 1 else (),
        lambda pencils: [swatch_data(swatch) for swatch in pencils],
        NOWHERE,
    ),
    RowField("state", lambda box: str(_state(box.reading))),
    RowField(
        "lab",
        lambda box: box.reading.heaviest.lab,
        _listed,
        {name: partial(_coordinate, place) for place, name in enumerate("Lab")},
    ),
    RowField("masstone", lambda box: box.reading.heaviest.masstone, _listed, NOWHERE),
    RowField("coverage", lambda box: box.reading.heaviest.coverage),
    RowField("sigma", lambda box: box.reading.heaviest.sigma, shown=one_decimal),
    RowField("shared_sigma", lambda box: box.reading.heaviest.shared_sigma, shown=one_decimal),
    RowField("fields", _fields_data, cells=NOWHERE),
    RowField("kept", lambda box: len(box.kept)),
    *plain("reason"),
]
