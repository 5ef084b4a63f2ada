"""Which column of a table holds what, by its header."""

import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from itertools import pairwise

from stopgap.errors import InputError
from stopgap.library.tables.formats import Table

KNOWN = (
    "code",
    "name",
    "status",
    "owned",
    "finish",
    "core",
    "lightfastness",
    "lightfastness_scale",
    "price",
    "laydown",
    "uncertainty",
    "paper",
    "note",
)
CONDITIONS = (
    "illuminant",
    "observer",
    "mode",
    "geometry",
    "instrument",
    "backing",
    "date",
    "bandpass",
)
LAB = ("l", "a", "b")
XYZ = ("x", "y", "z")
HEX = ("hex",)
_SPECTRAL = re.compile(r"nm_?(\d{3,4}(?:[.,]\d+)?)")


@dataclass(frozen=True, slots=True)
class Columns:
    """Places of the known columns, of the spectral ones by wavelength [nm], and of the rest."""

    place: Mapping[str, int]
    spectral: Mapping[float, int]
    unknown: Mapping[str, int] = field(default_factory=dict)
    titles: Mapping[int, str] = field(default_factory=dict)

    def has(self, names: tuple[str, ...]) -> bool:
        """Whether all of these columns are there."""
        return all(name in self.place for name in names)


def find_columns(table: Table, file_name: str) -> Columns:
    """The columns of a range file. Wavelengths of a spreadsheet must rise from left to right.

    Raises
    ------
    InputError
        If `code` or a colour is missing, a header occurs twice, or wavelengths do not rise.
    """
    place: dict[str, int] = {}
    spectral: dict[float, int] = {}
    unknown: dict[str, int] = {}
    row = table.header.number
    seen: dict[str, int] = {}
    for index, title in enumerate(table.header.cells):
        folded = title.casefold().removesuffix("*").strip().replace(" ", "_")
        if not folded:
            continue
        if folded in seen:
            raise InputError(f"{file_name}: row {row}: two columns are headed {title!r}. Keep one.")
        seen[folded] = index
        wavelength = _SPECTRAL.fullmatch(folded)
        if wavelength:
            at = float(wavelength[1].replace(",", "."))
            if at in spectral:
                raise InputError(
                    f"{file_name}: row {row}: two columns hold the wavelength {at:g} nm. Keep one."
                )
            spectral[at] = index
        elif folded in (*KNOWN, *CONDITIONS, *LAB, *XYZ, *HEX):
            place[folded] = index
        else:
            unknown[title] = index
    if table.details.get("format") != "CGATS" and list(spectral) != sorted(spectral):
        earlier, later = next(pair for pair in pairwise(spectral) if pair[0] > pair[1])
        raise InputError(
            f"{file_name}: row {row}: the wavelengths do not rise, {later:g} nm stands after "
            f"{earlier:g} nm; a column may be mislabelled. Put them in order."
        )
    columns = Columns(
        place, dict(sorted(spectral.items())), unknown, dict(enumerate(table.header.cells))
    )
    found = ", ".join(repr(title) for title in table.header.cells if title) or "nothing"
    if "code" not in place:
        raise InputError(
            f"{file_name}: row {row}: no column is headed 'code'. The first row must name the "
            f"columns; found {found:.300}."
        )
    if not (spectral or any(columns.has(names) for names in (LAB, XYZ, HEX))):
        raise InputError(
            f"{file_name}: row {row}: no colour. Expected columns L, a, b, or X, Y, Z, or hex, or "
            f"nm400, nm410, …; found {found:.300}."
        )
    return columns
