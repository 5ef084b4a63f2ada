"""The bare paper that a range was laid on."""

from typing import NamedTuple

DEFAULT_PAPER_LAB = (96.0, 0.0, 2.0)
"""Taken for a paper that nobody measured: white drawing paper (common practice, no source)."""


class Paper(NamedTuple):
    """Lab of a paper under D50, 2 degree observer; `measured` is False for the default white."""

    lab: tuple[float, float, float] = DEFAULT_PAPER_LAB
    measured: bool = False
