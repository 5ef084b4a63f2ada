"""A report as a sheet: one HTML file to look at, to print, to pin above the desk.

Templates, styles and script are put together under a strict policy, which admits this one style and
script, by their hashes, and no connection, image, frame or form. Colours are CSS `lab()` with the
nearest sRGB beneath: one that sRGB lacks is shown with its chroma reduced, unless the screen has a
wider gamut; browsers would clip it, which turns its hue.
"""

import re
from base64 import b64encode
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from hashlib import sha256
from pathlib import Path
from types import MappingProxyType
from typing import Any

from stopgap.defaults import LAMPS
from stopgap.reports.blocks import (
    Block,
    Chip,
    ColourMap,
    Grid,
    Heading,
    Lab,
    Paragraph,
    Report,
    Strip,
    Wall,
)
from stopgap.reports.text import harmless


@dataclass(frozen=True, slots=True)
class Paint:
    """One colour: its CSS class, how it is written, what it is called, whether sRGB has it."""

    name: str
    lab: str
    hex: str
    words: str
    in_sRGB: bool
    lamps: tuple["Paint", ...] = ()
    """What it looks like under each lamp, where its spectrum is known."""

    @property
    def lit(self) -> bool:
        """Whether a page can show it under other lamps."""
        return bool(self.lamps)

    @property
    def label(self) -> str:
        """What a screen reader says."""
        return f"{self.words}, {self.lab}{'' if self.in_sRGB else ', outside sRGB'}"


Lit = Mapping[Lab, Sequence[Lab]]
"""What colours look like under each of `defaults.LAMPS`, where that is known."""


def paints(labs: Iterable[Lab], lit: Lit = MappingProxyType({})) -> dict[Lab, Paint]:
    """A paint for each different colour."""
    from stopgap.colorimetry import lab_to_hexes, lab_to_srgb
    from stopgap.naming import iscc_nbs

    different = list(dict.fromkeys(labs))
    if not different:
        return {}
    names = iscc_nbs(different).tolist()
    _, inside = lab_to_srgb(different)
    hexes = lab_to_hexes(different)
    under = paints(lamp for lab in different for lamp in lit.get(lab, ()))
    return {
        lab: Paint(
            f"k{place}",
            css_lab(lab),
            hexes[place],
            names[place],
            bool(inside[place]),
            tuple(under[lamp] for lamp in lit.get(lab, ())),
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
    every = [(paint.name, "background", paint) for paint in used.values()]
    every += [
        (paint.name, f"--lamp{number}", lamp)
        for paint in used.values()
        for number, lamp in enumerate(paint.lamps, start=1)
    ]
    lines = [f".{name}{{{what}:{paint.hex}}}" for name, what, paint in every]
    for condition, in_sRGB in (
        ("@supports (color:lab(50 0 0))", True),
        ("@media (color-gamut:p3)", False),
    ):
        there = [each for each in every if each[2].in_sRGB is in_sRGB]
        if there:
            rules = "".join(f".{name}{{{what}:{paint.lab}}}" for name, what, paint in there)
            lines.append(f"{condition}{{{rules}}}")
    return "\n".join(lines)


_LONGEST = 2000


def page(
    template: str,
    *,
    styles: str,
    script: str = "",
    pictures: bool = False,
    tests: Mapping[str, Callable[[Any], bool]] | None = None,
    **context: Any,
) -> str:
    """A template filled in; whatever text it is given is escaped and cannot steer the page."""
    from jinja2 import Environment, PackageLoader, StrictUndefined
    from markupsafe import Markup

    environment = Environment(
        loader=PackageLoader("stopgap.reports"),
        autoescape=True,
        trim_blocks=True,
        lstrip_blocks=True,
        keep_trailing_newline=True,
        undefined=StrictUndefined,
        finalize=_plain,
    )
    environment.tests.update(tests or {})
    return environment.get_template(template).render(
        policy=_policy(styles, script, pictures=pictures),
        # ours, or made of numbers: never of anybody's text
        styles=Markup(styles),
        script=Markup(script),
        **context,
    )


def source(name: str) -> str:
    """A style or script of the package."""
    return (Path(__file__).parents[1] / "templates" / name).read_text(encoding="utf-8")


def _plain(value: Any) -> Any:
    """Text without control or direction characters; what is marked safe passes."""
    if isinstance(value, str) and not hasattr(value, "__html__"):
        return harmless(value, _LONGEST)
    return value


def _policy(styles: str, script: str, *, pictures: bool) -> str:
    parts = ["default-src 'none'", f"style-src {_digest(styles)}"]
    if script:
        parts.append(f"script-src {_digest(script)}")
    if pictures:  # those in the page itself
        parts.append("img-src data:")
    return "; ".join([*parts, "base-uri 'none'", "form-action 'none'"])


def _digest(text: str) -> str:
    return f"'sha256-{b64encode(sha256(text.encode('utf-8')).digest()).decode('ascii')}'"


_CONTENTS_FROM = 4  # subjects that are worth a table of contents
_COMPACT_COLUMNS = 4


@dataclass(slots=True)
class Part:
    """Blocks of one kind that belong together: chips in a row, or a single block."""

    kind: str
    blocks: list[Block]


@dataclass(slots=True)
class Section:
    """A heading and what stands under it."""

    title: str
    parts: list[Part] = field(default_factory=list)
    whole: bool = False


def render_html(
    report: Report, title: str = "", *, framed: bool = False, lit: Lit = MappingProxyType({})
) -> str:
    """A page of its own, without anything to load; `title` over the report's headings.

    Its script fills the screen with two colours that touch, where `lit` knows them under lamps too;
    a page on which nothing touches has none. `framed` prints the grey ground round chips.
    """
    blocks = list(report.blocks)
    if not title and blocks and isinstance(first := blocks[0], Heading):
        title = first.text
        del blocks[0]
    sections = list(_sections(blocks))
    used = paints(_labs(blocks), lit)
    styles = [source(f"{name}.css") for name in ("ground", "sheet", "wall", "edge")]
    return page(
        "sheet.html",
        tests={"compact": _is_compact},
        styles="\n".join([*styles, paint_rules(used)]),
        script=source("edge.js") + source("sheet_edge.js") if _touch(blocks) else "",
        lamps=("Daylight", *LAMPS.values()),
        framed=framed,
        title=title or report.schema,
        about=blocks[0].label if blocks and isinstance(blocks[0], Chip) else "",
        sections=sections,
        contents=_contents(sections),
        paint=used,
        clipped=not all(paint.in_sRGB for paint in used.values()),
    )


def render_fragment(report: Report) -> str:
    """The same blocks to stand in a page of somebody else, such as a notebook's.

    Styles are nested within an element of its own (CSS Nesting 1), so that they change nothing
    beside it; its class is made of what it says, so that two on one page do not share colours.
    """
    blocks = list(report.blocks)
    title = ""
    if blocks and isinstance(first := blocks[0], Heading):
        title = first.text
        del blocks[0]
    used = paints(_labs(blocks))
    rules = "\n".join(map(source, ("ground.css", "sheet.css", "wall.css", "fragment.css")))
    name = f"s{sha256(repr(blocks).encode('utf-8')).hexdigest()[:12]}"
    return page(
        "fragment.html",
        tests={"compact": _is_compact},
        styles=f".{name} {{\n{rules.replace(':root', '&')}\n{paint_rules(used)}}}",
        name=name,
        title=title,
        sections=list(_sections(blocks)),
        paint=used,
    )


def _contents(sections: Sequence[Section]) -> dict[int, str]:
    """The place of each section whose subject, before a colon or parenthesis, is new."""
    first: dict[str, int] = {}
    for place, section in enumerate(sections):
        if section.title:
            first.setdefault(re.split(r": | \(", section.title)[0], place)
    return {place: words for words, place in first.items()} if len(first) >= _CONTENTS_FROM else {}


def _is_compact(grid: Grid) -> bool:
    """Whether the rows are one chip and little text."""
    firsts = [row[0] for row in grid.rows]
    single = all(isinstance(first, Chip) and len(first.labs) == 1 for first in firsts)
    return single and len(grid.columns) <= _COMPACT_COLUMNS


def _sections(blocks: Iterable[Block]) -> Iterator[Section]:
    section = Section("")
    for block in blocks:
        if isinstance(block, Heading):
            if section.title or section.parts:
                yield section
            section = Section(block.text, whole=block.whole)
        else:
            _add(section, block)
    if section.title or section.parts:
        yield section


def _add(section: Section, block: Block) -> None:
    kind = type(block).__name__.lower()
    if isinstance(block, Paragraph) and not block.text:
        return
    parts = section.parts
    if isinstance(block, Chip) and len(block.labs) == 1 and parts and parts[-1].kind == kind:
        parts[-1].blocks.append(block)
    else:
        # several colours in one chip touch each other, and must not touch their neighbours'
        parts.append(
            Part("chips" if isinstance(block, Chip) and len(block.labs) > 1 else kind, [block])
        )


def _touch(blocks: Iterable[object]) -> bool:
    """Whether there are colours that touch, to be opened edge to edge."""
    return any(
        (isinstance(block, Chip) and len(block.labs) > 1)
        or (isinstance(block, Strip) and len(block.chips) > 1)
        or (isinstance(block, Grid) and any(_touch(row) for row in block.rows))
        for block in blocks
    )


def _labs(blocks: Sequence[Block]) -> Iterator[Lab]:
    for block in blocks:
        match block:
            case Chip():
                yield from block.labs
            case Strip():
                for chip in block.chips:
                    yield from chip.labs
            case Wall() | ColourMap():
                yield from block.labs
            case Grid():
                for row in block.rows:
                    yield from _labs([cell for cell in row if isinstance(cell, Chip)])
            case _:
                pass
