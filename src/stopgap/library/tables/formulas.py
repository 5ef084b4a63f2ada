"""Text that a spreadsheet program could run as a formula, guarded and set free again."""

_STARTS = ("=", "+", "-", "@", "\t", "\r", "'")


def guard(text: str) -> str:
    """`text` as a spreadsheet cell that no program takes for a formula: an apostrophe before it.

    >>> guard("=HYPERLINK()"), guard("Wet Slate")
    ("'=HYPERLINK()", 'Wet Slate')
    """
    return f"'{text}" if text.startswith(_STARTS) else text


def guard_twice(text: str) -> str:
    """`text` guarded only where `unguard` would take something away: for other formats."""
    return guard(text) if unguard(text) != text else text


def unguard(text: str) -> str:
    """The text that `guard` was given."""
    return text[1:] if text[:1] == "'" and text[1:].startswith(_STARTS) else text
