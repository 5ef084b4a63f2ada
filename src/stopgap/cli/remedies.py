"""Errors and notes in the words of the command line: its options, and the commands that help."""

from collections.abc import Mapping
from types import MappingProxyType

from stopgap.errors import Note, Remedy, StopgapError

WORDS: Mapping[Remedy, str] = MappingProxyType(
    {
        Remedy.ACCEPT_OBSERVER: "Accept it with --accept-observer.",
        Remedy.ANY_PENCIL: "'stopgap own' says what you own; --any takes all.",
        Remedy.CALIBRATE: "'stopgap calibrate' learns it from your own layered swatches.",
        Remedy.CORRECT: "Add --correct to add the shift to {range}.",
        Remedy.CHECK_RANGE: "'stopgap range check' repeats them.",
        Remedy.IMPORT_RANGE: "Import a range with 'stopgap range import'.",
        Remedy.ONE_FAMILY: "'stopgap family NAME' shows the swatches of one.",
        Remedy.OTHER_FINISH: "--finish {finish} looks among such pencils.",
        Remedy.OTHER_LIBRARY: "Name another file with --library FILE.",
        Remedy.RECONSTRUCT: "--reconstruct tells the likely size for plain colours.",
        Remedy.SAY_OWNED: "'stopgap own' says which you own.",
        Remedy.TAKE_BACK: "'stopgap undo' takes it back.",
        Remedy.UNCORRECT: "'stopgap undo' or --clear takes it back.",
    }
)
"""What to do about it, filled with the details of the error or note."""

ARGUMENTS: Mapping[str, str] = MappingProxyType(
    {
        "cautious": "--cautious",
        "reconstruct": "--reconstruct",
        "budget": "--budget",
        "default_price": "--default-price",
        "jobs": "--jobs",
        "limit": "--step",
        "max_pencils": "--max-pencils",
        "pairs": "--pair",
        "paper": "--paper",
        "samples": "FILE",
    }
)
"""The options by which the arguments of functions are stated."""


def error_words(error: StopgapError) -> str:
    """The error, which option it is about, and what would help."""
    option = ARGUMENTS.get(error.argument, error.argument)
    sentence = f"{option}: {error.sentence}" if option else error.sentence
    return _with_remedy(sentence, error.remedy, error.details)


def note_words(note: Note) -> str:
    """The note, and what would help."""
    return _with_remedy(note.text, note.remedy, note.details)


def _with_remedy(sentence: str, remedy: Remedy | None, details: Mapping[str, object]) -> str:
    if remedy is None:
        return sentence
    return f"{sentence} {WORDS[remedy].format(**details)}".strip()
