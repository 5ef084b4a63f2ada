"""How a row says it was measured, and whether what was asked for contradicts it."""

from collections.abc import Sequence

from stopgap.colorimetry import illuminant_name
from stopgap.errors import InputError, Remedy
from stopgap.library.ranges.conversion import Convention
from stopgap.library.store.entry import Entry, EntryKind
from stopgap.library.tables.reader import Cells
from stopgap.swatches import Bandpass, MeasurementConditions, MeasurementMode, OneOf

_BANDPASS = OneOf(Bandpass)


def conditions_of(cells: Cells, entry: Entry, convention: Convention) -> MeasurementConditions:
    """The measurement of one row."""
    relative = entry.kind in (EntryKind.LAB, EntryKind.XYZ)
    known_white = bool(cells.raw("illuminant") or convention.stated_white)
    known_observer = bool(cells.raw("observer") or convention.stated_observer)
    bandpass = cells.value("bandpass", _BANDPASS, [cells.text("bandpass")])
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


def only_mode(rows: Sequence[Cells], mode: MeasurementMode | None, file_name: str) -> list[Cells]:
    """The rows measured so, where a file holds several modes; all of them where it states none.

    Raises
    ------
    InputError
        If the file states other modes only, or several for one code and none is chosen.
    """
    stated = sorted({cells.raw("mode").upper() for cells in rows if cells.raw("mode")})
    if mode is None:
        _refuse_several(rows, stated, file_name)
        return list(rows)
    if stated and str(mode) not in stated:
        raise InputError(
            f"{file_name}: the file states measurement mode {' and '.join(stated)}, not {mode}.",
            remedy=Remedy.MODE_OF_THE_FILE,
        )
    return [cells for cells in rows if cells.raw("mode").upper() in ("", str(mode))]


def refuse_contradiction(rows: Sequence[Cells], convention: Convention, file_name: str) -> None:
    """Refuse a convention that says otherwise than the file.

    Raises
    ------
    InputError
        Naming the first row that it contradicts.
    """
    if convention.stated_white is not None:
        white = illuminant_name(convention.stated_white)
        _refuse_other(rows, "illuminant", white, file_name)
    if convention.stated_observer is not None:
        _refuse_other(rows, "observer", str(convention.stated_observer), file_name)
    corrected = [cells for cells in rows if cells.raw("bandpass")]
    if convention.correct_bandpass and corrected:
        raise InputError(
            f"{file_name}: row {corrected[0].row.number}: the spectrum is corrected for the "
            "bandpass already.",
            remedy=Remedy.CORRECTED_ALREADY,
        )


def _refuse_other(rows: Sequence[Cells], title: str, wanted: str, file_name: str) -> None:
    for cells in rows:
        stated = cells.raw(title)
        found = _plain_illuminant(stated) if title == "illuminant" else stated
        if stated and found != wanted:
            raise InputError(
                f"{file_name}: row {cells.row.number} states the {title} {stated}, which "
                f"contradicts the {title} {wanted} that was asked for; the file's own word counts.",
                remedy=(
                    Remedy.WHITE_OF_THE_FILE
                    if title == "illuminant"
                    else Remedy.OBSERVER_OF_THE_FILE
                ),
            )


def _refuse_several(rows: Sequence[Cells], stated: list[str], file_name: str) -> None:
    if len(stated) < 2:
        return
    modes: dict[str, str] = {}
    for cells in rows:
        code, mode = cells.text("code").casefold(), cells.raw("mode").upper()
        if modes.setdefault(code, mode) != mode:
            raise InputError(
                f"{file_name}: {cells.text('code')} is measured as {modes[code] or 'not stated'} "
                f"and as {mode or 'not stated'}.",
                remedy=Remedy.ONE_MODE,
                modes=" or ".join(stated),
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
