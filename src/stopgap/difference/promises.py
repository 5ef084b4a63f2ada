"""How near a colour that is only predicted may be said to be: its bound decides, not its middle."""

from typing import NamedTuple

from stopgap.difference.grades import grade

COVERAGE_FACTOR = 1.645
"""Standard uncertainties from the middle within which nine in ten normal errors lie, and below
which 95 of 100 stay: the 0.95 quantile of the normal distribution (GUM, JCGM 100:2008, annex G)."""

_CHANCES = {
    "same": "may be the same: try it",
    "very close": "may be very close: try it",
    "close": "may be close: try it",
}


class Promise(NamedTuple):
    """A predicted ΔE00, and the upper end of the interval that holds nine in ten who lay it.

    >>> Promise(1.2, 4.1).grade, Promise(1.2, 4.1).chance
    ('noticeable', 'may be very close: try it')
    """

    delta_E: float
    bound: float

    @property
    def grade(self) -> str:
        """What is promised: the grade of the bound."""
        return grade(self.bound)

    @property
    def likely_grade(self) -> str:
        """The grade of the middle, never worse than what is promised."""
        return grade(self.delta_E)

    @property
    def chance(self) -> str:
        """What it may be beyond what is promised, empty where that is nothing worth trying."""
        return "" if self.likely_grade == self.grade else _CHANCES.get(self.likely_grade, "")


def promise(delta_E: float, sigma: float = 0.0) -> Promise:
    """What a ΔE00 of standard uncertainty `sigma` promises; a laid and measured colour has none.

    Raises
    ------
    InputError
        From `Promise.grade`, if a number is negative or not a number.
    """
    return Promise(delta_E, delta_E + COVERAGE_FACTOR * sigma)
