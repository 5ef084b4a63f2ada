"""Names as they are compared, what one that nothing bears was probably meant to be, and spans of
a range from one code to another, as people write `001-010`.

Near are names that are the same when at most one letter is taken out of each, which holds for all
at a distance of one in the sense of F. J. Damerau (1964), "A technique for computer detection and
correction of spelling errors". They are found by what is left of them, so that a question does not
look at every name.
"""

import re
import unicodedata
from collections.abc import Callable, Iterable, Iterator, Sequence
from functools import lru_cache

from stopgap.swatches import Swatch

APART = re.compile(r"[\s_\-‐-―−:]+")
"""What parts words: spaces, dashes, lines below, colons."""

_QUOTES = str.maketrans("", "", "'\"`´‘’‚‛“”„‟«»‹›′″ʼ")

RUNS = re.compile(r"[0-9]+|[^0-9]+")
"""Figures, and what is none."""

Figure = tuple[tuple[str, ...], int]
_BETWEEN = re.compile(r"\s*(?:\.\.+|…|[\-‐-―−])\s*")
_REMEMBERED = 1000  # a name is folded for several tables in turn
_SHORT = 5  # letters; in a short name two wrong ones are another name


@lru_cache(_REMEMBERED)
def normal(text: str) -> str:
    """A name without case, accents, quotes, leading zeros, and what parts words and figures.

    Where two figures meet, what parts them stays, as one dash.

    >>> normal("FM-017"), normal("Vert  d’Été"), normal("12-034")
    ('fm17', 'vertdete', '12-34')
    """
    words = [RUNS.findall(word) for word in APART.split(plain(text.translate(_QUOTES))) if word]
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


def span_ends(text: str) -> Iterator[tuple[str, str]]:
    """Where `001-010` may be parted."""
    for dash in _BETWEEN.finditer(text):
        if dash.start() and dash.end() < len(text):
            yield text[: dash.start()], text[dash.end() :]


def between(
    swatches: Sequence[Swatch], only: Callable[[str], Swatch | None], first: str, last: str
) -> tuple[Swatch, ...]:
    """The pencils of one range from one code to another, of which one at least must be there;
    `only` gives the one that a text names.

    Those whose last figure lies between; where codes are not built alike, those from one to the
    other in the order of the range.
    """
    start = only(first)
    lead = re.sub(r"\d+\D*$", "", first if start is None else start.code)
    end = only(last) or only(lead + last.strip())
    if start is None and end is None:
        return ()
    low = _figure(first if start is None else start.code)
    for code in (last, lead + last.strip()) if end is None else (end.code,):
        found = _by_figure(swatches, low, _figure(code))
        if found is not None:
            return found
    if start is None or end is None:
        return ()
    places = [swatches.index(swatch) for swatch in (start, end)]
    return tuple(swatches)[places[0] : places[1] + 1]


def _by_figure(
    swatches: Sequence[Swatch], low: Figure | None, high: Figure | None
) -> tuple[Swatch, ...] | None:
    """Those whose last figure lies between; None where the two are not built alike."""
    if low is None or high is None or low[0] != high[0]:
        return None
    figures = [(swatch, _figure(swatch.code)) for swatch in swatches]
    inner = range(low[1], high[1] + 1)
    return tuple(one for one, its in figures if its and its[0] == low[0] and its[1] in inner)


def _figure(code: str) -> Figure | None:
    """What stands round the last figure of a code, and that figure."""
    runs = RUNS.findall(normal(code))
    places = [place for place, run in enumerate(runs) if run[0].isdigit()]
    if not places:
        return None
    return tuple(run for place, run in enumerate(runs) if place != places[-1]), int(
        runs[places[-1]]
    )
