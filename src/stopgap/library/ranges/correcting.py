"""A correction of a whole range, added to the Lab of its file and never written over it."""

import json

from stopgap.library.store.library import Library


def correct_range(
    library: Library, name: str, offset: tuple[float, float, float], what: str
) -> None:
    """Add `offset` to L*, a*, b* of every swatch that a range's file states, beside what was added.

    Colours that the user set or entered by hand stay. One change, which undo takes back.

    Raises
    ------
    UnknownSwatchError
        If there is no such range.
    """
    found = library.colour_range(name)
    total = [before + more for before, more in zip(found.shift, offset, strict=True)]
    _set_shift(library, found.name, total, what)


def clear_correction(library: Library, name: str, what: str) -> bool:
    """Take the correction of a range away; whether there was one."""
    found = library.colour_range(name)
    if not any(found.shift):
        return False
    _set_shift(library, found.name, [0.0, 0.0, 0.0], what)
    return True


def _set_shift(library: Library, name: str, shift: list[float], what: str) -> None:
    with library.changing(what) as connection:
        connection.execute(
            "UPDATE colour_range SET shift = ? WHERE name = ?", (json.dumps(shift), name)
        )
