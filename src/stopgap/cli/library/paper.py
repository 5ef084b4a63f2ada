"""`stopgap paper`: add, list, edit, remove."""

from collections.abc import Callable
from typing import Any

import click

from stopgap.cli.options.common import WorkingCommand, library_options, output_options
from stopgap.cli.options.kinds import words
from stopgap.cli.options.paper import PaperName
from stopgap.cli.program import LazyGroup
from stopgap.cli.remedies import note_words
from stopgap.cli.session import session
from stopgap.errors import UsageError
from stopgap.swatches import Grain

_HERE = "library.paper"
PAPER_COMMANDS = {
    "add": (f"{_HERE}:add", "Put a paper into the drawer."),
    "list": (f"{_HERE}:list_command", "Show the papers of the drawer."),
    "edit": (f"{_HERE}:edit", "Rename a paper, or say what you know better."),
    "remove": (f"{_HERE}:remove", "Take a paper out of the drawer."),
}


@click.group("paper", cls=LazyGroup, table=PAPER_COMMANDS, no_args_is_help=True)
@library_options
def paper_group() -> None:
    """The papers you draw on: colour, grain, and what was learnt on each.

    Every command that answers with colours takes one by --on.

    \b
    Example:
      stopgap paper list
    """


def _stating(function: Callable[..., Any]) -> Callable[..., Any]:
    """The options for what can be said of a paper."""
    for option in (
        click.option(
            "--default/--no-default",
            "default",
            default=None,
            help="Drawn on wherever --on is not given.",
        ),
        click.option("--grain", type=words(Grain), help="How rough it is."),
        click.option(
            "--colour",
            metavar="COLOUR",
            help="Measured, 'lab(L a b)' or #rrggbb, or a word: white, cream, tan, grey, black.",
        ),
    ):
        function = option(function)
    return function


@click.command(cls=WorkingCommand)
@click.argument("name")
@_stating
@library_options
def add(name: str, colour: str | None, grain: str | None, default: bool | None) -> None:
    """Put a paper called NAME into the drawer.

    A measured colour is worth more than a word: what a word stands for is stopgap's own value.

    \b
    Examples:
      stopgap paper add Wrapping --colour tan --grain rough
      stopgap paper add 'Smooth white' --colour 'lab(95.6 0.3 -1.2)' --default
    """
    from stopgap.library import keep_paper, paper_colour
    from stopgap.swatches import Paper

    if colour is None:
        raise UsageError("The colour is missing: give it by --colour, measured or as a word.")
    lab, measured = paper_colour(colour)
    paper = Paper(lab, measured, name.strip(), (grain or "").lower(), default=bool(default))
    current = session()
    with current.open() as library:
        keep_paper(library, paper)
    words = colour.strip().lower()
    if measured or current.figures:
        from stopgap.reports.terms import colour_words  # with numpy

        told = colour_words(lab)
        words = told if current.figures else told.plain
    current.say(f"Added the paper {paper.name}, {words}.")


@click.command("list", cls=WorkingCommand)
@output_options
@library_options
def list_command() -> None:
    """Show the papers of the drawer.

    \b
    Example:
      stopgap paper list
    """
    from stopgap.library import stored_calibration, stored_papers
    from stopgap.reports.answers import PaperInDrawer, papers_report

    current = session()
    with current.open(read_only=True) as library:
        laid = [swatch.paper.casefold() for one in library.pencils() for swatch in one.swatches]
        rows = [
            PaperInDrawer(
                paper,
                sum(name in paper.names for name in laid),
                getattr(stored_calibration(library, paper.name), "samples", 0),
            )
            for paper in stored_papers(library)
        ]
    current.answer(papers_report(rows, note_words))


@click.command(cls=WorkingCommand)
@click.argument("name", type=PaperName(words=False))
@click.option("--name", "new_name", metavar="NAME", help="What to call it from now on.")
@_stating
@library_options
def edit(
    name: str,
    new_name: str | None,
    colour: str | None,
    grain: str | None,
    default: bool | None,
) -> None:
    """Rename the paper NAME, or say what you know better about it.

    Swatches and what was learnt go with a new name; files may still use the former one.

    \b
    Examples:
      stopgap paper add Buff --colour tan
      stopgap paper edit Buff --colour 'lab(73.1 7.2 22.4)' --default
      stopgap paper edit Buff --name 'Buff 120 g'
    """
    from stopgap.library import keep_paper, known_paper, paper_colour, stored_papers

    current = session()
    with current.open() as library:
        paper = before = known_paper(name, stored_papers(library))
        if colour is not None:
            lab, measured = paper_colour(colour)
            paper = paper._replace(lab=lab, measured=measured)
        paper = paper._replace(
            name=before.name if new_name is None else new_name.strip(),
            grain=before.grain if grain is None else grain.lower(),
            default=before.default if default is None else default,
        )
        if paper == before:
            current.say(f"{before.name} is so already; nothing was changed.")
            return
        keep_paper(library, paper, instead_of=before.name)
    current.say(f"Changed the paper {before.name}.")


@click.command(cls=WorkingCommand)
@click.argument("name", type=PaperName(words=False))
@library_options
def remove(name: str) -> None:
    """Take the paper NAME, and what was learnt on it, out of the drawer; swatches stay.

    \b
    Example:
      stopgap paper add Scraps --colour grey
      stopgap paper remove Scraps
    """
    from stopgap.library import remove_paper

    current = session()
    with current.open() as library:
        gone = remove_paper(library, name)
    current.say(f"Removed the paper {gone.name}. 'stopgap undo' brings it back.")
