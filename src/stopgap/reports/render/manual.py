"""Topics of the manual on a terminal, laid out by rich, and as one page."""

from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING

from markdown_it import MarkdownIt
from rich.box import SIMPLE_HEAD
from rich.console import Console, ConsoleOptions, RenderResult
from rich.markdown import Markdown, TableElement, TextElement
from rich.table import Table
from rich.text import Text
from rich.theme import Theme

from stopgap.reports.manual import Topic
from stopgap.reports.render.filling import page, source

if TYPE_CHECKING:
    from markdown_it.rules_core import StateCore

_THEME = Theme(
    {
        "markdown.h1": "bold",
        "markdown.h2": "bold",
        "markdown.code": "bold",
        "markdown.code_block": "none",
        "markdown.table.header": "italic",
        "markdown.table.border": "none",
        "markdown.item.bullet": "none",
    }
)
_WIDEST = 100  # longer lines are hard to read


class _Printed(TextElement):
    """A block of code as it is written, two cells to the right; it can be copied."""

    style_name = "markdown.code_block"

    def __rich_console__(self, console: Console, options: ConsoleOptions) -> RenderResult:
        del console, options
        for line in self.text.plain.rstrip("\n").splitlines():
            yield Text(f"  {line}", no_wrap=True, overflow="ignore")


class _Lined(TableElement):
    """A table as wide as the page, with a line below its headings."""

    def __rich_console__(self, console: Console, options: ConsoleOptions) -> RenderResult:
        for table in super().__rich_console__(console, options):
            if isinstance(table, Table):
                table.box, table.show_edge = SIMPLE_HEAD, False
            yield table


class _OnTerminal(Markdown):
    """Markdown whose code is plain text and whose headings stand to the left."""

    elements = Markdown.elements | {
        "fence": _Printed,
        "code_block": _Printed,
        "table_open": _Lined,
    }


def render_topics(topics: Iterable[Topic], console: Console) -> str:
    """The topics as text for `console`, each below its heading."""
    with console.use_theme(_THEME), console.capture() as captured:
        for topic in topics:
            console.print(Text(topic.title, "bold"))
            console.print()
            console.print(
                _OnTerminal(topic.text, hyperlinks=False), width=min(console.width, _WIDEST)
            )
    return "".join(f"{line.rstrip(' ')}\n" for line in captured.get().splitlines())


def _title_cells(state: "StateCore") -> None:
    """Each cell of a table bears what its column is called, for pages too narrow for columns."""
    titles: list[str] = []
    for place, token in enumerate(state.tokens):
        if token.type == "thead_open":
            titles = []
        elif token.type == "th_open":
            titles.append(state.tokens[place + 1].content)
        elif token.type == "tr_open":
            column = 0
        elif token.type == "td_open":
            token.attrSet("data-title", titles[column])
            column += 1


def render_manual(topics: Sequence[Topic], *, terminal: bool = True) -> str:
    """The topics as one page of its own; `terminal` is whether passages about commands are on it.

    The Markdown is read without HTML, so that nothing in it becomes a tag of the page.
    """
    from markupsafe import Markup

    markdown = MarkdownIt("commonmark", {"html": False}).enable("table")
    markdown.core.ruler.push("titled", _title_cells)
    sections = [
        {
            "name": topic.name,
            "title": topic.title,
            "about": topic.about,
            # escaped by markdown-it, which was told to take no HTML
            "passages": [
                (Markup(markdown.render(passage.pictured)), passage.at_terminal)
                for passage in topic.passages
                if terminal or not passage.at_terminal
            ],
        }
        for topic in topics
    ]
    return page(
        "manual.html",
        styles="\n".join([source("ground.css"), source("sheet.css"), source("manual.css")]),
        pictures=True,
        sections=[section for section in sections if section["passages"]],
    )
