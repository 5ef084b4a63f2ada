"""What of a scan the library is to keep: of every box its swatches, or why there are none."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path
from typing import BinaryIO, NamedTuple

from stopgap.errors import InputError
from stopgap.library import (
    Library,
    keep_scan,
    paper_asked,
    paper_called,
    read_patches,
    stored_editions,
    stored_papers,
)
from stopgap.scanning.boxes import BoxState
from stopgap.scanning.growth import place_of
from stopgap.scanning.known import colours_to_learn_from
from stopgap.scanning.reading import BoxReading, FieldReading, Reading, read_pages
from stopgap.swatches import (
    Edition,
    LaidLayers,
    MeasurementConditions,
    Paper,
    Pencil,
    Source,
    Swatch,
)

MEASURED = "measured already"
"""Why nothing is kept of a box whose pencil has a measured colour."""


ANCHOR = "there to learn from"
"""And of one whose colour is known."""


class ScannedBox(NamedTuple):
    """A box as it was read, its place (row and column, from 1), its pencils, and what is kept.

    `pencils` are those of the library, first layer first, fewer where it lacks one. `kept` are the
    swatches, one a field, and `reason` says why there are none.
    """

    reading: BoxReading
    row: int
    column: int
    pencils: tuple[Swatch, ...]
    kept: tuple[Swatch, ...]
    reason: str = ""


class Scan(NamedTuple):
    """A reading, the chart it is of, and every box with what the library is to keep of it.

    `stored` says whether it does already.
    """

    reading: Reading
    edition: Edition
    boxes: tuple[ScannedBox, ...]
    stored: bool = False

    @property
    def layers(self) -> tuple[LaidLayers, ...]:
        """What was read of boxes of several pencils."""
        return tuple(
            LaidLayers(box.reading.box.pencils, tuple(map(str, field.pressures)), field.lab)
            for box in self.boxes
            for field in box.reading.fields
            if len(field.pressures) > 1 and field.state is BoxState.READ and field.lab is not None
        )

    @property
    def kept(self) -> tuple[Swatch, ...]:
        """All swatches to be kept, in the order of the boxes."""
        return tuple(swatch for box in self.boxes for swatch in box.kept)


def read_chart(
    library: Library,
    files: Iterable[Path | BinaryIO],
    *,
    device: str | None = None,
    light: str | None = None,
    anchors: Sequence[str] = (),
    target: Path | None = None,
    on: str | None = None,
    replace_measured: bool = False,
) -> Scan:
    """What pictures of coloured pages of one chart say of the pencils of a library.

    Parameters
    ----------
    files, device, light
        As `read_pages` takes them.
    anchors
        What pencils of measured colour on these pages are called, to learn from; those of the
        chart's own anchor boxes teach where they were measured.
    target
        A spreadsheet of patches of known colour that lie on the page.
    on
        The paper that was coloured in on, else the one that the chart was drawn for.
    replace_measured
        Whether a colour that was measured gives way.

    Raises
    ------
    InputError
        Where a picture cannot be read, they show several charts, or an anchor was not measured.
    UnknownSwatchError
        Where nothing bears the name of an anchor or of a paper.
    UsageError
        For an unknown device or light.
    """
    patches = read_patches(target) if target is not None else ()
    editions = {edition.number: edition for edition in stored_editions(library)}
    pencils = {pencil.first.address: pencil for pencil in library.pencils()}
    papers = stored_papers(library)
    lying_on = _papers_of(editions, papers, on)
    reading = read_pages(
        files,
        editions,
        device=device,
        light=light,
        paper={number: one.lab for number, one in lying_on.items()},
        known=colours_to_learn_from(pencils, editions, anchors),
        target=patches,
    )
    edition = edition_read(reading, editions)
    paper = lying_on[edition.number]
    return plan_scan(
        reading,
        edition,
        pencils,
        paper=paper.name if paper in papers else "",
        date=datetime.now(UTC).date().isoformat(),
        replace_measured=replace_measured,
    )


def store_scan(library: Library, found: Scan) -> Scan:
    """Keep what was read, in one change; where there is nothing to keep, nothing changes."""
    if found.kept or found.layers:
        keep_scan(library, found.edition, found.kept, found.layers)
    return found._replace(stored=True)


def _papers_of(
    editions: Mapping[str, Edition], papers: Sequence[Paper], on: str | None
) -> dict[str, Paper]:
    """What each chart was printed on: the paper asked for, else its own, else the default."""
    asked = paper_asked(papers, on) or Paper()
    return {
        number: asked if on is not None else paper_called(one.paper, papers) or asked
        for number, one in editions.items()
    }


def edition_read(reading: Reading, editions: Mapping[str, Edition]) -> Edition:
    """The one chart that all pictures show.

    Raises
    ------
    InputError
        Naming each picture that cannot be read and why, or where they show several charts.
    """
    if reading.refused:
        told = " ".join(f"{page.name}: {page.refused}" for page in reading.refused)
        raise InputError(f"Nothing was stored. {told}")
    numbers = sorted({page.edition for page in reading.pages})
    if len(numbers) != 1:
        listed = " and ".join(numbers)
        raise InputError(f"The pictures are of charts {listed}; scan one chart at a time.")
    return editions[numbers[0]]


def plan_scan(
    reading: Reading,
    edition: Edition,
    pencils: Mapping[str, Pencil],
    *,
    paper: str = "",
    date: str = "",
    replace_measured: bool = False,
) -> Scan:
    """What is to be kept of a reading whose pages are all of one chart.

    `pencils` are those of the library by address. A colour that was measured, of a layer laid in
    the same way, stays unless `replace_measured`.
    """
    measured = _measurements(reading, edition, date)
    boxes = []
    for one in reading.boxes:
        page = edition.page(one.page)
        place = place_of(page, one.box) if page is not None else (0, 0)
        there = [pencils[address] for address in one.box.pencils if address in pencils]
        reason = _reason(one, there)
        kept: tuple[Swatch, ...] = ()
        if not reason:
            every = [
                _swatch(there[0].first, field, paper, measured[one.page])
                for field in one.fields
                if field.state is BoxState.READ
            ]
            kept = tuple(
                swatch for swatch in every if replace_measured or not _measured(swatch, there[0])
            )
            reason = "" if kept else MEASURED
        firsts = tuple(_as_read(pencil.first, one) for pencil in there)
        boxes.append(ScannedBox(one, *place, firsts, kept, reason))
    return Scan(reading, edition, tuple(boxes))


def _measurements(
    reading: Reading, edition: Edition, date: str
) -> dict[int, MeasurementConditions]:
    """With what each page was read: the device and its light, the profile, the edition."""
    found = {}
    for page in {one.page for one in reading.boxes}:
        profiles = dict.fromkeys(one.profile for one in reading.pages if one.page == page)
        told = " and ".join(f"profile {name}" if name else "no profile" for name in profiles)
        instrument = f"{reading.calibration.device_class}, {told}, edition {edition.number}"
        found[page] = MeasurementConditions(instrument=instrument, date=date)
    return found


def _reason(one: BoxReading, there: list[Pencil]) -> str:
    """Why nothing is kept of a box; empty where something may be."""
    state = one.heaviest.state
    if one.box.anchor:
        return ANCHOR
    if len(one.box.pencils) > 1:
        return "layers, for learning how you lay them"
    if not any(field.state is BoxState.READ for field in one.fields):
        return str(state)
    if not one.box.pencils:
        return "coloured, but no pencil has this spare box"
    return "" if there else "no such pencil is in the library"


def _swatch(
    pencil: Swatch, field: FieldReading, paper: str, measurement: MeasurementConditions
) -> Swatch:
    return Swatch(
        pencil.range,
        pencil.code,
        field.lab or pencil.lab,
        source=Source.SCANNED,
        uncertainty=field.sigma,
        shared_uncertainty=field.shared_sigma,
        paper=paper,
        pressure=field.pressures[0],
        measurement=measurement,
    )


def _as_read(pencil: Swatch, one: BoxReading) -> Swatch:
    """A pencil as the library has it, a name with the colour that its box has."""
    lab = one.heaviest.lab if len(one.box.pencils) == 1 else None
    return pencil if pencil.coloured or lab is None else replace(pencil, lab=lab)


def _measured(swatch: Swatch, pencil: Pencil) -> bool:
    """Whether the pencil has a measured colour of a dry layer laid so."""
    return any(
        other.source is Source.MEASURED
        and not other.state.wet
        and other.pressure is swatch.pressure
        for other in pencil.swatches
    )
