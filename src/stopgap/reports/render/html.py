"""A report as a sheet: one HTML file to look at, to print, to pin above the desk."""

import re
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field

from stopgap.reports.blocks import Block, Chip, Grid, Heading, Lab, Paragraph, Report, Strip
from stopgap.reports.drawing.paints import paint_rules, paints
from stopgap.reports.render.pages import page, source

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


def render_html(report: Report, title: str = "") -> str:
    """A page of its own, without script or anything to load; `title` over the report's headings."""
    blocks = list(report.blocks)
    if not title and blocks and isinstance(first := blocks[0], Heading):
        title = first.text
        del blocks[0]
    sections = list(_sections(blocks))
    used = paints(_labs(blocks))
    return page(
        "sheet.html",
        tests={"compact": _is_compact},
        styles="\n".join([source("ground.css"), source("sheet.css"), paint_rules(used)]),
        title=title or report.schema,
        about=blocks[0].label if blocks and isinstance(blocks[0], Chip) else "",
        sections=sections,
        contents=_contents(sections),
        paint=used,
        clipped=not all(paint.in_sRGB for paint in used.values()),
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
            section = Section(block.text)
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


def _labs(blocks: Sequence[Block]) -> Iterator[Lab]:
    for block in blocks:
        match block:
            case Chip():
                yield from block.labs
            case Strip():
                for chip in block.chips:
                    yield from chip.labs
            case Grid():
                for row in block.rows:
                    yield from _labs([cell for cell in row if isinstance(cell, Chip)])
            case _:
                pass
