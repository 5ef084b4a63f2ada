"""Colours of a page: CSS `lab()` with the nearest sRGB beneath, and words for who cannot see them.

A colour that sRGB lacks is shown as the nearest that it has, chroma reduced, unless the screen has
a wider gamut: browsers would clip it, which turns its hue.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from stopgap.reports.blocks import Lab


@dataclass(frozen=True, slots=True)
class Paint:
    """One colour: its CSS class, how it is written, what it is called, whether sRGB has it."""

    name: str
    lab: str
    hex: str
    words: str
    in_sRGB: bool

    @property
    def label(self) -> str:
        """What a screen reader says."""
        return f"{self.words}, {self.lab}{'' if self.in_sRGB else ', outside sRGB'}"


def paints(labs: Iterable[Lab]) -> dict[Lab, Paint]:
    """A paint for each different colour."""
    from stopgap.colorimetry import lab_to_hexes, lab_to_srgb
    from stopgap.naming import iscc_nbs

    different = list(dict.fromkeys(labs))
    if not different:
        return {}
    names = iscc_nbs(different).tolist()
    _, inside = lab_to_srgb(different)
    hexes = lab_to_hexes(different)
    return {
        lab: Paint(f"k{place}", css_lab(lab), hexes[place], names[place], bool(inside[place]))
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
    every = list(used.values())
    lines = [f".{paint.name}{{background:{paint.hex}}}" for paint in every]
    for condition, there in (
        ("@supports (color:lab(50 0 0))", [paint for paint in every if paint.in_sRGB]),
        ("@media (color-gamut:p3)", [paint for paint in every if not paint.in_sRGB]),
    ):
        if there:
            rules = "".join(f".{paint.name}{{background:{paint.lab}}}" for paint in there)
            lines.append(f"{condition}{{{rules}}}")
    return "\n".join(lines)
