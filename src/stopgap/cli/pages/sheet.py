"""`stopgap sheet` and `stopgap pocket`: pages, and how the answer of a command is put on one.

`… --for match TARGET --owned`: what follows `--for` is another command with its own words.
"""

from collections.abc import Mapping
from pathlib import Path
from typing import TYPE_CHECKING

import click

from stopgap import defaults
from stopgap.cli.options.common import (
    WorkingCommand,
    arrangement_option,
    figures_option,
    library_options,
    overwrite_option,
    stated,
)
from stopgap.cli.options.paper import heavy_first_option, paper_options
from stopgap.cli.options.selection import lightfast_options
from stopgap.cli.program import LazyGroup
from stopgap.cli.session import Answered, session
from stopgap.errors import UsageError
from stopgap.swatches import Selection

if TYPE_CHECKING:
    from stopgap.errors import StopgapError
    from stopgap.library import Listed
    from stopgap.planner import Ground, Restock, ShoppingList, ToBuy
    from stopgap.swatches import Lightfastness

_OWN_FLAGS = ("--overwrite", "--grey-frame")  # may stand after the other command too


class AskingCommand(WorkingCommand):
    """A command whose `--for` takes all that follows: another command with its arguments."""

    def parse_args(self, ctx: click.Context, args: list[str]) -> list[str]:
        """Give every word after `--for` to it, one by one."""
        if "--for" in args:
            place = args.index("--for")
            words = [word for word in args[place + 1 :] if word not in _OWN_FLAGS]
            flags = [word for word in args[place + 1 :] if word in _OWN_FLAGS]
            if not words:
                raise UsageError("--for: name what to show, for instance --for match TARGET.")
            args = [*args[:place], *flags, *(f"--for={word}" for word in words)]
        return super().parse_args(ctx, args)


def answers_to(
    question: tuple[str, ...], subjects: Mapping[str, str]
) -> tuple[list[Answered], int]:
    """What the command in `question` answers, and its exit status.

    `subjects` says which command stands behind each word that may be asked for.

    Raises
    ------
    UsageError
        If the word is not among the subjects, or the command was told to print data.
    """
    context = click.get_current_context()
    word, *arguments = question
    known = {name: command for name, command in subjects.items() if _find(context, command)}
    if word not in known:
        raise UsageError(f"--for {word}: expected one of {', '.join(known)}.")
    command = _find(context, known[word])
    current = session()
    answered: list[Answered] = []
    current.page = answered
    status = 0
    if command is not None:
        with command.make_context(f"--for {word}", list(arguments), parent=context) as inner:
            try:
                command.invoke(inner)
            except click.exceptions.Exit as ended:
                status = ended.exit_code
    if current.form != "terminal":
        raise UsageError(f"--{current.form}: a page is HTML; ask the command itself for data.")
    return answered, status


def _find(context: click.Context, name: str) -> click.Command | None:
    """A command of the program by its name, parted by a space where it is one of a group."""
    command: click.Command | None = context.find_root().command
    for part in name.split():
        if not isinstance(command, LazyGroup):
            return None
        command = command.get_command(context, part)
    return command


SUBJECTS = {
    "match": "match",
    "layer": "layer",
    "tones": "tones",
    "list": "translate",
    "kit": "kit",
    "holes": "holes",
    "table": "table",
    "wall": "family wall",
    "family": "family show",
    "blend": "blend",
    "blends": "gaps",
    "shop": "shop",
    "range": "range show",
}
"""What may be asked for, and the command that answers."""

_TITLES = {
    "list": "A list of colours, and what to use",
    "kit": "A box to take along",
    "holes": "Holes in a box",
    "table": "Range beside range",
    "wall": "All pencils",
    "family": "Families, light to dark",
    "blend": "A blend",
    "blends": "Blends and their gaps",
    "shop": "Shopping list",
}


@click.command(cls=AskingCommand)
@click.argument("out", metavar="OUT.html", type=click.Path(path_type=Path))
@click.option("--title", help="What stands at the top.")
@overwrite_option
@click.option(
    "--for",
    "question",
    multiple=True,
    metavar="WHAT ...",
    type=click.UNPROCESSED,
    help="What to show, with its own arguments and options, after all others: match TARGET, "
    "layer FIRST SECOND, tones PENCIL, list FILE, kit --size N, holes, table, wall, family [NAME], "
    "blend FROM TO, blends FILE, shop, range NAME. The wall and every family where not given.",
)
@click.option(
    "--grey-frame",
    is_flag=True,
    help="Print the mid grey of the screen round the colours too; otherwise paper stays white.",
)
@library_options
def sheet(
    out: Path, title: str | None, overwrite: bool, question: tuple[str, ...], grey_frame: bool
) -> None:
    """Write one page with chips, to look at beside the paper or to print.

    The page is one file that loads nothing. Touch two colours that touch, and they fill the screen
    edge to edge, under other lamps too where both have spectra. What follows --for is the command
    of that name ('list' is 'translate', 'blends' is 'gaps'), and takes its options.

    \b
    Examples:
      stopgap sheet owned-stand-in.html --for match Fennmoor:FM017 --owned
      stopgap sheet roses.html --title Roses --for family 'muted roses'
      stopgap sheet print.html --grey-frame --for match Fennmoor:FM017
    """
    from stopgap.library import check_free, write_whole
    from stopgap.planner import under_lamps
    from stopgap.reports.render.html import render_html

    session().out = out
    check_free(out, overwrite=overwrite)
    asked = question or ("wall", "--lists")
    answered, status = answers_to(asked, SUBJECTS)
    with session().open(read_only=True) as library:
        lit = under_lamps(library.swatches())
    name = title or _TITLES.get(asked[0], "")
    for one in answered:
        page = render_html(one.report, name, framed=grey_frame, lit=lit)
        write_whole(out, page, overwrite=overwrite)
        session().say(f"Wrote {session().out_name}.")
    click.get_current_context().exit(status)


@click.command(cls=AskingCommand)
@click.argument("out", metavar="OUT.html", type=click.Path(path_type=Path))
@click.option(
    "--title", default=defaults.POCKET_TITLE, show_default=True, help="What stands at the top."
)
@click.option(
    "--buy",
    type=click.Path(path_type=Path),
    metavar="FILE",
    help="A list of pencils to buy, to be ticked off in the shop.",
)
@click.option("--recipes/--no-recipes", default=True, help="Whether to work out layering recipes.")
@lightfast_options
@arrangement_option
@paper_options
@heavy_first_option
@overwrite_option
@click.option(
    "--for",
    "question",
    multiple=True,
    metavar="shop ...",
    type=click.UNPROCESSED,
    help="Take the shopping list from 'stopgap shop', with its own options, after all others.",
)
@figures_option
@library_options
def pocket(
    out: Path,
    title: str,
    buy: Path | None,
    recipes: bool,
    lightfast: "tuple[Lightfastness, ...]",
    arrangement: str | None,
    on: str | None,
    grain: str | None,
    heavy_first: bool,
    overwrite: bool,
    question: tuple[str, ...],
) -> None:
    """Write the library as one page for the phone, to have in the shop without a connection.

    It finds pencils by name, code or colour words, shows the stand-ins of each, your own first,
    and recipes from your own; tells whether you own something like a colour; and keeps a shopping
    list. It sends nothing anywhere. Copy the file to the phone and open it there.

    \b
    Example:
      stopgap pocket phone.html --no-recipes
    """
    from stopgap import library as stored
    from stopgap.planner import carry_library, ground_of, under_lamps, user_filing
    from stopgap.reports.pocket import render_pocket

    current = session()
    current.out = out
    stored.check_free(out, overwrite=overwrite)
    if buy is not None and question:
        raise UsageError("--buy and --for: state the shopping list in one way.")
    papers = [] if buy is None else stored.by_paper(stored.read_list(buy), on)
    plans = _planned(question)
    for_one = {paper for paper, _ in papers or plans}
    if on is None and for_one != {""} and len(for_one) == 1:
        (on,) = for_one
    with current.open(read_only=True) as library:
        ground = ground_of(library, on, grain, heavy_first=heavy_first)
        swatches = ground.answering.swatches
        lit = under_lamps(library.swatches())  # as swatched: on another paper they are not known
        filing = user_filing(library, arrangement)
    wanted = _wanted(papers, plans, ground) if papers or plans else ([], None)
    to_buy, unknown = wanted
    selection = Selection(lightfast=lightfast)
    found = carry_library(
        swatches,
        layers=ground.conditions if recipes else None,
        selection=selection,
        arrangement=filing,
        cache=current.recipe_cache,
        progress=current.counter("pencils"),
    )
    page = render_pocket(
        found.stand_ins,
        title=title if ground.paper is None or stated("title") else f"{title}, on {ground.on}",
        families=found.families,
        to_buy=to_buy,
        lit=lit,
        notes=(*found.notes, *ground.remarks, *selection.rule_notes(swatches)),
        figures=current.figures,
    )
    stored.write_whole(out, page, overwrite=overwrite)
    size = len(page.encode()) / 1e6
    current.say(
        f"Wrote {current.out_name}: {len(swatches)} pencils, {len(to_buy)} to buy, {size:.1f} MB."
    )
    current.end_with(unknown)


def _planned(question: tuple[str, ...]) -> "list[tuple[str, ShoppingList | Restock]]":
    """The plans that answer a question of `shop`, each with its paper where that is one."""
    from stopgap import planner  # of which shopping is loaded where there is a plan

    answered = answers_to(question, {"shop": "shop"})[0] if question else []
    plans = [a for a in answered if isinstance(a.value, planner.ShoppingList | planner.Restock)]
    return [(one.grounds[0].on if len(one.grounds) == 1 else "", one.value) for one in plans]


def _wanted(
    papers: "list[tuple[str | None, list[Listed]]]",
    plans: "list[tuple[str, ShoppingList | Restock]]",
    ground: "Ground",
) -> "tuple[list[ToBuy], StopgapError | None]":
    """What to buy by a list and by plans; each says which paper it is for, unless shown on it."""
    from stopgap.library import find_swatch, known_rows, spread
    from stopgap.planner import listed_to_buy, planned_to_buy

    listed = spread([row for _, its in papers for row in its], ground.swatches)
    listed, unknown = known_rows(listed, ground.swatches, find_swatch)
    if papers and not listed:
        session().end_with(unknown)
    to_buy = listed_to_buy(listed, ground.swatches, on_papers=len(papers) > 1)
    for on, plan in plans:
        to_buy += planned_to_buy(plan, "" if on == ground.on else on)
    return to_buy, unknown
