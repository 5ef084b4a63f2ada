"""Errors and remarks in the words of the desk: its rooms and fields, and what helps there."""

from collections.abc import Mapping
from types import MappingProxyType

from stopgap.errors import Note, Remedy, StopgapError

WORDS: Mapping[Remedy, str] = MappingProxyType(
    {
        Remedy.ANY_PENCIL: "Tick on the wall what you own, or take any that can be had.",
        Remedy.CHECK_LIBRARY: "Put back a copy of it, or open the desk on another library.",
        Remedy.CONFIRM: "Look at what was understood of it below, and take it if it is right.",
        Remedy.FIRST_RANGE: "Bring in a range, or take the invented ones to look at.",
        Remedy.GIVE_COLOUR: "Colour in its box of a printed chart, or bring its colour in.",
        Remedy.GIVE_COLOURS: "Print a chart, colour its boxes in, and bring the colours in.",
        Remedy.IMPORT_RANGE: "Bring a range in.",
        Remedy.FEWER_TO_LAYER: "Choose one range, or leave layers out.",
        Remedy.ONE_CURRENCY: "Bring the ranges in with prices in one currency.",
        Remedy.RENEW_RANGE: "Say that it renews that range (what you decided stays), or give it "
        "another name.",
        Remedy.REPEATED_READINGS: "Name each code once.",
        Remedy.SAY_OWNED: "Tick on the wall what you own.",
        Remedy.TAKE_BACK: "History takes it back.",
    }
)
"""What to do about it. What is left out here can be done on the command line alone, which no page
names."""


def error_words(error: StopgapError) -> str:
    """What is wrong, and what would help."""
    return _with_remedy(error.sentence, error.remedy)


def note_words(note: Note) -> str:
    """The remark, and what would help; empty where it is but a hint at a command."""
    return _with_remedy(note.text, note.remedy)


def _with_remedy(sentence: str, remedy: Remedy | None) -> str:
    helps = "" if remedy is None else WORDS.get(remedy, "")
    return f"{sentence} {helps}".strip() if sentence else ""
