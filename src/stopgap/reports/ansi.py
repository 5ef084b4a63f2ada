"""Style and colour as a terminal is told of them.

References
----------
ECMA-48 (1991), section 8.3.117: SELECT GRAPHIC RENDITION; 0 default, 1 bold, 2 faint.
ISO/IEC 8613-6 (1994), section 13.1.8: background 48;2;R;G;B and 48;5;N, with the semicolons that
terminals understand. The 256 colours are xterm's (256colres.pl): 16 of the user's own, a cube of
six levels, a scale of 24 greys.
"""

from collections.abc import Collection
from itertools import groupby
from operator import itemgetter

import numpy as np

from stopgap.arrays import Floats
from stopgap.colorimetry import lab_to_srgb, srgb_to_lab
from stopgap.reports.blocks import Lab
from stopgap.reports.cells import Line
from stopgap.reports.console import TRUE_COLOUR

BOLD = "1"
DIM = "2"
_LEVELS = (0, 95, 135, 175, 215, 255)
_GREYS = range(8, 248, 10)
_FIRST = 16  # before it the user's own colours, which nobody knows


def paint(line: Line, *, styled: bool) -> str:
    """A line as it is written, without space at its end."""
    if not styled:
        return "".join(text for text, _ in line).rstrip(" ")
    parts = ((style, "".join(map(itemgetter(0), runs))) for style, runs in groupby(line, _style))
    return "".join(
        f"\x1b[{style}m{text}\x1b[0m" if style else text for style, text in parts
    ).rstrip(" ")


def backgrounds(labs: Collection[Lab], colours: int) -> dict[Lab, str]:
    """Parameters of SGR for each colour as a background in 2**24 or 256 colours."""
    distinct = list(dict.fromkeys(labs))
    if not distinct:
        return {}
    if colours == TRUE_COLOUR:
        rgb, _ = lab_to_srgb(distinct)
        codes = [f"2;{r};{g};{b}" for r, g, b in np.rint(255.0 * rgb).astype(int).tolist()]
    else:
        codes = [f"5;{number}" for number in _nearest(np.array(distinct))]
    return {lab: f"48;{code}" for lab, code in zip(distinct, codes, strict=True)}


def palette() -> Floats:
    """The colours 16 to 255 in sRGB, (240, 3) from 0 to 1."""
    cube = [(r, g, b) for r in _LEVELS for g in _LEVELS for b in _LEVELS]
    return np.array([*cube, *((grey, grey, grey) for grey in _GREYS)]) / 255.0


def _nearest(labs: Floats) -> list[int]:
    """The number of the colour nearest to each of `labs` (n, 3) by CIEDE2000."""
    from stopgap.difference import delta_E

    difference = delta_E(labs[:, np.newaxis], srgb_to_lab(palette()))
    numbers: list[int] = (_FIRST + difference.argmin(axis=1)).tolist()
    return numbers


_style = itemgetter(1)
