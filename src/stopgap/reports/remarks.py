"""Notes of an answer, in the words of whoever gives it."""

from collections.abc import Callable, Iterable

from stopgap.errors import Note
from stopgap.reports.blocks import Paragraph

Say = Callable[[Note], str]
"""Puts a note into words with what would help: the command line's, a page's, or `str`, which leaves
out what would help."""


def remarks(notes: Iterable[Note], say: Say) -> list[Paragraph]:
    """A paragraph for each note that says something."""
    return [Paragraph(text, mark="·") for text in map(say, notes) if text]
