"""The table of colour differences and the one function that applies them."""

from collections.abc import Callable, Iterator, Mapping
from heapq import heapify, heappop, heappush
from types import MappingProxyType
from typing import NamedTuple

import numpy as np

from stopgap.arrays import Floats, FloatsLike, Integers, as_lab
from stopgap.difference.bounds.boxes import (
    LowerBound,
    bound_cie_1976,
    bound_cie_1994_graphic_arts,
    bound_cie_1994_textiles,
    bound_cmc,
    bound_hyab,
)
from stopgap.difference.bounds.ciede2000 import bound_ciede2000
from stopgap.difference.formulas.cie_1976 import delta_E_cie_1976
from stopgap.difference.formulas.cie_1994 import (
    delta_E_cie_1994_graphic_arts,
    delta_E_cie_1994_textiles,
)
from stopgap.difference.formulas.ciede2000 import delta_E_ciede2000
from stopgap.difference.formulas.cmc import delta_E_cmc
from stopgap.difference.formulas.hyab import delta_E_hyab
from stopgap.difference.grades import DEFAULT_METRIC
from stopgap.errors import InputError

DifferenceFunction = Callable[[FloatsLike, FloatsLike], Floats]

_LIGHTNESS_WEIGHT = 1.75  # S_L of ΔE00 is below it, so ΔE00 is no less than the step in L* over it
_AT_ONCE = 2**18  # pairs looked at together


class Metric(NamedTuple):
    """One row of METRICS.

    `symmetric` says whether the two colours may be exchanged; where they may not, the first is the
    standard. `lower_bound` is a proved lower bound of the difference over boxes of colours (see
    `bounds`), or None, which means that a search looks at every colour.
    """

    function: DifferenceFunction
    symmetric: bool
    about: str
    lower_bound: LowerBound | None = None


METRICS: Mapping[str, Metric] = MappingProxyType(
    {
        "CIE 2000": Metric(
            delta_E_ciede2000,
            symmetric=True,
            about="CIEDE2000, ISO/CIE 11664-6",
            lower_bound=bound_ciede2000,
        ),
        "CIE 1976": Metric(
            delta_E_cie_1976,
            symmetric=True,
            about="distance in CIE L*a*b*, ISO/CIE 11664-4",
            lower_bound=bound_cie_1976,
        ),
        "CIE 1994": Metric(
            delta_E_cie_1994_graphic_arts,
            symmetric=False,
            about="CIE 116, graphic arts",
            lower_bound=bound_cie_1994_graphic_arts,
        ),
        "CIE 1994 textiles": Metric(
            delta_E_cie_1994_textiles,
            symmetric=False,
            about="CIE 116, textiles",
            lower_bound=bound_cie_1994_textiles,
        ),
        "CMC": Metric(
            delta_E_cmc,
            symmetric=False,
            about="CMC(2:1), ISO 105-J03",
            lower_bound=bound_cmc,
        ),
        "HyAB": Metric(
            delta_E_hyab,
            symmetric=True,
            about="for large differences, Abasi et al. 2020",
            lower_bound=bound_hyab,
        ),
    }
)


def difference_function(metric: str | DifferenceFunction) -> DifferenceFunction:
    """The function behind a name of METRICS (case and spaces do not matter) or a function itself.

    Raises
    ------
    InputError
        If no metric has that name.
    """
    if callable(metric):
        return metric
    return METRICS[metric_name(metric)].function


def metric_name(text: str) -> str:
    """The name in METRICS that `text` stands for, whatever its case and spaces."""

    def folded(name: str) -> str:
        return "".join(name.split()).casefold()

    for name in METRICS:
        if folded(name) == folded(str(text)):
            return name
    raise InputError(f"{text!r} is not one of {', '.join(METRICS)}.", argument="metric")


def delta_E(
    lab_1: FloatsLike, lab_2: FloatsLike, metric: str | DifferenceFunction = DEFAULT_METRIC
) -> Floats:
    """Colour difference between Lab arrays of shapes that broadcast, (..., 3) -> (...).

    Parameters
    ----------
    lab_1, lab_2
        CIE L*a*b*, D50, 2 degree observer; `lab_1` is the standard where the metric has one.
    metric
        A name of METRICS or a function of the same form.

    Raises
    ------
    InputError
        For values that are not finite, a last axis that is not 3, or an unknown metric.

    >>> delta_E([50, 0, 0], [[50, 0, 0], [60, 0, 0]], metric="CIE 1976").tolist()
    [0.0, 10.0]
    """
    return difference_function(metric)(lab_1, lab_2)


def pairs_within(
    lab_1: FloatsLike, lab_2: FloatsLike, limit: float
) -> Iterator[tuple[Integers, Integers, Floats]]:
    """Every pair of colours (n, 3) and (m, 3) within that ΔE00: rows of each, and ΔE00, in parts.

    Only pairs are worked out that lightness alone does not keep apart; no table is made of all.
    """
    ours, theirs = as_lab(lab_1, "lab_1"), as_lab(lab_2, "lab_2")
    order = np.argsort(theirs[:, 0], kind="stable")
    lightness, reach = theirs[order, 0], _LIGHTNESS_WEIGHT * limit
    first = np.searchsorted(lightness, ours[:, 0] - reach, side="left")
    count = np.searchsorted(lightness, ours[:, 0] + reach, side="right") - first
    ends = np.cumsum(count)
    begin = 0
    while begin < len(ours):
        before = int(ends[begin] - count[begin])
        end = max(begin + 1, int(np.searchsorted(ends, before + _AT_ONCE, side="right")))
        rows = np.repeat(np.arange(begin, end), count[begin:end])
        within = np.arange(len(rows)) - (ends[rows] - count[rows] - before)
        others = order[first[rows] + within]
        apart = delta_E_ciede2000(ours[rows], theirs[others])
        near = apart <= limit
        yield rows[near], others[near], apart[near]
        begin = end


def linked_within(lab: FloatsLike, limit: float) -> Integers:
    """Group number (n,) of each colour (n, 3), so that no two of a group are further apart than
    `limit` [ΔE00]: by complete linkage, groups numbered in order of appearance.

    The two groups whose farthest members are nearest are joined, again and again, so that pairs
    beyond the limit never count (D. Defays (1977), The Computer Journal 20(4), 364-366, for the
    linkage; cited from memory). Equal differences join the earliest rows first.
    """
    apart: dict[int, dict[int, float]] = {row: {} for row in range(len(as_lab(lab, "lab")))}
    for rows, others, near in pairs_within(lab, lab, limit):
        for one, other, each in zip(rows.tolist(), others.tolist(), near.tolist()):
            if one != other:
                apart[one][other] = each
    heap = [(far, one, to) for one, its in apart.items() for to, far in its.items() if one < to]
    heapify(heap)
    group = np.arange(len(apart))
    while heap:
        far, kept, gone = heappop(heap)
        if apart.get(kept, {}).get(gone) != far:
            continue  # of groups that have grown since
        group[group == gone] = kept
        for each in _join(apart, kept, gone):
            heappush(heap, (apart[kept][each], min(kept, each), max(kept, each)))
    number: dict[int, int] = {}
    return np.array([number.setdefault(one, len(number)) for one in group.tolist()], dtype=np.intp)


def _join(apart: dict[int, dict[int, float]], kept: int, gone: int) -> list[int]:
    """Take one group into another: the farthest members count, and who is beyond the limit of
    either drops out. Which groups have become further apart.
    """
    ours, theirs = apart[kept], apart.pop(gone)
    for each in ours.keys() | theirs.keys():
        apart.get(each, {}).pop(gone, None)
    for each in ours.keys() - theirs.keys():
        del apart[each][kept], ours[each]
    grown = [each for each in ours if theirs[each] > ours[each]]
    for each in grown:
        ours[each] = apart[each][kept] = theirs[each]
    return grown
