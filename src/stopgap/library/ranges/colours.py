"""What one row states: its colour as entered, spectrum, Lab, XYZ or hex; how it was measured."""

from collections.abc import Sequence

import numpy as np

from stopgap.colorimetry import as_wavelengths, hex_to_lab, illuminant_name
from stopgap.errors import InputError, Remedy
from stopgap.library.ranges.conversion import Convention
from stopgap.library.store.entry import Entry, EntryKind
from stopgap.library.tables.columns import HEX, XYZ, found_headings
from stopgap.library.tables.reader import Cells, Sheet
from stopgap.swatches import (
    FIELDS,
    Bandpass,
    Finish,
    Lab,
    MeasurementConditions,
    MeasurementMode,
    Number,
    OneOf,
)

LAB = FIELDS["lab"].titles

_LIGHTNESS = Number(0.0, 100.0, "a lightness from 0 to 100")
_OPPONENT = Number(-200.0, 200.0, "-200 to 200")
_TRISTIMULUS = Number(0.0, 400.0, "0 to 400 (Y = 100)")
_FACTOR = Number(0.0, 400.0, "a reflectance of 0 or more")  # or per cent
_PER_CENT_ABOVE = 2.0  # no reflectance factor of a pencil, fluorescent or not, is larger
_UNEVEN = 0.021  # nm


def with_colour(sheet: Sheet, *, needed: bool = True) -> Sheet:
    """The sheet, if some column of it is a colour; unless `needed`, if none is half of one.

    Raises
    ------
    InputError
        If that is not so.
    """
    columns = sheet.columns
    half = [title for title in (*LAB, *XYZ) if columns.has([title])]
    whole = columns.spectral or any(map(columns.has, (LAB, XYZ, HEX)))
    if not whole and (needed or half):
        where = f"{sheet.name}: row {sheet.table.header.number}"
        alone = f"{' and '.join(half)} alone {'is' if len(half) == 1 else 'are'} " if half else ""
        raise InputError(
            f"{where}: {alone}no colour. Expected columns L, a, b, or X, Y, Z, or hex, or nm400, "
            f"nm410, …; found {found_headings(sheet.table):.300}."
        )
    return sheet


def entry_of(cells: Cells, convention: Convention) -> Entry | None:
    """The best colour of a row: spectrum, Lab, XYZ, hex, else nothing; None beside a problem."""
    columns = cells.columns
    if any(cells.at(index) for index in columns.spectral.values()):
        return _spectrum(cells)
    white, observer = _white_of(cells, convention)
    if columns.has(LAB) and any(map(cells.raw, LAB)):
        return Entry(EntryKind.LAB, lab_of(cells), white=white, observer=observer)
    if columns.has(XYZ) and any(map(cells.raw, XYZ)):
        xyz = tuple(_stated(cells, title, cells.text(title), _TRISTIMULUS) for title in XYZ)
        return Entry(EntryKind.XYZ, xyz, white=white, observer=observer)
    if columns.has(HEX) and cells.raw("hex"):
        return _hex_entry(cells)
    return Entry(EntryKind.NOTHING)


def entries_of(
    rows: Sequence[Cells], unit: str | None, convention: Convention
) -> tuple[list[Entry | None], bool]:
    """The colours of rows, None beside a problem; whether their reflectances were in per cent.

    `unit` is the reflectances' unit where the file states one; in the entries they are factors.
    """
    entries = [entry_of(cells, convention) for cells in rows]
    per_cent = is_per_cent(entries, unit)
    return (list(map(as_factors, entries)) if per_cent else entries), per_cent


def lab_of(cells: Cells) -> Lab:
    """L*, a*, b* under their headings; one that is missing or not within its limits is noted."""
    kinds = (_LIGHTNESS, _OPPONENT, _OPPONENT)
    L, a, b = (_stated(cells, title, cells.text(title), kind) for title, kind in zip(LAB, kinds))
    return (L, a, b)


def is_per_cent(entries: list[Entry | None], unit: str | None) -> bool:
    """Whether reflectances are in per cent: as the file states, else some value says so."""
    if unit is not None:
        return unit == "per cent"
    return any(
        max(entry.values) > _PER_CENT_ABOVE
        for entry in entries
        if entry is not None and entry.kind is EntryKind.SPECTRUM
    )


def as_factors(entry: Entry | None) -> Entry | None:
    """An entry in per cent as one in factors."""
    if entry is None or entry.kind is not EntryKind.SPECTRUM:
        return entry
    factors = tuple(value / 100.0 for value in entry.values)
    return Entry(EntryKind.SPECTRUM, factors, entry.wavelengths)


def check_factors(
    cells: Cells, entry: Entry | None, finish: Finish, *, per_cent: bool, unit: str | None
) -> None:
    """Note factors that a pencil cannot have, or that are in another unit than the file's."""
    if entry is None or entry.kind is not EntryKind.SPECTRUM:
        return
    brightest = max(entry.values)
    if per_cent and unit is None and 0.0 < brightest <= 0.01:
        title = _title(cells, entry, brightest)
        expected = "per cent as in the other rows; this row looks like factors. Use one unit"
        cells.problem(title, f"{100.0 * brightest:g}", expected)
    elif unit == "factor" and brightest > _PER_CENT_ABOVE:
        expected = "a factor of 0 to 1, which is what the format states; this looks like per cent"
        cells.problem(_title(cells, entry, brightest), f"{brightest:g}", expected)
    elif brightest > 1.0 and finish is not Finish.FLUORESCENT:
        expected = "at most 1 (100 per cent); more only with the finish fluorescent"
        for value in entry.values:
            if value > 1.0:
                cells.problem(_title(cells, entry, value), f"{value:g}", expected)


def _title(cells: Cells, entry: Entry, value: float) -> str:
    wavelength = entry.wavelengths[entry.values.index(value)]
    return cells.columns.titles[cells.columns.spectral[wavelength]]


def _spectrum(cells: Cells) -> Entry | None:
    """The row's readings; a row may have fewer than the file, but in equal steps."""
    columns = cells.columns
    given = [at for at, index in columns.spectral.items() if cells.at(index)]
    if len(given) > 1 and np.ptp(np.diff(given)) > _UNEVEN:
        given = [at for at in columns.spectral if given[0] <= at <= given[-1]]
    places = [columns.spectral[at] for at in given]
    values = [_stated(cells, columns.titles[at], cells.at(at), _FACTOR) for at in places]
    try:
        as_wavelengths(given)
    except InputError as error:
        cells.trouble("", str(error))
        return None
    return Entry(EntryKind.SPECTRUM, tuple(values), tuple(given))


def _white_of(cells: Cells, convention: Convention) -> tuple[str, int]:
    """White and observer of the row's Lab or XYZ: the file's own word, else the convention."""
    stated = cells.raw("illuminant")
    white = convention.white
    if stated:
        try:
            white = illuminant_name(stated)
        except InputError:
            cells.problem("illuminant", stated, "a CIE illuminant such as D50, D65, A or F11")
    observer = cells.raw("observer")
    if observer and observer not in ("2", "10"):
        cells.problem("observer", observer, "2 or 10 (degrees)")
        observer = ""
    return white, int(observer) if observer else convention.observer


def _hex_entry(cells: Cells) -> Entry | None:
    text = cells.raw("hex")
    text = text if text.startswith("#") else f"#{text}"
    try:
        hex_to_lab(text)
    except InputError:
        cells.problem("hex", cells.raw("hex"), "six hexadecimal digits such as #c04a2b")
        return None
    return Entry(EntryKind.HEX, text=text, white="D65")


def _stated(cells: Cells, column: str, cell: str, kind: Number) -> float:
    value = cells.number_in(column, cell, kind)
    if value is None and not cell:
        cells.problem(column, cell, kind.expected)
    return 0.0 if value is None else value


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
