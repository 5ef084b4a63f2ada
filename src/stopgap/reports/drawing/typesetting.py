"""Text that must fit: measured, broken into lines, cut where it does not; and its font in an SVG.

Text in an SVG is set by whoever shows it; with the font inside, it is set as it was measured.
Fonts of the user's machine are named and not embedded: their licences are not known.
"""

import base64
import re
from html import unescape
from io import BytesIO

from matplotlib.font_manager import FontProperties, findfont
from matplotlib.textpath import TextToPath

POINT = 25.4 / 72.0
"""One typographic point in millimetres."""

ELLIPSIS = "…"


class Measure:
    """Widths [mm] of text in the fonts of the drawing style that is on, at one size [pt]."""

    def __init__(self, size: float, *, bold: bool = False) -> None:
        self.size = size
        self.bold = bold
        self._properties = FontProperties(size=size, weight="bold" if bold else "normal")
        self._setter = TextToPath()

    def width(self, text: str) -> float:
        """Width of the text in millimetres."""
        if not text:
            return 0.0
        width, _, _ = self._setter.get_text_width_height_descent(
            text, self._properties, ismath=False
        )
        return float(width) * POINT

    def cut(self, text: str, room: float) -> str:
        """The text, or as much of it as fits `room` millimetres with an ellipsis."""
        if self.width(text) <= room:
            return text
        low, high = 0, len(text)
        while low < high:
            middle = (low + high + 1) // 2
            fits = self.width(text[:middle].rstrip() + ELLIPSIS) <= room
            low, high = (middle, high) if fits else (low, middle - 1)
        return text[:low].rstrip() + ELLIPSIS

    def wrap(self, text: str, room: float, most: int) -> tuple[str, ...]:
        """At most `most` lines, broken between words, the last one cut where it must be."""
        lines: list[str] = []
        rest = text.split()
        while rest and len(lines) < most - 1:
            line = rest.pop(0)
            while rest and self.width(f"{line} {rest[0]}") <= room:
                line = f"{line} {rest.pop(0)}"
            lines.append(self.cut(line, room))
        if rest:
            lines.append(self.cut(" ".join(rest), room))
        return tuple(lines)


_TEXT = re.compile(r'<text style="([^"]*)"[^>]*>([^<]*)</text>')
_FAMILY = re.compile(r"(font-family: [^;\"]*)(; text-anchor)")
_WEIGHTS = {"normal": 400, "bold": 700}


def with_font(svg: str, family: str) -> str:
    """The SVG with a style element that holds the letters of `family` that its texts need."""
    svg = _FAMILY.sub(r"\1, sans-serif\2", svg)
    letters: dict[str, set[str]] = {weight: set() for weight in _WEIGHTS}
    for style, text in _TEXT.findall(svg):
        letters["bold" if "bold" in style or "700" in style else "normal"].update(unescape(text))
    faces = [
        f"@font-face {{ font-family: '{family}'; font-weight: {_WEIGHTS[weight]}; "
        f"src: url(data:font/woff;base64,{_woff(family, weight, used)}) }}"
        for weight, used in letters.items()
        if used
    ]
    if not faces:
        return svg
    head, opening, rest = svg.partition("<defs>")
    return f'{head}{opening}\n  <style type="text/css">{" ".join(faces)}</style>{rest}'


def _woff(family: str, weight: str, letters: set[str]) -> str:
    from fontTools.subset import Options, Subsetter
    from fontTools.ttLib import TTFont

    path = findfont(FontProperties(family=family, weight=weight))
    stream = BytesIO()
    with TTFont(path, recalcTimestamp=False) as font:
        options = Options(notdef_outline=True, hinting=False, layout_features=["*"])
        options.drop_tables += ["FFTM"]  # the font editor's own time stamps
        subsetter = Subsetter(options)
        subsetter.populate(text="".join(sorted(letters)))
        subsetter.subset(font)
        font.flavor = "woff"
        font.save(stream)
    return base64.b64encode(stream.getvalue()).decode("ascii")
