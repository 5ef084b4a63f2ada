"""Text in the cells of a terminal: how wide it is, and where it folds.

References
----------
Unicode Standard Annex 11, East Asian Width: wide and fullwidth characters take two cells.
Unicode Standard Annex 29, section 3: what is drawn as one character stays together. Only the rules
that names of pencils can need are followed: marks, joined emoji, skin tones, emoji presentation.
"""

import re
import unicodedata
from collections.abc import Iterable, Iterator, Sequence
from functools import lru_cache
from typing import NamedTuple

Run = tuple[str, str]  # text, and the parameters of SGR that it is shown with
Line = list[Run]

_SPACES = " \u1680\u2000-\u2006\u2008-\u200a\u205f\u3000"  # all but those that forbid a break
_WORD = re.compile(f"([{_SPACES}]*)([^{_SPACES}]+)")
_JOINER = "\u200d"
_AS_EMOJI = "\ufe0f"
_SKIN_TONES = range(0x1F3FB, 0x1F400)
_JAMO_BEHIND = (range(0x1160, 0x1200), range(0xD7B0, 0xD800))  # medial vowels, final consonants


class Word(NamedTuple):
    """What stays on one line wherever it fits on one, and the space before it."""

    runs: tuple[Run, ...]
    space: Run = ("", "")

    @property
    def width(self) -> int:
        """Cells without the space."""
        return line_width(self.runs)


def words(text: str, style: str = "") -> list[Word]:
    """The words of `text`; a no-break space is part of its word."""
    return [Word(((word, style),), (space, style)) for space, word in _WORD.findall(text)]


def text_width(text: Iterable[Word]) -> int:
    """Cells of words on one line."""
    return sum(cell_width(word.space[0]) + word.width for word in text)


def line_width(line: Iterable[Run]) -> int:
    """Cells of a line."""
    return sum(cell_width(text) for text, _ in line)


def cell_width(text: str) -> int:
    """Cells of a terminal that `text` takes, control characters apart.

    >>> cell_width("海の青"), cell_width("e\u0301")
    (6, 1)
    """
    return len(text) if text.isascii() else sum(width for _, width in clusters(text))


def clusters(text: str) -> list[tuple[str, int]]:
    """What is drawn as one character each, with its cells."""
    found: list[tuple[str, int]] = []
    for character in text:
        width = _width(character)
        base, cells = found[-1] if found else ("", 0)
        if base and (width == 0 or _is_joined(base, character)):
            found[-1] = (base + character, cells + (character == _AS_EMOJI and _widens(base)))
        else:
            found.append((character, width))
    return found


def fold(text: Sequence[Word], width: int) -> list[Line]:
    """Lines of at most `width` cells, one empty line for no words.

    Space at the beginning of `text` indents every line. A line can be too wide only where a single
    character is wider than `width`.
    """
    indent = min(cell_width(text[0].space[0]), (width - 1) // 2) if text else 0
    margin = [(" " * indent, "")] if indent else []
    lines, used = [list(margin)], indent
    for place, (runs, space) in enumerate(_pieces(text, width - indent)):
        gap, cells = cell_width(space[0]), line_width(runs)
        if place and used + gap + cells > width:
            lines.append(list(margin))
            used = indent
        elif place and gap:
            lines[-1].append(space)
            used += gap
        lines[-1] += runs
        used += cells
    return lines


def _pieces(text: Iterable[Word], width: int) -> Iterator[Word]:
    """The words, those wider than `width` in pieces that are not."""
    for word in text:
        if word.width <= width:
            yield word
            continue
        piece: Line = []
        used, space = 0, word.space
        for cluster, cells, style in _styled_clusters(word):
            if piece and used + cells > width:
                yield Word(tuple(piece), space)
                piece, used, space = [], 0, ("", "")
            piece.append((cluster, style))
            used += cells
        yield Word(tuple(piece), space)


def _styled_clusters(word: Word) -> Iterator[tuple[str, int, str]]:
    for text, style in word.runs:
        for cluster, cells in clusters(text):
            yield cluster, cells, style


def _widens(base: str) -> bool:
    """It is drawn in two cells as an emoji, and in one without."""
    return _width(base[0]) == len(base) == 1 and unicodedata.category(base)[0] in "SNP"


def _is_joined(base: str, character: str) -> bool:
    return base.endswith(_JOINER) and unicodedata.category(character) == "So"


@lru_cache(maxsize=2048)
def _width(character: str) -> int:
    code = ord(character)
    if unicodedata.category(character) in ("Mn", "Me", "Cf") or code in _SKIN_TONES:
        return 0
    if any(code in behind for behind in _JAMO_BEHIND):
        return 0
    return 2 if unicodedata.east_asian_width(character) in ("W", "F") else 1
