"""A report as a sheet: one HTML file to look at, to print, to pin above the desk."""

import re
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from hashlib import sha256
from types import MappingProxyType

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
from stopgap.reports.render.filling import page, source
from stopgap.reports.render.paint import Lit, Paint, paint_rules, paints

_CONTENTS_FROM = 4  # subjects that are worth a table of contents


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

    @property
    def short(self) -> bool:
        """Whether in print it stays on one page, leaving at most two fifths of another empty."""
        return sum(map(_height, self.parts)) <= _SHORT


_SHORT = 110.0


def _height(part: Part) -> float:
    """About how high it is in print [mm], on the high side."""
    match part.blocks[0]:
        case Paragraph(text=text):
            return 6.0 + 4.0 * (len(text) // 90)
        case Chip():
            return 17.0 * len(part.blocks)
        case Strip(chips=chips):
            return 45.0 * -(-len(chips) // 7)
        case Grid(rows=rows, remarks=remarks):
            return 8.0 + 15.0 * len(rows) + 4.5 * sum(map(len, remarks.values()))
        case Wall() | ColourMap():
            return 2 * _SHORT
        case _:
            return 8.0


SHEET_STYLES = ("ground.css", "sheet.css", "wall.css")
"""What blocks are shown by, wherever they stand."""


def laid_out(
    blocks: Sequence[Block],
    lit: Lit = MappingProxyType({}),
    prefix: str = "k",
    *,
    figures: bool = False,
) -> tuple[list[Section], dict[Lab, Paint]]:
    """The sections that `sheet_sections.html` shows, and the paints of all their colours, whose
    classes begin with `prefix`.
    """
    return list(_sections(blocks)), paints(_labs(blocks), lit, prefix, figures=figures)


def render_html(
    report: Report, title: str = "", *, framed: bool = False, lit: Lit = MappingProxyType({})
) -> str:
    """A page of its own, without anything to load; `title` over the report's headings.

    Its script fills the screen with two colours that touch, where `lit` knows them under lamps too;
    a page on which nothing touches has none. `framed` prints the grey ground round chips.
    """
    blocks = report.shown
    if not title and blocks and isinstance(first := blocks[0], Heading):
        title = first.text
        del blocks[0]
    sections, used = laid_out(blocks, lit, figures=report.figures)
    return page(
        "sheet.html",
        styles="\n".join([*map(source, (*SHEET_STYLES, "edge.css")), paint_rules(used)]),
        script=source("edge.js") + source("sheet_edge.js") if _touch(blocks) else "",
        lamps=("Daylight", *LAMPS.values()),
        figures=report.figures,
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
    blocks = report.shown
    title = ""
    if blocks and isinstance(first := blocks[0], Heading):
        title = first.text
        del blocks[0]
    sections, used = laid_out(blocks, figures=report.figures)
    rules = "\n".join(map(source, (*SHEET_STYLES, "fragment.css")))
    name = f"s{sha256(repr(blocks).encode('utf-8')).hexdigest()[:12]}"
    return page(
        "fragment.html",
        styles=f".{name} {{\n{rules.replace(':root', '&')}\n{paint_rules(used)}}}",
        name=name,
        title=title,
        sections=sections,
        paint=used,
    )


def _contents(sections: Sequence[Section]) -> dict[int, str]:
    """The place of each section whose subject, before a colon or parenthesis, is new."""
    first: dict[str, int] = {}
    for place, section in enumerate(sections):
        if section.title:
            first.setdefault(re.split(r": | \(", section.title)[0], place)
    return {place: words for words, place in first.items()} if len(first) >= _CONTENTS_FROM else {}


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
