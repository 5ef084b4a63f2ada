"""DejaVu Sans inside an SVG, cut down to the letters that the drawing uses.

Text in an SVG is set by whoever shows it; with the font inside, it is set as it was measured.
Fonts of the user's machine are named and not embedded: their licences are not known.
"""

import base64
import re
from html import unescape
from io import BytesIO

from matplotlib.font_manager import FontProperties, findfont

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
