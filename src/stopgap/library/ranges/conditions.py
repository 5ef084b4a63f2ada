"""How a row says it was measured, and whether what was asked for contradicts it."""

from collections.abc import Sequence

from stopgap.colorimetry import illuminant_name
from stopgap.errors import InputError
from stopgap.library.ranges.conversion import Convention
from stopgap.library.store.entry import Entry, EntryKind
from stopgap.library.tables.reader import Cells
from stopgap.swatches import Bandpass, MeasurementConditions, MeasurementMode


def conditions_of(cells: Cells, entry: Entry, convention: Convention) -> MeasurementConditions:
    """The measurement of one row."""
    relative = entry.kind in (EntryKind.LAB, EntryKind.XYZ)
    known_white = bool(cells.raw("illuminant") or convention.stated_white)
    known_observer = bool(cells.raw("observer") or convention.stated_observer)
    bandpass = cells.choice("bandpass", Bandpass)
    if entry.kind is EntryKind.SPECTRUM and convention.correct_bandpass and bandpass is None:
        bandpass = Bandpass.IMPORT
    return MeasurementConditions(
        illuminant=entry.white if relative else "",
        observer=entry.observer if relative else None,
        assumed=relative and not (known_white and known_observer),
        mode=_mode(cells) or convention.mode,
        geometry=cells.text("geometry"),
        instrument=cells.text("instrument"),
        backing=cells.text("backing"),
        date=cells.text("date"),
        bandpass=bandpass if entry.kind is EntryKind.SPECTRUM else None,
    )


def only_mode(rows: Sequence[Cells], mode: MeasurementMode | None) -> list[Cells]:
    """The rows measured so, where a file holds several modes; all of them where it states none.

    Raises
    ------
    InputError
        If the file states other modes only, or several for one code and none is chosen.
    """
    stated = sorted({cells.raw("mode").upper() for cells in rows if cells.raw("mode")})
    if mode is None:
        _refuse_several(rows, stated)
        return list(rows)
    if stated and str(mode) not in stated:
        raise InputError(
            f"The file states measurement mode {' and '.join(stated)}, not {mode}. Leave --mode "
            "out, or name a mode of the file."
        )
    return [cells for cells in rows if cells.raw("mode").upper() in ("", str(mode))]


def refuse_contradiction(rows: Sequence[Cells], convention: Convention, file_name: str) -> None:
    """Refuse options that say otherwise than the file.

    Raises
    ------
    InputError
        Naming the first row that the option contradicts.
    """
    options = {"illuminant": convention.stated_white, "observer": convention.stated_observer}
    for title, option in options.items():
        for cells in rows:
            stated = cells.raw(title)
            if option is None or not stated:
                continue
            wanted = illuminant_name(str(option)) if title == "illuminant" else str(option)
            found = _plain_illuminant(stated) if title == "illuminant" else stated
            if found != wanted:
                name = "--white" if title == "illuminant" else "--observer"
                raise InputError(
                    f"{file_name}: row {cells.row.number} states the {title} {stated}; {name} "
                    f"{option} contradicts it. Leave the option out; the file's own word is used."
                )
    if convention.correct_bandpass:
        for cells in rows:
            if cells.raw("bandpass"):
                raise InputError(
                    f"{file_name}: row {cells.row.number}: the spectrum is corrected for the "
                    "bandpass already. Leave --correct-bandpass out."
                )


def _refuse_several(rows: Sequence[Cells], stated: list[str]) -> None:
    if len(stated) < 2:
        return
    modes: dict[str, str] = {}
    for cells in rows:
        code, mode = cells.text("code").casefold(), cells.raw("mode").upper()
        if modes.setdefault(code, mode) != mode:
            raise InputError(
                f"{cells.text('code')} is measured as {modes[code] or 'not stated'} and as "
                f"{mode or 'not stated'}. Choose one with --mode {' or --mode '.join(stated)}."
            )


def _mode(cells: Cells) -> MeasurementMode | None:
    stated = cells.raw("mode").upper()
    if stated and stated not in MeasurementMode.__members__:
        cells.problem("mode", stated, "M0, M1, M2 or M3 (ISO 13655)")
        return None
    return MeasurementMode(stated) if stated else None


def _plain_illuminant(text: str) -> str:
    try:
        return illuminant_name(text)
    except InputError:
        return text
