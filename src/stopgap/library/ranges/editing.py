"""What the user says by hand: of one pencil, over what the file says, or of a whole range.

A correction of a range is done to the colours of its file and never written over them.
"""

import json
from collections.abc import Mapping
from dataclasses import replace
from typing import TYPE_CHECKING, Any

from stopgap.errors import InputError
from stopgap.library.store.insertion import swatch_id, take_first
from stopgap.library.store.library import Library
from stopgap.library.store.papers import as_in_drawer, stored_papers
from stopgap.library.store.rows import DECIDABLE, FURTHER, stored_fields
from stopgap.swatches import FIELDS, Swatch, laid_key, laid_words, uncertainty_stated

if TYPE_CHECKING:
    from stopgap.swatches import RangeCorrection


def with_stated(swatch: Swatch, stated: Mapping[str, Any]) -> Swatch:
    """`swatch` with fields as stated, by their names; a stated source brings its own uncertainty.

    Raises
    ------
    InputError
        If a field is not one that can be decided.
    """
    for name in stated:
        if name not in FIELDS or not FIELDS[name].decidable:
            raise InputError(f"{name}: not something that can be set on a swatch.")
    if "source" in stated or "uncertainty" in stated:
        stated = {**stated, **uncertainty_stated(stated, stated.get("source", swatch.source))}
    return replace(swatch, **stated)


def edit_swatch(
    library: Library, swatch: Swatch, stated: Mapping[str, Any], *, as_imported: bool = False
) -> bool:
    """Set fields of a swatch, in one change; whether anything is different now.

    With `as_imported`, what the user had decided is forgotten first, so that what the file says
    lies beneath what is stated.

    Raises
    ------
    InputError
        If a field is not one that can be decided.
    """
    if "paper" in stated:
        named = as_in_drawer(replace(swatch, paper=stated["paper"]), stored_papers(library))
        stated = {**stated, "paper": named.paper}
    beneath = library.as_imported(swatch) if as_imported else swatch
    values = _changed(beneath, stated)
    so_already = values == library.decisions(swatch) if as_imported else not values
    if so_already:
        return False
    _refuse_alike(library, swatch, with_stated(beneath, stated))
    what = f"editing {swatch.address}" if values else f"taking {swatch.address} as imported"
    library.decide([swatch], values, what, afresh=as_imported)
    return True


def _refuse_alike(library: Library, before: Swatch, after: Swatch) -> None:
    """Refuse what would make a pencil's first swatch like another that it has."""
    pencil = next(each for each in library.pencils() if each.first.address == before.address)
    if laid_key(after) in map(laid_key, pencil.swatches[1:]):
        raise InputError(
            f"{after.address} has another swatch {laid_words(after) or 'laid heavy'}; two of a "
            "pencil must differ in pressure, passes, state, batch, paper or date."
        )


def _changed(swatch: Swatch, stated: Mapping[str, Any]) -> dict[str, Any]:
    """The columns of the library in which a swatch with the stated fields differs from it."""
    before, after = stored_fields(swatch), stored_fields(with_stated(swatch, stated))
    changed = {name: after[name] for name in DECIDABLE if before[name] != after[name]}
    if "lab" in stated:
        # a colour is decided as a whole, even where one number stays
        changed.update({name: after[name] for name in FIELDS["lab"].columns})
    return changed


def stated_lab(
    lab: tuple[float, float, float] | None, hex_text: str | None
) -> tuple[float, float, float] | None:
    """The colour stated as Lab or as hex; None where neither was.

    Raises
    ------
    InputError
        If both were stated, or the colour is malformed or out of range.
    """
    from stopgap.colorimetry import parse_colour  # numpy, which taking a swatch away needs not

    if lab is not None and hex_text is not None:
        raise InputError("The colour is stated as Lab and as hex: state it in one way.")
    if hex_text is not None:
        text = hex_text if hex_text.startswith("#") else f"#{hex_text}"
        found = parse_colour(text)
    elif lab is not None:
        found = parse_colour("lab({!r} {!r} {!r})".format(*lab))
    else:
        return None
    if found is None:
        raise InputError(f"{hex_text or lab}: expected a colour, #rrggbb or L a b.")
    L, a, b = (float(value) for value in found)
    return (L, a, b)


def correct_range(library: Library, name: str, correction: "RangeCorrection", what: str) -> None:
    """Correct every swatch that a range's file states, beside what was corrected before.

    Colours that the user set or entered by hand stay. One change, which undo takes back. The mean
    of what it changes in L*, a*, b* is kept beside it, to be told.

    Raises
    ------
    UnknownSwatchError
        If there is no such range.
    """
    found = library.colour_range(name)
    labs = [swatch.lab for swatch in found.swatches]
    moved = (correction.lab(labs) - labs).mean(axis=0).tolist() if labs else (0.0, 0.0, 0.0)
    total = [before + more for before, more in zip(found.shift, moved, strict=True)]
    steps = [*found.corrections, correction]
    _set_correction(
        library, found.name, total, json.dumps([step._asdict() for step in steps]), what
    )


def clear_correction(library: Library, name: str, what: str) -> bool:
    """Take the correction of a range away; whether there was one."""
    found = library.colour_range(name)
    if not found.corrections:
        return False
    _set_correction(library, found.name, [0.0, 0.0, 0.0], None, what)
    return True


def _set_correction(
    library: Library, name: str, mean: list[float], steps: str | None, what: str
) -> None:
    with library.changing(what) as connection:
        connection.execute(
            "UPDATE colour_range SET shift = ?, correction = ? WHERE name = ?",
            (json.dumps(mean), steps, name),
        )


def remove_further(library: Library, swatch: Swatch, number: int) -> Swatch:
    """Take away one of a pencil's swatches beside its colour, the first of those being number 1.

    Where it is the pencil's first, the next takes its place, and what the user had decided of how
    it was swatched is gone with it.

    Returns
    -------
    Swatch
        The one that is gone.

    Raises
    ------
    InputError
        If there is none of that number.
    """
    pencil = next(each for each in library.pencils() if each.first.address == swatch.address)
    colour = pencil.colour() or pencil.first
    others = [place for place, each in enumerate(pencil.swatches) if each is not colour]
    if not 1 <= number <= len(others):
        has = {0: "no swatch", 1: "1 swatch"}.get(len(others), f"{len(others)} swatches")
        raise InputError(f"{swatch.address} has {has} beside its colour, so not number {number}.")
    place = others[number - 1]
    with library.changing(f"removal of a swatch of {swatch.address}") as connection:
        of_id = swatch_id(connection, swatch)
        rows = connection.execute(
            "SELECT id FROM further_swatch WHERE swatch_id = ? ORDER BY position, id", (of_id,)
        ).fetchall()
        further_id = rows[max(place - 1, 0)]["id"]
        if place == 0:
            columns = ", ".join((*FURTHER, "entry", "by_hand"))
            row = connection.execute(
                f"SELECT {columns} FROM further_swatch WHERE id = ?", (further_id,)
            ).fetchone()
            take_first(connection, of_id, dict(row))
        connection.execute("DELETE FROM further_swatch WHERE id = ?", (further_id,))
    return pencil.swatches[place]
