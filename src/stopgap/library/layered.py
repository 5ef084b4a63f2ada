"""Layered swatches of the user's own, from a spreadsheet or from a chart that was scanned."""

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple

from stopgap.colorimetry import parse_colour
from stopgap.errors import InputError, NothingFoundError, Problem, StopgapError
from stopgap.library.name_index import NameIndex
from stopgap.library.ranges.colours import (
    LAB,
    check_factors,
    conditions_of,
    entries_of,
    refuse_contradiction,
    with_colour,
)
from stopgap.library.ranges.conversion import Convention, convert
from stopgap.library.store.entry import Entry, EntryKind
from stopgap.library.store.library import Library
from stopgap.library.tables.columns import HEX, XYZ
from stopgap.library.tables.reader import Cells, read_sheet
from stopgap.library.targets import find_swatch
from stopgap.swatches import CONDITIONS, Finish, Lab, Layer, Pressure, Stack, Swatch

if TYPE_CHECKING:
    from stopgap.swatches import Edition

_REQUIRED = ("first", "first_pressure")
_KNOWN = (*_REQUIRED, "second", "second_pressure", "over", *LAB, *XYZ, *HEX, *CONDITIONS)
_AS_STATED = Convention()


@dataclass(frozen=True, slots=True)
class LayeredRow:
    """One layered swatch, of one pencil or of two; `over` is the colour beneath, where stated."""

    stack: Stack
    lab: Lab
    over: Lab | None


class LayeredFile(NamedTuple):
    """The layered swatches of a file, and what to say at the end of pencils that are not known."""

    rows: list[LayeredRow]
    unknown: InputError | None


def read_layered(
    path: Path,
    swatches: Sequence[Swatch],
    pressures: Sequence[str],
    convention: Convention = _AS_STATED,
) -> LayeredFile:
    """The layered swatches in a file, their pencils looked up among `swatches`.

    Their colours are read as those of a range file are: spectra, L*, a*, b*, X, Y, Z or hex.

    Raises
    ------
    InputError
        If the file cannot be read, lacks a column, or has no row; if it contradicts the convention,
        or that is refused.
    ProblemsInFile
        With every cell that is not as expected.
    """
    sheet = with_colour(read_sheet(path, _KNOWN, _REQUIRED, "layered swatch", spectra=True))
    refuse_contradiction(sheet.rows, convention, sheet.name)
    entries, per_cent = entries_of(sheet.rows, sheet.table.unit, convention)
    index = NameIndex(swatches)
    unknown: list[Problem] = []
    drafts: list[tuple[Swatch, Entry]] = []
    laid: list[tuple[Stack, Lab | None]] = []
    for cells, entry in zip(sheet.rows, entries, strict=True):
        if entry is not None and entry.kind is EntryKind.NOTHING:
            cells.problem("colour", "", "L, a, b or another colour in every row")
        stack = _stack(cells, index, pressures, unknown)
        over = _colour(cells, "over") if cells.text("over") else None
        if stack is None or entry is None:
            continue
        draft = _draft(stack, cells, entry, convention)
        check_factors(cells, entry, draft.finish, per_cent=per_cent, unit=sheet.table.unit)
        drafts.append((draft, entry))
        laid.append((stack, over))
    sheet.raise_problems("nothing was learnt or stored.")
    taken = convert([draft for draft, _ in drafts], [entry for _, entry in drafts], convention)
    rows = [
        LayeredRow(stack, swatch.lab, over)
        for (stack, over), (swatch, _) in zip(laid, taken, strict=True)
    ]
    if not unknown:
        return LayeredFile(rows, None)
    from stopgap.library.lists import left_out

    return LayeredFile(rows, left_out(unknown, sheet.name, alone=not rows))


def scanned_rows(
    library: Library, edition: "Edition", swatches: Sequence[Swatch]
) -> list[LayeredRow]:
    """What was scanned of a chart: its boxes of layers, and fields laid lightly or at medium.

    `swatches` are the pencils' colours, which the layers are reckoned from.

    Raises
    ------
    NothingFoundError
        If there is none.
    """
    from stopgap.library.store.editions import of_edition, scanned_layers

    known = {swatch.address: swatch for swatch in swatches}
    rows = [
        LayeredRow(
            Stack(map(Layer, map(known.__getitem__, one.pencils), one.pressures)), one.lab, None
        )
        for one in scanned_layers(library, edition)
        if all(address in known for address in one.pencils)
    ]
    rows += [
        LayeredRow(Stack([Layer(known[swatch.address], str(swatch.pressure))]), swatch.lab, None)
        for pencil in library.pencils()
        for swatch in pencil.swatches
        if of_edition(swatch, edition)
        and swatch.pressure is not Pressure.HEAVY
        and swatch.address in known
    ]
    if not rows:
        raise NothingFoundError(
            f"No layers, and nothing laid lightly, was scanned of edition {edition.number}."
        )
    return rows


def _stack(
    cells: Cells, index: NameIndex, pressures: Sequence[str], unknown: list[Problem]
) -> Stack | None:
    """The layers of a row, None where a pencil of it is not known, which is noted."""
    layers = []
    titles = ("first", "second") if cells.text("second") else ("first",)
    for title in titles:
        pressure = _pressure(cells, f"{title}_pressure", pressures)
        try:
            layers.append(Layer(find_swatch(cells.text(title), index), pressure))
        except StopgapError as error:
            own = cells.columns.own(title)
            unknown.append(Problem(cells.row.number, own, reason=str(error)))
    return None if len(layers) < len(titles) else Stack(layers)


def _draft(stack: Stack, cells: Cells, entry: Entry, convention: Convention) -> Swatch:
    """The layers as one swatch, its Lab still to be converted; it glows as any pencil of it."""
    glows = any(layer.swatch.finish is Finish.FLUORESCENT for layer in stack)
    first = stack[0].swatch
    return Swatch(
        first.range,
        first.code,
        (0.0, 0.0, 0.0),
        finish=Finish.FLUORESCENT if glows else Finish.PLAIN,
        measurement=conditions_of(cells, entry, convention),
    )


def _pressure(cells: Cells, title: str, pressures: Sequence[str]) -> str:
    stated = cells.text(title).casefold()
    if stated not in pressures:
        cells.problem(title, stated, ", ".join(pressures))
    return stated


def _colour(cells: Cells, title: str) -> Lab | None:
    stated = cells.text(title)
    try:
        lab = parse_colour(stated.replace("−", "-"))
    except InputError as error:
        cells.trouble(title, str(error))
        return None
    if lab is None:
        cells.problem(title, stated, "#rrggbb or lab(L a b)")
        return None
    L, a, b = (float(value) for value in lab)
    return (L, a, b)
