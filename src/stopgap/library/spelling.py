"""Names as they are compared, and what one that nothing bears was probably meant to be.

Near are names that are the same when at most one letter is taken out of each, which holds for all
at a distance of one in the sense of F. J. Damerau (1964), "A technique for computer detection and
correction of spelling errors". They are found by what is left of them, so that a question does not
look at every name.
"""

import re
import unicodedata
from collections.abc import Iterable, Iterator
from functools import lru_cache

APART = re.compile(r"[\s_\-‐-―−:]+")
"""What parts words: spaces, dashes, lines below, colons."""

RUNS = re.compile(r"[0-9]+|[^0-9]+")
"""Figures, and what is none."""

_REMEMBERED = 1000  # a name is folded for several tables in turn
_SHORT = 5  # letters; in a short name two wrong ones are another name


@lru_cache(_REMEMBERED)
def normal(text: str) -> str:
    """A name without case, accents, leading zeros, and what parts words and figures.

    Where two figures meet, what parts them stays, as one dash.

    >>> normal("FM-017"), normal("Vert  Été"), normal("12-034")
    ('fm17', 'vertete', '12-34')
    """
    words = [RUNS.findall(word) for word in APART.split(plain(text)) if word]
    said = ""
    for runs in words:
        for place, run in enumerate(runs):
            number = run[0].isdigit()
            dash = "-" if number and place == 0 and said[-1:].isdigit() else ""
            said += dash + (run.lstrip("0") or "0" if number else run)
    return said


def plain(text: str) -> str:
    """A text in lower case without accents and other marks.

    >>> plain("Éponge")
    'eponge'
    """
    if text.isascii():
        return text.casefold()
    parted = unicodedata.normalize("NFKD", text)
    return "".join(each for each in parted if not unicodedata.combining(each)).casefold()


def tight(text: str) -> str:
    """As `normal`, without a dash between figures as well."""
    return normal(APART.sub("", text))


class Spellings:
    """Names by their normal form, and where each is found with a letter left out."""

    def __init__(self, names: Iterable[str]) -> None:
        self.names: dict[str, str] = {}
        for name in names:
            self.names.setdefault(normal(name), name)
        self._shorter: dict[str, list[str]] = {}
        self._of_figure: dict[str, list[str]] = {}
        for form in self.names:
            self._of_figure.setdefault("".join(filter(str.isdecimal, form)), []).append(form)
            for left in {form, *_without_a_letter(form)}:
                self._shorter.setdefault(left, []).append(form)

    def to(self, wanted: str) -> list[tuple[int, int, int, str]]:
        """Distance, difference of figures, place and name of those that are near."""
        if wanted.isdecimal():  # who leaves letters out knows the figure
            same = self._of_figure.get(wanted, ())
            if same:
                return [(0, 0, place, self.names[form]) for place, form in enumerate(same)]
        found: dict[str, None] = {}
        for left in {wanted, *_without_a_letter(wanted)}:
            found.update(dict.fromkeys(self._shorter.get(left, ())))
        figures, most = _figures(wanted), 2 if len(wanted) > _SHORT else 1
        away = {form: _distance(form, wanted) for form in found}
        return [
            (far, abs(_figures(form) - figures), place, self.names[form])
            for place, (form, far) in enumerate(away.items())
            if far <= most
        ]


def _distance(one: str, other: str) -> int:
    """How far two are apart that are the same when at most a letter is taken out of each.

    1 where a letter is too many, is another one, or swapped with its neighbour; else 2.
    """
    if len(one) != len(other):
        return 1
    places = [place for place, (a, b) in enumerate(zip(one, other, strict=True)) if a != b]
    if len(places) < 2:
        return len(places)
    first, last = places[0], places[-1]
    swapped = len(places) == 2 and last - first == 1
    return 1 if swapped and one[first] == other[last] and one[last] == other[first] else 2


def _without_a_letter(form: str) -> Iterator[str]:
    return (form[:place] + form[place + 1 :] for place in range(len(form)))


def _figures(form: str) -> int:
    figures = "".join(filter(str.isdecimal, form))[:9]
    return int(figures) if figures else 0
