"""Which column of a table holds what, by its heading: in any case, `Code*`, `First pressure`."""

import re
from collections.abc import Collection, Mapping
from functools import lru_cache
from itertools import pairwise
from types import MappingProxyType
from typing import NamedTuple

from stopgap.errors import InputError
from stopgap.library.tables.cells import unguard, unkept
from stopgap.library.tables.formats import TextRow, TextTable
from stopgap.swatches import CONDITIONS, FIELDS

XYZ = ("X", "Y", "Z")
HEX = ("hex",)
KNOWN = (
    *(title for row in FIELDS.values() if row.formats for title in row.titles),
    *CONDITIONS,
    *XYZ,
    *HEX,
)
"""Headings that a range file may have beside those of spectra; all others are kept as they are."""
_SPECTRAL = re.compile(r"nm_?(\d{3,4}(?:[.,]\d+)?)")


class Columns(NamedTuple):
    """Places of the known columns, of the spectral ones by wavelength [nm], and of the rest.

    Known columns are asked for by their title in any case; `titles` are the headings as they stand.
    """

    place: Mapping[str, int]
    spectral: Mapping[float, int]
    unknown: Mapping[str, int] = MappingProxyType({})
    titles: Mapping[int, str] = MappingProxyType({})

    def own(self, title: str) -> str:
        """The file's own heading of a known column, as it stands there."""
        place = self.place.get(folded(title))
        return title if place is None else self.titles.get(place, title)

    def has(self, names: Collection[str]) -> bool:
        """Whether all of these columns are there."""
        return all(folded(name) in self.place for name in names)


@lru_cache(maxsize=4096)  # every cell is asked for by its heading
def folded(title: str) -> str:
    """A heading as it is compared: `Lightfastness scale` is `lightfastness_scale`, `L*` is `l`.

    A heading that says something says something when compared: `*` alone stays.
    """
    bare = title.strip().casefold()
    return (bare.removesuffix("*").strip() or bare).replace(" ", "_")


def is_spectral(title: str) -> bool:
    """Whether a heading, as it is compared, names a wavelength."""
    return _SPECTRAL.fullmatch(title) is not None


def find_columns(
    table: TextTable,
    file_name: str,
    known: Collection[str],
    required: Collection[str] = (),
    *,
    spectra: bool = False,
) -> Columns:
    """The columns of a file whose headings are among `known`.

    With `spectra`, headings such as nm400 are columns of reflectances, whose wavelengths must rise
    from left to right save in a format that lists them in any order.

    Raises
    ------
    InputError
        If a required column is missing, a heading occurs twice, or wavelengths do not rise.
    """
    at = f"{file_name}: row {table.header.number}"
    known_folded = {folded(title) for title in known}
    place: dict[str, int] = {}
    wavelengths: dict[float, int] = {}
    unknown: dict[str, int] = {}
    for title, index in _headings(table.header, at).items():
        name = folded(title)
        spectral = _SPECTRAL.fullmatch(name) if spectra else None
        if spectral:
            nm = float(spectral[1].replace(",", "."))
            if nm in wavelengths:
                raise InputError(f"{at}: two columns hold the wavelength {nm:g} nm. Keep one.")
            wavelengths[nm] = index
        elif name in known_folded:
            place[name] = index
        else:
            unknown[unkept(unguard(title))] = index
    if table.details.get("format") != "CGATS":
        _refuse_falling(wavelengths, at)
    columns = Columns(
        place,
        dict(sorted(wavelengths.items())),
        unknown,
        dict(enumerate(table.own or table.header.cells)),
    )
    lacking = [title for title in required if not columns.has([title])]
    if lacking:
        raise InputError(
            f"{at}: no column is headed {' or '.join(map(repr, lacking))}. The first row must name "
            f"the columns; found {found_headings(table):.300}."
        )
    return columns


def found_headings(table: TextTable) -> str:
    """The headings of a table for a sentence."""
    return ", ".join(repr(title) for title in table.header.cells if title) or "nothing"


def _headings(header: TextRow, at: str) -> dict[str, int]:
    """Headings that are not empty, with their places; each may stand once."""
    places: dict[str, int] = {}
    seen: set[str] = set()
    for index, title in enumerate(header.cells):
        name = folded(title)
        if name in seen:
            raise InputError(f"{at}: two columns are headed {title!r}. Keep one.")
        if name:
            seen.add(name)
            places[title] = index
    return places


def _refuse_falling(wavelengths: Mapping[float, int], at: str) -> None:
    for earlier, later in pairwise(wavelengths):
        if earlier > later:
            raise InputError(
                f"{at}: the wavelengths do not rise, {later:g} nm stands after {earlier:g} nm; a "
                "column may be mislabelled. Put them in order."
            )
