"""What was probably meant by a name that nothing bears."""

from collections.abc import Iterable


def nearest_spellings(name: str, known: Iterable[str], limit: int = 3) -> str:
    """` Did you mean 'X' or 'Y'?` with a leading space, or nothing where no name is near."""
    from difflib import get_close_matches

    by_fold = {candidate.casefold(): candidate for candidate in known}
    near = get_close_matches(name.casefold(), by_fold, n=limit, cutoff=0.6)
    if not near:
        return ""
    return f" Did you mean {' or '.join(repr(by_fold[fold]) for fold in near)}?"
