"""Colours of a page as CSS writes them, each a class, and what a screen reader says of it.

They are CSS `lab()` with the nearest sRGB beneath: one that sRGB lacks is shown with its chroma
reduced, unless the screen has a wider gamut; browsers would clip it, which turns its hue.
"""

from collections.abc import Iterable, Mapping, Sequence
from types import MappingProxyType
from typing import NamedTuple

from stopgap.reports.blocks import Lab


class Paint(NamedTuple):
    """One colour: its CSS class, how it is written, what it is called, whether sRGB has it."""

    name: str
    lab: str
    hex: str
    words: str
    in_sRGB: bool
    lamps: tuple["Paint", ...] = ()
    """What it looks like under each lamp, where its spectrum is known."""
    figures: bool = False
    """Whether it is looked at by somebody who measures."""

    @property
    def lit(self) -> bool:
        """Whether a page can show it under other lamps."""
        return bool(self.lamps)

    @property
    def classes(self) -> str:
        """Its class, and what else the style and the script ask of it."""
        return f"{self.name}{'' if self.in_sRGB else ' outside'}{' lit' if self.lit else ''}"

    @property
    def label(self) -> str:
        """What a screen reader says."""
        if self.figures:
            return f"{self.words}, {self.lab}{'' if self.in_sRGB else ', outside sRGB'}"
        return f"{self.words}{'' if self.in_sRGB else ', duller here than on paper'}"


Lit = Mapping[Lab, Sequence[Lab]]
"""What colours look like under each of `defaults.LAMPS`, where that is known."""


def paints(
    labs: Iterable[Lab],
    lit: Lit = MappingProxyType({}),
    prefix: str = "k",
    *,
    figures: bool = False,
) -> dict[Lab, Paint]:
    """A paint for each different colour; their classes begin with `prefix`."""
    from stopgap.colorimetry import lab_to_hexes, lab_to_srgb
    from stopgap.naming import iscc_nbs
    from stopgap.reports.terms import in_our_spelling

    different = list(dict.fromkeys(labs))
    if not different:
        return {}
    names = [in_our_spelling(name) for name in iscc_nbs(different).tolist()]
    _, inside = lab_to_srgb(different)
    hexes = lab_to_hexes(different)
    under = paints(lamp for lab in different for lamp in lit.get(lab, ()))
    return {
        lab: Paint(
            f"{prefix}{place}",
            css_lab(lab),
            hexes[place],
            names[place],
            bool(inside[place]),
            tuple(under[lamp] for lamp in lit.get(lab, ())),
            figures,
        )
        for place, lab in enumerate(different)
    }


def css_lab(lab: Lab) -> str:
    """A colour as CSS Color 4 writes it; CSS knows no L* over 100.

    >>> css_lab((52.0, 40.126, -0.001))
    'lab(52 40.13 0)'
    """
    L, a, b = (f"{round(value, 2) + 0.0:.6g}" for value in (min(max(lab[0], 0.0), 100.0), *lab[1:]))
    return f"lab({L} {a} {b})"


def paint_rules(used: Mapping[Lab, Paint]) -> str:
    """The style sheet of the paints."""
    every = [(f".{paint.name}", paint) for paint in used.values()]
    every += [
        (f".lamp{number} .{paint.name}", lamp)
        for paint in used.values()
        for number, lamp in enumerate(paint.lamps, start=1)
    ]
    lines = [f"{where}{{background:{paint.hex}}}" for where, paint in every]
    for condition, in_sRGB in (
        ("@supports (color:lab(50 0 0))", True),
        ("@media (color-gamut:p3)", False),
    ):
        there = [(where, paint.lab) for where, paint in every if paint.in_sRGB is in_sRGB]
        if there:
            rules = "".join(f"{where}{{background:{lab}}}" for where, lab in there)
            lines.append(f"{condition}{{{rules}}}")
    return "\n".join(lines)
