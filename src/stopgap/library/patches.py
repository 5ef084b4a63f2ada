"""A colour target of the user's own, from a spreadsheet: where its patches lie, and their colours.

Columns are ours: how far `across` and `down` from the upper left of the chart's page the middle of
a patch lies, in millimetres, with its `size`; or `row` and `column` of a box of the chart that was
itself measured. `page` says which page, the first where it says nothing.
"""

from pathlib import Path
from types import MappingProxyType

from stopgap.library.ranges.colours import (
    LAB,
    check_factors,
    conditions_of,
    entries_of,
    with_colour,
)
from stopgap.library.ranges.conversion import Convention, convert
from stopgap.library.store.entry import Entry
from stopgap.library.tables.columns import HEX, XYZ
from stopgap.library.tables.reader import Cells, read_sheet
from stopgap.swatches import (
    CONDITIONS,
    FIELDS,
    SOURCE_UNCERTAINTY,
    Finish,
    Number,
    Rectangle,
    Swatch,
    TargetPatch,
    WholeNumber,
)

PATCH_SIZE = 8.0
"""Side of a patch [mm] where the file states none."""

_LENGTH = Number(-300.0, 600.0, "millimetres from the upper left of the page, -300 to 600")
_COUNT = WholeNumber(1, 99, "a whole number from 1 to 99")
_PLACES = MappingProxyType(
    {
        "page": _COUNT,
        "across": _LENGTH,
        "down": _LENGTH,
        "size": Number(4.5, 100.0, "a side of 4.5 to 100 mm"),
        "row": _COUNT,
        "column": _COUNT,
    }
)
_KNOWN = (*_PLACES, "uncertainty", *LAB, *XYZ, *HEX, *CONDITIONS)


def read_patches(path: Path) -> tuple[TargetPatch, ...]:
    """The patches in a file; their colours are read as those of a range file are.

    Raises
    ------
    InputError
        If the file cannot be read, has no colour, or no row.
    ProblemsInFile
        With every cell that is not as expected.
    """
    convention = Convention()
    sheet = with_colour(read_sheet(path, _KNOWN, (), "patch", spectra=True))
    entries, per_cent = entries_of(sheet.rows, sheet.table.unit, convention)
    taken: list[tuple[_Place, Swatch, Entry]] = []
    for cells, entry in zip(sheet.rows, entries, strict=True):
        place = _place(cells)
        own = cells.field(FIELDS["uncertainty"])
        if entry is not None:
            check_factors(cells, entry, Finish.PLAIN, per_cent=per_cent, unit=sheet.table.unit)
            by_source = SOURCE_UNCERTAINTY[convention.source_of(entry)].own
            draft = Swatch(
                sheet.name,
                str(cells.row.number),
                (0.0, 0.0, 0.0),
                uncertainty=by_source if own is None else own,
                measurement=conditions_of(cells, entry, convention),
            )
            taken.append((place, draft, entry))
    sheet.raise_problems("nothing was learnt or stored.")
    done = convert([draft for _, draft, _ in taken], [entry for *_, entry in taken], convention)
    return tuple(
        TargetPatch(*place, swatch.lab, swatch.uncertainty)
        for (place, *_), (swatch, _) in zip(taken, done, strict=True)
    )


_Place = tuple[int, Rectangle | None, tuple[int, int] | None]


def _place(cells: Cells) -> _Place:
    """Page and place of a patch, and row and column of a box: one of the two, or a problem."""
    at = {title: cells.number(title, kind) for title, kind in _PLACES.items()}
    lying, boxed = (all(map(cells.raw, pair)) for pair in (("across", "down"), ("row", "column")))
    if lying == boxed:
        expected = "across and down in millimetres, or else row and column of a box"
        cells.problem("across", cells.raw("across"), expected)
    side = at["size"] or PATCH_SIZE
    across, down = ((at[title] or 0.0) - side / 2.0 for title in ("across", "down"))
    place = Rectangle(across, down, side, side) if lying else None
    cell = (int(at["row"] or 1), int(at["column"] or 1)) if boxed else None
    return int(at["page"] or 1), place, cell
