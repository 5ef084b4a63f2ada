"""What the user owns, decided for pencils that are named and for those of a list file."""

from collections.abc import Sequence
from pathlib import Path
from typing import NamedTuple

from stopgap.library.lists import find_swatches, read_list
from stopgap.library.store.library import Library


class OwnershipChange(NamedTuple):
    """How many pencils changed, and how many were so already."""

    changed: int
    already: int


def decide_owned(
    library: Library, pencils: Sequence[str], list_file: Path | None = None, *, owned: bool
) -> OwnershipChange:
    """Mark pencils, and those of the column `colour` of a list file, as owned or not.

    Raises
    ------
    InputError
        If the file cannot be read.
    ProblemsInFile
        With one sentence for each pencil that is unknown; then nothing is changed.
    """
    swatches = [pencil.first for pencil in library.pencils()]
    found = find_swatches(list(pencils), swatches)
    if list_file is not None:
        found += find_swatches(read_list(list_file), swatches, list_file.name)
    named = list({swatch.address: swatch for swatch in found}.values())
    changed = [swatch for swatch in named if swatch.owned is not owned]
    if changed:
        verb = "own" if owned else "disown"
        library.decide(changed, {"owned": int(owned)}, f"{verb} {len(changed)} pencils")
    return OwnershipChange(len(changed), len(named) - len(changed))
