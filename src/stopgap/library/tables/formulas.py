"""Text that could be taken for something else, marked and set free again.

A spreadsheet program could run it as a formula, a reader could take it for a number with a decimal
comma, and a heading of the user's own for one that has a meaning.
"""

import re

COMMA_NUMBER = re.compile(r"[-+−]?\d+,\d+")
"""A cell that is a number with a decimal comma."""
_KEPT = re.compile(r"kept(?: \d+)?: (.+)", re.DOTALL)
_STARTS = ("=", "+", "-", "@", "\t", "\r", "'")


def guard(text: str) -> str:
    """`text` as a cell that is taken for no formula and no number: an apostrophe before it.

    >>> guard("=HYPERLINK()"), guard("1,5"), guard("Wet Slate")
    ("'=HYPERLINK()", "'1,5", 'Wet Slate')
    """
    return f"'{text}" if _is_mistakable(text) else text


def guard_twice(text: str) -> str:
    """`text` guarded only where `unguard` would take something away: for other formats."""
    return guard(text) if unguard(text) != text else text


def unguard(text: str) -> str:
    """The text that `guard` was given."""
    return text[1:] if text[:1] == "'" and _is_mistakable(text[1:]) else text


def _is_mistakable(text: str) -> bool:
    return text.startswith(_STARTS) or COMMA_NUMBER.fullmatch(text) is not None


def kept(title: str, number: int = 1) -> str:
    """A heading under a name of its own, by which no format takes it for one of its fields.

    >>> kept("LAB_L"), kept("lab_l", 2)
    ('kept: LAB_L', 'kept 2: lab_l')
    """
    return f"kept: {title}" if number == 1 else f"kept {number}: {title}"


def unkept(title: str) -> str:
    """The heading that `kept` was given, any other as it is."""
    found = _KEPT.fullmatch(title)
    return found[1] if found else title
