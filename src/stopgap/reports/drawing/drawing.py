"""Drawn pages and pictures and the text on them, as PDF, SVG or PNG, the same bytes every time.

Fonts are embedded as TrueType (PDF type 42), so that text stays text. matplotlib brings DejaVu Sans
(Latin, Greek, Cyrillic, Hebrew, Arabic and more) and shapes complex scripts; characters that it
lacks are looked for in the fonts of the machine, and where none has them a box of their script is
drawn, while the text underneath keeps them.

Text that must fit is measured, broken into lines, and cut where it does not. In an SVG it is set by
whoever shows it; with the font inside, it is set as it was measured. Fonts of the user's machine
are named and not embedded: their licences are not known.
"""

import base64
import logging
import re
import warnings
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from functools import cache
from html import unescape
from io import BytesIO
from itertools import chain
from types import MappingProxyType
from typing import Any

import matplotlib as mpl
from matplotlib.figure import Figure
from matplotlib.font_manager import FontProperties, findfont, fontManager, get_font
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
        self._known = {"": 0.0}

    def width(self, text: str) -> float:
        """Width of the text in millimetres."""
        if text not in self._known:
            width, _, _ = self._setter.get_text_width_height_descent(
                text, self._properties, ismath=False
            )
            self._known[text] = float(width) * POINT
        return self._known[text]

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
        while rest and len(lines) < most - 1 and self.width(" ".join(rest)) > room:
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


def with_font(pictures: Sequence[str], family: str) -> list[str]:
    """SVG with a style element that holds the letters of `family` that all their texts need."""
    pictures = [_FAMILY.sub(r"\1, sans-serif\2", svg) for svg in pictures]
    letters: dict[str, set[str]] = {weight: set() for weight in _WEIGHTS}
    for style, text in chain.from_iterable(map(_TEXT.findall, pictures)):
        letters["bold" if "bold" in style or "700" in style else "normal"].update(unescape(text))
    faces = [
        f"@font-face {{ font-family: '{family}'; font-weight: {_WEIGHTS[weight]}; "
        f"src: url(data:font/woff;base64,{_woff(family, weight, used)}) }}"
        for weight, used in letters.items()
        if used
    ]
    if not faces:
        return pictures
    style = f'<defs>\n  <style type="text/css">{" ".join(faces)}</style>'
    return [svg.replace("<defs>", style, 1) for svg in pictures]


def _woff(family: str, weight: str, letters: set[str]) -> str:
    from fontTools.subset import Options, Subsetter
    from fontTools.ttLib import TTFont

    path = findfont(FontProperties(family=family, weight=weight))
    stream = BytesIO()
    # of what places letters in other scripts, only what these letters take is read
    with TTFont(path, recalcTimestamp=False, lazy=True) as font:
        options = Options(notdef_outline=True, hinting=False, layout_features=["*"])
        options.drop_tables += ["FFTM"]  # the font editor's own time stamps
        subsetter = Subsetter(options)
        subsetter.populate(text="".join(sorted(letters)))
        subsetter.subset(font)
        font.flavor = "woff"
        font.save(stream)
    return base64.b64encode(stream.getvalue()).decode("ascii")


FONT = "DejaVu Sans"
MM = 1.0 / 25.4
"""One millimetre in matplotlib's inches."""

_DPI = 144
_STYLE = {
    "font.family": [FONT],
    "font.size": 8.0,
    "pdf.fonttype": 42,
    "svg.fonttype": "none",
    "svg.hashsalt": "stopgap",
    "savefig.dpi": _DPI,
    "figure.dpi": _DPI,
    "text.parse_math": False,
    "axes.unicode_minus": True,
}
_LAST_RESORT = "Last Resort"


@dataclass(frozen=True, slots=True)
class Drawing:
    """Pages or one picture; `unshown` are the characters for which no font was found."""

    pages: tuple[Figure, ...]
    fonts: tuple[str, ...] = (FONT,)
    unshown: str = ""

    def pdf(self) -> bytes:
        """All pages in one file, without dates."""
        from matplotlib.backends.backend_pdf import PdfPages

        from stopgap.reports.drawing.pdf_text import text_of_pdf

        stream = BytesIO()
        about = {"Creator": "stopgap", "Producer": None, "CreationDate": None}
        with drawing_style(self.fonts), text_of_pdf(), PdfPages(stream, metadata=about) as file:
            for page in self.pages:
                file.savefig(page)
        return stream.getvalue()

    def svg(self) -> list[bytes]:
        """Each page, its text as text, with the font that all of them are set in."""
        about = {"Creator": "stopgap", "Date": None}
        plain = [self._saved(page, "svg", about).decode("utf-8") for page in range(len(self.pages))]
        return [picture.encode("utf-8") for picture in with_font(plain, FONT)]

    def png(self, page: int = 0) -> bytes:
        """One page as a picture of 144 dots an inch."""
        return self._saved(page, "png", {"Software": None})

    def _repr_png_(self) -> bytes:
        return self.png()

    def _saved(self, page: int, form: str, about: Mapping[str, str | None]) -> bytes:
        stream = BytesIO()
        with drawing_style(self.fonts):
            self.pages[page].savefig(stream, format=form, metadata=dict(about))
        return stream.getvalue()


FORMS: Mapping[str, Callable[[Drawing], Sequence[bytes]]] = MappingProxyType(
    {
        ".pdf": lambda drawing: [drawing.pdf()],
        ".svg": Drawing.svg,
        ".png": lambda drawing: [drawing.png(page) for page in range(len(drawing.pages))],
    }
)
"""A drawing as files, by the ending of their name; only PDF holds several pages in one."""


@contextmanager
def drawing_style(fonts: Sequence[str] = (FONT,)) -> Iterator[None]:
    """Draw by our own settings, whatever the user's are; a missing glyph is told of elsewhere."""
    style: Any = {**_usual_style(), **_STYLE, "font.family": list(fonts)}
    with (
        mpl.rc_context(style),
        warnings.catch_warnings(),
        _quiet(logging.getLogger("matplotlib.font_manager")),
    ):
        warnings.filterwarnings("ignore", message=r"Glyph \d+ .* missing from font")
        yield


@cache
def _usual_style() -> dict[str, Any]:
    """The settings matplotlib comes with; its module of styles reads thirty more as it loads."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # of settings that will go
        usual = mpl.rcParamsDefault
        return {name: usual[name] for name in usual if not name.startswith("backend")}


@contextmanager
def _quiet(logger: logging.Logger) -> Iterator[None]:
    """Without word of a font that has no bold: it then stands in its only weight."""
    level = logger.level
    logger.setLevel(logging.ERROR)
    try:
        yield
    finally:
        logger.setLevel(level)


def fonts_for(texts: Iterable[str]) -> tuple[tuple[str, ...], str]:
    """Fonts that together have the characters of `texts`, and the characters that none has."""
    missing = set("".join(texts)) - _characters(_path_of(FONT))
    fonts = [FONT]
    for name, path in _other_fonts() if missing else ():
        found = missing & _characters(path)
        if found:
            fonts.append(name)
            missing -= found
        if not missing:
            break
    return tuple(fonts), "".join(sorted(missing))


def _other_fonts() -> list[tuple[str, str]]:
    upright = {
        entry.name: entry.fname
        for entry in fontManager.ttflist
        if entry.style == "normal" and entry.weight in (400, "normal", "regular")
    }
    return sorted(item for item in upright.items() if not item[0].startswith((FONT, _LAST_RESORT)))


def _path_of(name: str) -> str:
    return next(
        entry.fname
        for entry in fontManager.ttflist
        if entry.name == name and entry.style == "normal" and entry.weight == 400
    )


def _characters(path: str) -> set[str]:
    try:
        font = get_font(path)
    except (OSError, RuntimeError):  # a font that cannot be read helps nobody
        return set()
    return set(map(chr, font.get_charmap())) if font.scalable else set()
