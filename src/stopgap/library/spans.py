"""Spans of a range: from one code to another, as people write `001-010`."""

import re
from collections.abc import Callable, Iterator, Sequence

from stopgap.library.spelling import RUNS, normal
from stopgap.swatches import Swatch

Figure = tuple[tuple[str, ...], int]
_BETWEEN = re.compile(r"\s*(?:\.\.+|…|[\-‐-―−])\s*")


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
