"""Which pencils the user says are in the box."""

from collections.abc import Sequence
from pathlib import Path
from typing import NamedTuple

from stopgap.errors import Problem
from stopgap.library.lists import Listed, look_up, read_list
from stopgap.library.name_index import NameIndex, after_their_range
from stopgap.library.store.editions import some_names
from stopgap.library.store.library import Library
from stopgap.library.targets import find_several
from stopgap.swatches import Swatch


class OwnershipChange(NamedTuple):
    """How many pencils changed, how many were so already, and what names nothing or several."""

    changed: int
    already: int
    unknown: tuple[Problem, ...] = ()


def decide_owned(
    library: Library,
    pencils: Sequence[str],
    list_file: Path | None = None,
    *,
    owned: bool,
    what: str = "",
) -> OwnershipChange:
    """Mark pencils, and those of the column `colour` of a list file, as owned or not.

    Each text is a pencil, a range, a span of it, or a code of the range that was named before it.
    What is unknown is left out and told. One that was used up and is owned again is a new one.
    `what` names the change in words of its own.

    Raises
    ------
    InputError
        If the file cannot be read.
    """
    index = NameIndex(pencil.first for pencil in library.pencils())
    listed: Sequence[str | Listed] = [] if list_file is None else read_list(list_file)
    named: dict[str, Swatch] = {}
    unknown: list[Problem] = []
    for item in (*after_their_range(pencils, index), *listed):
        several, wrong = look_up(item, index, find_several)
        named.update((swatch.address, swatch) for each in several for swatch in each)
        unknown += wrong
    changed = own(library, list(named.values()), owned=owned, what=what)
    return OwnershipChange(changed, len(named) - changed, tuple(unknown))


def own(library: Library, pencils: Sequence[Swatch], *, owned: bool, what: str = "") -> int:
    """Mark those pencils as owned or not; how many were not so already. `what` as above."""
    changed = [one for one in pencils if (one.at_hand if owned else one.owned) is not owned]
    if changed:
        values: dict[str, int | None] = {"owned": int(owned)}
        if owned and any(swatch.stock is not None for swatch in changed):
            values["stock"] = None  # of a new one nobody said yet how much is left
        library.decide(changed, values, what or _words(changed, owned=owned))
    return len(changed)


def _words(changed: Sequence[Swatch], *, owned: bool) -> str:
    return f"{'own' if owned else 'disown'} {some_names(changed)}"
