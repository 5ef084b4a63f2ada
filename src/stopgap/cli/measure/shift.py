"""`stopgap range shift`."""

import click

from stopgap.cli.options.common import library_options, output_options
from stopgap.cli.options.kinds import RangeName
from stopgap.cli.remedies import note_words
from stopgap.cli.session import session
from stopgap.errors import UsageError


@click.command()
@click.argument("range_name", metavar="NAME", type=RangeName())
@click.argument("reference", metavar="REFERENCE", type=RangeName())
@click.option(
    "--pair",
    "pairs",
    multiple=True,
    metavar="CODE[=CODE]",
    help="A pencil of NAME and the same in REFERENCE; give five or more.",
)
@click.option("--correct", is_flag=True, help="Add the shift to NAME.")
@click.option("--clear", is_flag=True, help="Take a correction of NAME away instead.")
@output_options
@library_options
def shift(
    range_name: str, reference: str, pairs: tuple[str, ...], correct: bool, clear: bool
) -> None:
    """Show how the measurements of two ranges differ, over pencils that are the same.

    Another paper or instrument moves all colours alike. Name pencils that both ranges measured;
    the mean difference and its uncertainty are shown. Nothing is changed unless you ask for it.

    Name each pair as in --pair FM003=BW01; a code that both ranges use stands alone.

    \b
    Example:
      stopgap range shift Fennmoor Brindlewick --clear
    """
    from stopgap.library import clear_correction, correct_range, find_swatch
    from stopgap.planner import shift_of_pairs
    from stopgap.reports.answers import shift_report

    if clear and (pairs or correct):
        raise UsageError("--clear: leave --pair and --correct out.")
    current = session()
    with current.open(read_only=not (correct or clear)) as library:
        name, other = library.known_range(range_name), library.known_range(reference)
        if clear:
            had = clear_correction(library, name, f"clearing the correction of {name}")
            current.say(f"{name} is as its file states it{'' if had else ' already'}.")
            return
        swatches = library.swatches()
        found = shift_of_pairs(
            [
                (
                    find_swatch(f"{name}:{ours}", swatches),
                    find_swatch(f"{other}:{theirs}", swatches),
                )
                for ours, theirs in map(_codes, pairs)
            ]
        )
        if correct:
            correct_range(library, name, found.offset, f"correction of {name} by {other}")
    current.answer(shift_report(found, name, other, note_words, corrected=correct))


def _codes(pair: str) -> tuple[str, str]:
    ours, equals, theirs = pair.partition("=")
    if ours and not equals:
        return ours, ours
    if not (ours and theirs):
        raise UsageError(f"--pair {pair!r}: expected two codes, CODE=CODE.")
    return ours, theirs
