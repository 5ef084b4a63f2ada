"""What a question is asked about: a swatch, or a colour of its own; and what a name may mean."""

from collections.abc import Iterable
from typing import NamedTuple

from stopgap.swatches.swatch import Swatch


class FreeColour(NamedTuple):
    """A colour that belongs to no pencil: `label` as it was written, Lab under D50, 2 degree."""

    label: str
    lab: tuple[float, float, float]


Target = Swatch | FreeColour


def nearest_spellings(name: str, known: Iterable[str], limit: int = 3) -> str:
    """` Did you mean 'X' or 'Y'?` with a leading space, or nothing where no name is near."""
    from difflib import get_close_matches

    by_fold = {candidate.casefold(): candidate for candidate in known}
    near = get_close_matches(name.casefold(), by_fold, n=limit, cutoff=0.6)
    if not near:
        return ""
    return f" Did you mean {' or '.join(repr(by_fold[fold]) for fold in near)}?"
