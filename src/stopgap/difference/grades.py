"""How near a CIEDE2000 difference is in a word, and what may be said of one that is predicted.

Of a prediction its bound decides, not its middle.
"""

import math
from bisect import bisect_right
from collections.abc import Mapping
from itertools import pairwise
from math import inf
from types import MappingProxyType
from typing import NamedTuple

from stopgap.errors import InputError

GRADES: Mapping[str, float] = MappingProxyType(
    {"same": 0.8, "very close": 1.8, "close": 3.5, "noticeable": 5.0, "different": inf}
)
"""Each grade and the largest ΔE00 that still earns it.

0.8 and 1.8 are the differences that half of the observers saw and half accepted: R. D. Paravina
et al. (2015), "Color difference thresholds in dentistry", Journal of Esthetic and Restorative
Dentistry 27(S1), S1-S9, on ceramics. 3.5 and 5 are this project's choice, in the neighbourhood of
print tolerances. A pencil laid twice by one hand differs by more than 0.8.
"""

DEFAULT_METRIC = "CIE 2000"
"""The row of METRICS whose differences are graded, and that ranks unless another is asked for."""

COARSE_ABOVE = 5.0
"""ΔE00 was fitted to differences up to about 5; above, the order it gives is coarser."""

DIRECTION_ABOVE = 20.0
"""Above this ΔE00 tells a direction, not a match (this project's choice)."""


def grade(delta_E: float) -> str:
    """The grade of GRADES that a ΔE00 earns.

    Raises
    ------
    InputError
        If `delta_E` is negative or not a number.

    >>> grade(1.8), grade(1.81)
    ('very close', 'close')
    """
    if delta_E >= 0.0:
        for name, largest in GRADES.items():
            if delta_E <= largest:
                return name
    raise InputError(f"delta_E: expected a difference of 0 or more, found {delta_E}.")


SURE = 0.95
"""Probability from which a grade is said without it."""

_CHANCES_IN = ((1, 20), (1, 10), (1, 5), (1, 4), (1, 3), (1, 2), (2, 3), (3, 4), (4, 5), (9, 10))
_BETWEEN = [(a / b + c / d) / 2.0 for (a, b), (c, d) in pairwise(_CHANCES_IN)]


def grade_words(grade: str, probability: float) -> str:
    """A grade and how probably it is earned, in words; the grade alone where it is sure.

    >>> grade_words("close", 0.97), grade_words("close", 0.76), grade_words("same", 0.19)
    ('close', 'probably close, 3 in 4', 'perhaps same, 1 in 5')
    """
    if probability >= SURE:
        return grade
    of, many = _CHANCES_IN[bisect_right(_BETWEEN, probability)]
    word = "probably" if 2 * of > many else "perhaps"
    below = "less than " if probability < 1 / 40 else ""
    return f"{word} {grade}, {below}{of} in {many}"


COVERAGE_FACTOR = 1.645
"""Standard uncertainties from the middle within which nine in ten normal errors lie, and below
which 95 of 100 stay: the 0.95 quantile of the normal distribution (GUM, JCGM 100:2008, annex G)."""

_WORTH_A_TRY = ("same", "very close", "close")

_PER_DIRECTION = math.sqrt(2.0 * math.log(10.0))
"""Standard deviations in either of two directions within which nine in ten lie (Rayleigh)."""


def probability_within(limit: float, delta_E: float, ninety: float) -> float:
    """Probability that a colour predicted `delta_E` away comes within `limit` of its target.

    Nine in ten colours lie within `ninety` of their prediction, with errors that are normal and
    alike in two directions, so that the distance is Rice's (S. O. Rice 1945, Bell System Technical
    Journal 24, eq. 3.10-11): of words about recipes that says what is so (bench_papers.py).

    >>> round(probability_within(3.5, 0.0, 3.5), 3), round(probability_within(3.5, 3.5, 3.5), 3)
    (0.9, 0.404)
    """
    sigma = ninety / _PER_DIRECTION
    if abs(limit - delta_E) >= 8.0 * sigma:
        return float(delta_E <= limit)
    places = min(32 + int(8.0 * limit / sigma), 4096)
    total = 0.0
    for place in range(places):  # across the circle, strip by strip
        angle = math.pi * ((place + 0.5) / places - 0.5)
        half = limit * math.cos(angle) / sigma
        off = (limit * math.sin(angle) - delta_E) / sigma
        total += math.exp(-0.5 * off * off) * math.erf(half / math.sqrt(2.0)) * half
    return min(total * math.pi / places / math.sqrt(2.0 * math.pi), 1.0)


class Promise(NamedTuple):
    """A predicted ΔE00, and the upper end of the interval that holds nine in ten who lay it.

    >>> Promise(1.2, 4.1).grade, Promise(1.2, 4.1).chance
    ('noticeable', 'perhaps very close, 1 in 2: try it')
    """

    delta_E: float
    bound: float

    @property
    def grade(self) -> str:
        """What is promised: the grade of the bound."""
        return grade(self.bound)

    @property
    def grade_probability(self) -> float:
        """That of earning it or a nearer one; for the last grade, that of no nearer one."""
        return self._probability(self.grade)

    @property
    def likely_grade(self) -> str:
        """The grade of the middle, never worse than what is promised."""
        return grade(self.delta_E)

    @property
    def likely_probability(self) -> float:
        """The same of the likely grade."""
        return self._probability(self.likely_grade)

    @property
    def chance(self) -> str:
        """What it may be beyond what is promised, empty where that is nothing worth trying."""
        if self.likely_grade == self.grade or self.likely_grade not in _WORTH_A_TRY:
            return ""
        # sure or not, it is more than is promised
        unsure = min(self.likely_probability, math.nextafter(SURE, 0.0))
        return f"{grade_words(self.likely_grade, unsure)}: try it"

    def _probability(self, word: str) -> float:
        *_, beyond, _ = GRADES.values()
        within = probability_within(
            min(GRADES[word], beyond), self.delta_E, self.bound - self.delta_E
        )
        return 1.0 - within if GRADES[word] == inf else within


def promise(delta_E: float, sigma: float = 0.0) -> Promise:
    """What a ΔE00 of standard uncertainty `sigma` promises; a laid and measured colour has none.

    Raises
    ------
    InputError
        From `Promise.grade`, if a number is negative or not a number.
    """
    return Promise(delta_E, delta_E + COVERAGE_FACTOR * sigma)


def over_words(value: float, limit: float) -> str:
    """A value over a limit with one decimal, or as many as show that it is, three at most.

    >>> over_words(4.31, 3.5), over_words(3.54, 3.5)
    ('4.3', '3.54')
    """
    written = (f"{value:.{decimals}f}" for decimals in (1, 2, 3))
    return next((text for text in written if float(text) > limit), f"{value:.3f}")
