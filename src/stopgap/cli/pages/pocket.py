"""`stopgap pocket`."""

from pathlib import Path

import click

from stopgap import defaults
from stopgap.cli.options.common import library_options, stated
from stopgap.cli.options.paper import heavy_first_option, paper_options
from stopgap.cli.pages.sheet import AskingCommand, answers_to
from stopgap.cli.session import session
from stopgap.errors import UsageError


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
@paper_options
@heavy_first_option
@click.option("--overwrite", is_flag=True, help="Replace the file if it exists.")
@click.option(
    "--for",
    "question",
    multiple=True,
    metavar="shop ...",
    type=click.UNPROCESSED,
    help="Take the shopping list from 'stopgap shop', with its own options, after all others.",
)
@library_options
def pocket(
    out: Path,
    title: str,
    buy: Path | None,
    recipes: bool,
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
      stopgap pocket pencils.html --no-recipes
    """
    from stopgap.library import check_free, read_list, write_whole
    from stopgap.planner import (
        ShoppingList,
        carry_library,
        ground_of,
        listed_to_buy,
        planned_to_buy,
        user_filing,
    )
    from stopgap.reports.pocket import render_pocket

    session().out = out
    check_free(out, overwrite=overwrite)
    if buy is not None and question:
        raise UsageError("--buy and --for: state the shopping list in one way.")
    current = session()
    with current.open(read_only=True) as library:
        ground = ground_of(library, on, grain, heavy_first=heavy_first)
        swatches = ground.swatches
        pins = user_filing(library)
    to_buy = listed_to_buy(read_list(buy), swatches, buy.name) if buy is not None else []
    if question:
        answered, _ = answers_to(question, {"shop": "shop"})
        plans = [one.value for one in answered if isinstance(one.value, ShoppingList)]
        to_buy = [one for plan in plans for one in planned_to_buy(plan)]
    found = carry_library(
        swatches,
        layers=ground.conditions if recipes else None,
        pins=pins,
        cache=current.recipe_cache,
        progress=current.counter("pencils"),
    )
    page = render_pocket(
        found.stand_ins,
        title=title if ground.paper is None or stated("title") else f"{title}, on {ground.on}",
        families=found.families,
        to_buy=to_buy,
        notes=(*found.notes, *ground.notes),
    )
    write_whole(out, page, overwrite=overwrite)
    size = len(page.encode()) / 1e6
    current.say(
        f"Wrote {current.out_name}: {len(swatches)} pencils, {len(to_buy)} to buy, {size:.1f} MB."
    )
