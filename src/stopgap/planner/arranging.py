"""The families of a library: by the arrangement in use or a named one, and changes to them."""

from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING

from stopgap import library as kept
from stopgap.errors import InputError
from stopgap.library import (
    arrangement_in_use,
    earlier_filing,
    fill_places,
    fills_places,
    keep_arrangement,
    stored_arrangement,
    stored_arrangements,
)
from stopgap.swatches import PROPOSAL, Arrangement, Swatch, key_of

if TYPE_CHECKING:
    from stopgap.library import Library


def open_library(path: str | Path, *, read_only: bool = False, as_one: bool = False) -> "Library":
    """The library at `path`, for use in a `with` block; made where it does not exist yet.

    Pencils that a change brings are kept at their places in arrangements by that change. With
    `as_one`, all that the block reads and changes belongs together: nobody else writes meanwhile,
    and its changes are one change, which lands at the block's end.

    Raises
    ------
    InputError
        If `path` is of a wrong type.
    LibraryError
        If the file cannot be used; with `read_only`, also if there is none.
    """
    if not isinstance(path, str | Path):
        raise InputError(f"expected a file, found {path!r:.60}.", argument="path")
    return kept.open_library(path, read_only=read_only, as_one=as_one, settle=file_newcomers)


@contextmanager
def demo_library() -> "Iterator[Library]":
    """A library with the demo's ranges, for a `with` block that throws it away at its end.

    Examples
    --------
    >>> with demo_library() as library:
    ...     len(library.swatches())
    240
    """
    with kept.demo_library(file_newcomers) as library:
        yield library


FIRST_NAME = "mine"
"""What an arrangement is called that begins with a pencil filed by hand."""


def user_filing(library: "Library", name: str | None = None) -> Arrangement | None:
    """The arrangement of that name, else the one in use, every new pencil at its place.

    None for the tool's proposal, untouched.

    Raises
    ------
    UnknownSwatchError
        If there is none of that name.
    """
    if name is not None and key_of(name.strip()) == PROPOSAL:
        return None
    found = arrangement_in_use(library) if name is None else stored_arrangement(library, name)
    from stopgap.blends.filing.arranging import complete, propose

    if found is not None:
        return complete(found, library.swatches())
    earlier = earlier_filing(library)
    return propose(library.swatches(), earlier) if earlier else None


def file_newcomers(library: "Library") -> None:
    """Keep the places of pencils that the change under way brought, as a part of it.

    In every arrangement that takes them in each has its cheapest place; nobody else moves.
    """
    if fills_places(library):
        from stopgap.blends.filing.arranging import complete

        fill_places(library, complete)


def proposed_arrangement(library: "Library", name: str) -> Arrangement:
    """The tool's proposal for all pencils as an arrangement of that name."""
    from stopgap.blends.filing.arranging import propose

    return propose(library.swatches(), earlier_filing(library))._replace(name=name)


def change_arrangement(
    library: "Library",
    name: str | None,
    change: Callable[[Arrangement, Sequence[Swatch]], Arrangement],
    what: str,
) -> Arrangement:
    """Keep what `change` makes of an arrangement and the swatches, as one change named `what`.

    It is the arrangement of that name or the one in use; where there is none, one begins from the
    tool's proposal.

    Raises
    ------
    UnknownSwatchError
        If there is none of that name.
    """
    from stopgap.blends.filing.arranging import propose

    swatches = library.swatches()
    found = user_filing(library, name)
    if found is None or not found.name:
        found = (found or propose(swatches))._replace(name=_free_name(library))
    changed = change(found, swatches)
    if changed != found or found.name not in _names(library):
        keep_arrangement(library, changed, what)
    return changed


def _free_name(library: "Library") -> str:
    taken = {key_of(name) for name in _names(library)}
    names = (FIRST_NAME if number == 1 else f"{FIRST_NAME} {number}" for number in range(1, 1000))
    return next(name for name in names if name not in taken)


def _names(library: "Library") -> list[str]:
    return [one.arrangement.name for one in stored_arrangements(library)]
