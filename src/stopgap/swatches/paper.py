"""The bare paper that a range was laid on."""

from dataclasses import dataclass

DEFAULT_PAPER_LAB = (95.0, 0.0, 0.0)
"""What is taken for a paper that nobody measured: a neutral white drawing paper, this project's
choice. L* = 95 is also the white of coated paper in ISO 12647-2 (Amd 1:2007), from memory."""


@dataclass(frozen=True, slots=True)
class Paper:
    """Lab of a paper under D50, 2 degree observer; `measured` is False for the default white."""

    lab: tuple[float, float, float] = DEFAULT_PAPER_LAB
    measured: bool = False
