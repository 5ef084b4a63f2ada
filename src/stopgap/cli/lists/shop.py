"""`stopgap shop`."""

from pathlib import Path
from typing import TYPE_CHECKING

import click

from stopgap import defaults
from stopgap.cli.options.common import (
    WorkingCommand,
    library_options,
    only_stated,
    output_options,
    step_option,
    time_limit_option,
    way_option,
)
from stopgap.cli.options.kinds import RangeName, TargetText
from stopgap.cli.options.paper import heavy_first_option, paper_options
from stopgap.cli.options.selection import for_laydown_option, lightfast_options
from stopgap.cli.remedies import note_words
from stopgap.cli.session import session
from stopgap.errors import NothingFoundError, UsageError

if TYPE_CHECKING:
    from stopgap.library import Listed, ListedBlend
    from stopgap.planner import ListedNeeds
    from stopgap.swatches import Lightfastness, Selection


@click.command(cls=WorkingCommand)
@click.option(
    "--blends", "blends_file", type=click.Path(path_type=Path), help="Blends without gaps."
)
@click.option(
    "--list", "list_file", type=click.Path(path_type=Path), help="Colours to come close to."
)
@click.option(
    "--for",
    "shades",
    multiple=True,
    type=TargetText(),
    help="A shade to lay or replace; may be repeated. One to be replaced never serves itself.",
)
@click.option(
    "--restock",
    is_flag=True,
    help="What runs out instead: empty pencils and stubs, and what --list and --for call for that "
    "you do not have.",
)
@step_option
@way_option
@click.option(
    "--tolerance",
    type=float,
    default=defaults.TOLERANCE,
    show_default=True,
    metavar="ΔE",
    help="How far a stand-in, or the end of a blend, may be off.",
)
@click.option("--budget", type=float, help="Spend no more; then the most need met for it.")
@click.option(
    "--default-price",
    type=float,
    default=defaults.PRICE,
    show_default=True,
    help="Where no price is known, instead of the median of its range, else of all.",
)
@click.option(
    "--layers/--no-layers",
    default=True,
    show_default=True,
    help="Whether what you own counts in layers too.",
)
@click.option(
    "--layering/--no-layering", default=None, hidden=True, help="The former name of --layers."
)
@click.option(
    "--range",
    "ranges",
    multiple=True,
    type=RangeName(),
    metavar="NAME",
    help="Buy only from this range; may be repeated.",
)
@click.option("--exclude", multiple=True, type=TargetText(), help="Do not buy this pencil.")
@lightfast_options
@click.option(
    "--compare",
    is_flag=True,
    help="Show each need now beside then, and what of all colours you reach before and after.",
)
@click.option("--partial", is_flag=True, help="Spend on gaps that nothing can close in full too.")
@for_laydown_option
@time_limit_option
@paper_options
@heavy_first_option
@output_options
@library_options
def shop(
    blends_file: Path | None,
    list_file: Path | None,
    shades: tuple[str, ...],
    restock: bool,
    step: float,
    path: str,
    tolerance: float,
    budget: float | None,
    default_price: float,
    layers: bool,
    layering: bool | None,
    ranges: tuple[str, ...],
    exclude: tuple[str, ...],
    lightfast: "tuple[Lightfastness, ...]",
    compare: bool,
    partial: bool,
    for_laydown: bool,
    time_limit: float,
    on: str | None,
    grain: str | None,
    heavy_first: bool,
) -> None:
    """Find the cheapest pencils to buy that close the gaps in what you own.

    Name blends (--blends FILE: name, from, to, optional step, via, by_lightness), colours (--list
    FILE) or shades (--for RANGE:CODE), or several of these: one pencil may serve more than one
    need, and a set is bought where it costs less than its singles. A column paper in a file says on
    which paper each is to be met, with one purchase for all; shades are on the first of them. The
    answer is proved to be the best, or says how far from it it may be. A shade of --for or --list
    that is discontinued, empty or avoided does not serve itself, even where you own it; --restock
    buys it again. Exit status 3 where a need stays open, a pencil to restock among them.

    \b
    Example:
      stopgap shop --blends blends.csv --no-layers
      stopgap shop --list lesson.csv --for-laydown
      stopgap shop --restock --list lesson.csv
    """
    from stopgap.planner import ListedNeeds, Terms, ground_of, plan_on_papers
    from stopgap.reports.answers import shopping_report
    from stopgap.swatches import Selection

    _check_asked(
        restock=restock,
        needs=any((blends_file, list_file, shades)),
        plan=any((blends_file, budget is not None, partial, compare, for_laydown)),
    )
    papers = _by_paper(blends_file, list_file, on)
    current = session()
    with current.open(read_only=True) as library:
        parts = [
            (ground_of(library, paper, grain, heavy_first=heavy_first), rows)
            for paper, rows in papers
        ]
        for_sale = Selection(
            ranges=tuple(library.known_range(name) for name in ranges),
            lightfast=lightfast,
            for_laydown=for_laydown,
        )
    asked = ListedNeeds.of(parts, shades)
    if not (asked or restock):
        current.end_with(*asked.left)
    price = only_stated("default_price", default_price)
    if restock:
        _answer_restock(asked, for_sale, exclude, tolerance, price)
    needs = asked.needs(
        layers=layers if layering is None else layering,
        step=step,
        path=path,
        tolerance=tolerance,
    )
    found = plan_on_papers(
        needs,
        selection=for_sale,
        exclude=exclude,
        terms=Terms(
            budget,
            price,
            partial,
            current.left(time_limit),
            current.settings.get("currency", ""),
        ),
        cache=current.recipe_cache,
        counter=current.counter("recipes"),
        progress=current.progress,
    )
    holes = None
    if compare:
        from stopgap.planner import holes_before_and_after

        holes = holes_before_and_after(
            found.buy, asked.grounds[0], for_sale, layers=layers, cache=current.recipe_cache
        )
    report = shopping_report(found, note_words, compare=compare, holes=holes)
    current.answer(report, found, on=[ground.using(for_sale) for ground in asked.grounds])
    _end(asked, met=found.status != "infeasible" and not found.unfilled)


def _by_paper(
    blends_file: Path | None, list_file: Path | None, on: str | None
) -> "list[tuple[str | None, list[Listed | ListedBlend]]]":
    """The rows of the files by the paper they are for, at least one paper."""
    from stopgap.library import by_paper, read_blends, read_list

    listed: list[Listed | ListedBlend] = []
    if blends_file is not None:
        listed += read_blends(blends_file)
    if list_file is not None:
        listed += read_list(list_file)
    return by_paper(listed, on) or [(on, [])]


def _check_asked(*, restock: bool, needs: bool, plan: bool) -> None:
    """Refuse a question without anything asked, and what only a plan to buy would use."""
    if not (needs or restock):
        ways = "--blends FILE, --list FILE or --for SHADE, or --restock"
        raise UsageError(f"Nothing is asked for: name {ways}.")
    if restock and plan:
        others = "--blends, --budget, --partial, --compare or --for-laydown"
        raise UsageError(f"--restock does not go with {others}.")


def _answer_restock(
    asked: "ListedNeeds",
    for_sale: "Selection",
    exclude: tuple[str, ...],
    tolerance: float,
    default_price: float | None,
) -> None:
    """Say what runs out, and end the command: with 3 unless all can be bought or replaced."""
    from stopgap.planner import called_for, running_out
    from stopgap.reports.answers import restock_report

    found = running_out(
        called_for(asked),
        selection=for_sale,
        exclude=exclude,
        tolerance=tolerance,
        default_price=default_price,
    )
    papers = [part.ground.among(for_sale) for part in asked.parts]
    session().answer(restock_report(found, note_words), found, on=papers)
    _end(asked, met=all(row.met for row in found.rows))


def _end(asked: "ListedNeeds", *, met: bool) -> None:
    """Tell what is not known, which ends the command with 1, and with 3 where a need stays open."""
    status = 0 if met else NothingFoundError.exit_status
    session().end_with(*asked.left, status=status or 1)
    click.get_current_context().exit(status)
