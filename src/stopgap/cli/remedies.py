"""Errors and notes in the words of the command line: its options, and the commands that help."""

from collections.abc import Mapping
from types import MappingProxyType

from stopgap.errors import Note, Remedy, StopgapError

WORDS: Mapping[Remedy, str] = MappingProxyType(
    {
        Remedy.ACCEPT_OBSERVER: "Accept it with --accept-observer.",
        Remedy.ANY_PENCIL: "'stopgap own' says what you own; --any takes all.",
        Remedy.ARRANGE: "'stopgap arrangement new' begins one.",
        Remedy.CALIBRATE: "'stopgap calibrate' learns it from your own layered swatches.",
        Remedy.CHECK_RANGE: "'stopgap range check' repeats them.",
        Remedy.CHECK_LIBRARY: "'stopgap library check' tells all of it, and saves the rest.",
        Remedy.CONFIRM: "Add --yes to take it so, --mapping FILE to say what columns hold, or "
        "--all to see each cell.",
        Remedy.CORRECT: "Add --correct to take it out of {range}.",
        Remedy.CORRECT_RANGE: '\'stopgap range shift "{range}" "{reference}" --correct\' '
        "takes it out of {range}.",
        Remedy.CORRECTED_ALREADY: "Leave --correct-bandpass out.",
        Remedy.DROP: "Add --drop if the range shall lose them.",
        Remedy.EACH_CELL: "--all shows each cell.",
        Remedy.EDIT_SWATCH: "Change it with 'stopgap swatch edit'.",
        Remedy.FEWER_TO_LAYER: "Name a range with --range, or leave recipes out with --no-layers.",
        Remedy.FILE_PENCIL: "'stopgap family move' files them, and after 'stopgap arrangement use "
        "NAME --fill' their colour does where they melt into a family.",
        Remedy.FIRST_RANGE: "Import a range with 'stopgap range import', or see 'stopgap demo'.",
        Remedy.GIVE_COLOUR: "Colour in its box of 'stopgap chart' and read it with 'stopgap scan', "
        "or say it: 'stopgap swatch edit {pencil} --lab L a b' (or --hex).",
        Remedy.GIVE_COLOURS: "'stopgap chart' draws boxes to colour in, 'stopgap scan' reads them.",
        Remedy.IMPORT_RANGE: "Import a range with 'stopgap range import'.",
        Remedy.KEEP_PAPER: "'stopgap paper add' keeps one, 'stopgap paper list' shows yours.",
        Remedy.MEASURE_SHIFT: "See with 'stopgap range shift' whether the new file needs one.",
        Remedy.MODE_OF_THE_FILE: "Leave --mode out, or name a mode of the file.",
        Remedy.NAME_PAIRS: "Name pencils that both measured with --pair CODE=CODE, five or more.",
        Remedy.NEW_RANGE: "Import it without --replace.",
        Remedy.OBSERVER_OF_THE_FILE: "Leave --observer out.",
        Remedy.NAME_ILLUMINANT: "Name one with --under.",
        Remedy.NAME_PAPER: "Say with --on which paper you draw on.",
        Remedy.NO_METRIC: "Leave --metric out.",
        Remedy.ONE_CURRENCY: "Buy from ranges in one with --range, or say a price anew: 'stopgap "
        "swatch edit RANGE CODE --price 2.70 --currency EUR'.",
        Remedy.ONE_FAMILY: "'stopgap family NAME' shows the swatches of one.",
        Remedy.ONE_MODE: "Choose one with --mode {modes}.",
        Remedy.OTHER_FINISH: "--finish {finish} looks among such pencils.",
        Remedy.OTHER_LIBRARY: "Name another file with --library FILE.",
        Remedy.OVERWRITE: "Add --overwrite to replace it.",
        Remedy.RECONSTRUCT: "--reconstruct tells the likely size for plain colours.",
        Remedy.RENEW_RANGE: "Import with --replace to renew it (what you decided about its pencils "
        "is kept), or choose another --name.",
        Remedy.REPEATED_READINGS: "If they are readings of one pencil, add --repeats.",
        Remedy.REPLACE_MEASURED: "--replace-measured lets the scan take its place.",
        Remedy.REPAIR: "Put back a copy with 'stopgap restore', or save the rest by --repair NEW.",
        Remedy.RESTORE: "Put back a copy that 'stopgap backup' made, or name another file with "
        "--library.",
        Remedy.SAY_OWNED: "'stopgap own' says which you own.",
        Remedy.SEARCH: "'stopgap find {words}' lists them.",
        Remedy.SORT_FAMILY: "'stopgap family sort NAME' takes it.",
        Remedy.START_RANGE: "To start a range of your own, add --new-range.",
        Remedy.STATE_PATCHES: "--target takes a spreadsheet of page, row, column and colour.",
        Remedy.STATE_PRESSURE: "Say --laid light or medium if not.",
        Remedy.STATE_SOURCE: "Say --source scanned or typed if not.",
        Remedy.STATE_WHITE: "If it is another, import again with --white and --observer.",
        Remedy.SWATCH_DRY: "Measure it dry: 'stopgap swatch add {pencil} --lab L a b'.",
        Remedy.TAKE_BACK: "'stopgap undo' takes it back.",
        Remedy.UNCORRECT: "'stopgap undo' or --clear takes it back.",
        Remedy.WHITE_OF_THE_FILE: "Leave --white out.",
    }
)
"""What to do about it, filled with the details of the error or note."""

ARGUMENTS: Mapping[str, str] = MappingProxyType(
    {
        "cautious": "--cautious",
        "replace": "--replace",
        "for_laydown": "--for-laydown",
        "reconstruct": "--reconstruct",
        "budget": "--budget",
        "default_price": "--default-price",
        "jobs": "--jobs",
        "keep": "--keep",
        "limit": "--step",
        "max_pencils": "--max-pencils",
        "pairs": "--pair",
        "bare_paper": "--bare-paper",
        "sheet_size": "--sheet-size",
        "anchor": "--anchor",
        "anchors": "--anchor",
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
    apart = "\n  " if "\n" in sentence else " "
    return f"{sentence}{apart}{WORDS[remedy].format(**details)}".strip()
