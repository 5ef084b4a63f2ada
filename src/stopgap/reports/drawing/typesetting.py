"""Text that must fit: measured, broken into lines, and cut where it still does not fit."""

from matplotlib.font_manager import FontProperties
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
