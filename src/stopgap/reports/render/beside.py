"""Text from anybody as rich's, and text that hangs beside a mark or a patch of colours."""

from collections.abc import Sequence

from rich.console import Console, ConsoleOptions, RenderResult
from rich.measure import Measurement
from rich.segment import Segment
from rich.style import Style
from rich.text import Text

from stopgap.reports.text import harmless, unstacked


def as_text(said: str, longest: int, style: str | Style = "") -> Text:
    """What somebody wrote, made harmless; a word too long for its line folds."""
    return Text(unstacked(harmless(said, longest)), style, overflow="fold")


class Beside:
    """Text beside a mark, or below one that takes more than half the page."""

    def __init__(self, mark: Sequence[Segment], text: Text) -> None:
        self.mark = mark
        self.text = text
        self.indent = sum(segment.cell_length for segment in mark) + 1

    def __rich_console__(self, console: Console, options: ConsoleOptions) -> RenderResult:
        """The mark and the lines of the text."""
        yield from self.mark
        indent = self.indent if self.indent <= options.max_width // 2 else 0
        if not indent:
            yield Segment.line()
        for number, line in enumerate(self.text.wrap(console, options.max_width - indent)):
            if indent:
                yield Segment(" " * (indent if number else 1))
            yield line

    def __rich_measure__(self, console: Console, options: ConsoleOptions) -> Measurement:
        """From the longest word to all on one line."""
        least, most = self.text.__rich_measure__(console, options)
        return Measurement(self.indent + least, self.indent + most)
