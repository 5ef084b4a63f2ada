"""`stopgap find`."""

import click

from stopgap.cli.options.common import library_options, output_options
from stopgap.cli.options.paper import on_option
from stopgap.cli.options.selection import Chosen, selection_options
from stopgap.cli.session import session

_SHOWN = 40


@click.command()
@click.argument("words", nargs=-1, required=True)
@click.option("--all", "every", is_flag=True, help="Show all of them, however many.")
@selection_options()
@on_option
@output_options
@library_options
def find(words: tuple[str, ...], every: bool, chosen: Chosen, on: str | None) -> None:
    """List the pencils that WORDS name or describe.

    Each word is looked for in codes, names, other names, ranges, and in what the standard calls the
    colour; inside of words too, in any language. Exit status 3 where there is no such pencil.

    \b
    Examples:
      stopgap find dark olive
      stopgap find kelp --range Fennmoor
    """
    from stopgap.errors import NothingFoundError
    from stopgap.library import pencils_of_colour, search_pencils
    from stopgap.planner import ground_of
    from stopgap.reports.answers import search_report

    current = session()
    with current.open(read_only=True) as library:
        ground = ground_of(library, on)
        swatches = chosen.wide_selection(library).of(ground.swatches)
    text = " ".join(words)
    found = search_pencils(text, swatches)
    near = [] if found else pencils_of_colour(text, swatches).pencils
    if not (found or near):
        raise NothingFoundError(f"No pencil has {text!r} in its name or its colour.")
    report = search_report(text, found or near, None if every else _SHOWN, near=bool(near))
    current.answer(report, on=ground)
