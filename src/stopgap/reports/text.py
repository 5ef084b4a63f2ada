"""Text from files made harmless: nothing that comes from a stranger steers the terminal."""

import unicodedata

_LONGEST = 60
_INVISIBLE = {"Cc", "Cf", "Cs", "Co", "Cn", "Zl", "Zp"}
_MOST_MARKS = 2
_JOINERS = {"\u200d", "\ufe0f"}  # inside emoji sequences


def harmless(text: str, longest: int = _LONGEST) -> str:
    r"""`text` with control, format and direction characters written out, cut at `longest`.

    >>> harmless("red\x1b[31m \u202eneerg")
    'red\\x1b[31m \\u202eneerg'
    """
    shown = text if text.isprintable() else "".join(map(_visible, text))
    return shown if len(shown) <= longest else shown[: longest - 1] + "…"


def unstacked(text: str) -> str:
    r"""`text` with at most two marks over or under a letter, so that it keeps to its line.

    >>> unstacked("a\u0301\u0301\u0301b\u0308")
    'a\u0301\u0301b\u0308'
    """
    if not any(map(_is_mark, set(text))):
        return text
    kept: list[str] = []
    for character in text:
        marks = kept[-_MOST_MARKS:]
        full = len(marks) == _MOST_MARKS and all(map(_is_mark, marks))
        if not kept and _is_mark(character):
            kept.append("\u25cc")  # a mark needs something to stand on, else it is lost
        if not (full and _is_mark(character)):
            kept.append(character)
    return "".join(kept)


def _is_mark(character: str) -> bool:
    return unicodedata.category(character) in ("Mn", "Me")


def _visible(character: str) -> str:
    if unicodedata.category(character) not in _INVISIBLE or character in _JOINERS:
        return character
    code = ord(character)
    if code < 0x100:
        return f"\\x{code:02x}"
    return f"\\u{code:04x}" if code < 0x10000 else f"\\U{code:08x}"
