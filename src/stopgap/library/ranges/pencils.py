"""Rows of a range file that are swatches of one pencil: told apart, and what they share."""

from collections.abc import Sequence
from dataclasses import replace
from typing import Any

from stopgap.errors import Note
from stopgap.library.store.entry import Entry
from stopgap.library.tables.reader import Cells
from stopgap.swatches import OF_THE_PENCIL, Swatch, colour_of, laid_key

Taken = tuple[Swatch, Entry]


def note_repeated_rows(rows: Sequence[Cells], swatches: Sequence[Swatch | None]) -> bool:
    """Note each row that is a swatch of an earlier row's, laid in the same way; whether one is.

    A row that could not be read has no swatch, and counts as one of which nothing is said.
    """
    first: dict[tuple[str, ...], int] = {}
    again = False
    for cells, swatch in zip(rows, swatches, strict=True):
        code = cells.text("code")
        laid = laid_key(swatch or Swatch("", "", (0.0, 0.0, 0.0)))
        earlier = first.setdefault((code.casefold(), *laid), cells.row.number)
        if code and earlier != cells.row.number:
            cells.problem("code", code, "each code once", f"which row {earlier} has already")
            again = True
    return again


def by_pencil(taken: Sequence[Taken]) -> list[list[Taken]]:
    """The swatches of each pencil together, in the order of their first rows.

    What is known of a pencil itself is taken, for all of its swatches, from the first row that
    says it.
    """
    groups: dict[str, list[Taken]] = {}
    for swatch, entry in taken:
        groups.setdefault(swatch.code.casefold(), []).append((swatch, entry))
    return [_of_one(group) for group in groups.values()]


def first_of(group: Sequence[Taken]) -> int:
    """The place of the swatch that edits are about: the pencil's colour, else the first."""
    swatches = [swatch for swatch, _ in group]
    colour = colour_of(swatches)
    return next((place for place, swatch in enumerate(swatches) if swatch is colour), 0)


def several_notes(groups: Sequence[Sequence[Taken]]) -> list[Note]:
    """How many pencils have several swatches, and which have none that is dry."""
    notes = []
    several = [group for group in groups if len(group) > 1]
    if several:
        count = sum(map(len, groups))
        text = f"{count} swatches of {len(groups)} pencils: {len(several)} have several each."
        notes.append(Note(text))
    return [*notes, *wet_notes([[swatch for swatch, _ in group] for group in groups])]


def wet_notes(pencils: Sequence[Sequence[Swatch]]) -> list[Note]:
    """Which pencils answer no question, because none of their swatches is dry."""
    wet = [swatches[0].code for swatches in pencils if colour_of(swatches) is None]
    if not wet:
        return []
    more = f" and {len(wet) - _MOST_CODES} more" if len(wet) > _MOST_CODES else ""
    text = (
        f"Only wetted swatches, which tell nothing of dry colour: {', '.join(wet[:_MOST_CODES])}"
        f"{more}. Such a pencil is kept, and answers once it is swatched dry."
    )
    return [Note(text)]


def _of_one(group: list[Taken]) -> list[Taken]:
    """The swatches of one pencil, which share its fields."""
    if len(group) == 1:
        return group
    first = group[0][0]
    plain = Swatch("", "", (0.0, 0.0, 0.0))
    shared: dict[str, Any] = {"code": first.code, "owned": any(swatch.owned for swatch, _ in group)}
    for name in OF_THE_PENCIL:
        stated = (getattr(swatch, name) for swatch, _ in group)
        default = getattr(plain, name)
        shared[name] = next((value for value in stated if value != default), default)
    return [(replace(swatch, **shared), entry) for swatch, entry in group]


_MOST_CODES = 8
