"""`stopgap translate` and `stopgap table`."""

from pathlib import Path
from typing import TYPE_CHECKING

import click

from stopgap.cli.options.kinds import RangeName
from stopgap.cli.options.numbers import jobs_option, metric_option, time_limit_option
from stopgap.cli.options.paper import hand_of, paper_options
from stopgap.cli.options.selection import Chosen, selection_options
from stopgap.cli.session import library_options, output_options, session
from stopgap.errors import NothingFoundError, StopgapError

if TYPE_CHECKING:
    from collections.abc import Sequence

    from stopgap.library import Listed
    from stopgap.planner import Asked
    from stopgap.swatches import Swatch


@click.command()
@click.argument("list_file", metavar="LIST", type=click.Path(path_type=Path))
@click.option(
    "--distinct/--repeat",
    default=True,
    help="A pencil of its own for every colour that can be told apart (default), or each its "
    "nearest.",
)
@click.option("--keep-order", is_flag=True, help="Keep what is clearly lighter lighter.")
@click.option("--layers", is_flag=True, help="Use layering recipes where they come nearer.")
@time_limit_option
@jobs_option
@selection_options(owned=True)
@paper_options
@output_options
@library_options
def translate(
    list_file: Path,
    distinct: bool,
    keep_order: bool,
    layers: bool,
    time_limit: float,
    jobs: int,
    chosen: Chosen,
    paper: str | None,
    paper_colour: str | None,
) -> None:
    """Say which pencils to use for the colours that LIST calls for.

    LIST is a spreadsheet with the column colour (RANGE:CODE, a name, #rrggbb or lab(L a b)) and
    optional label and weight. Pencils are those you own; --range takes a range, owned or not.

    \b
    Example:
      stopgap translate lesson.csv
    """
    from dataclasses import replace

    from stopgap.library import read_list
    from stopgap.planner import layered_ways, not_layered_notes
    from stopgap.planner import translate as translated
    from stopgap.reports.answers.lists import translation_report

    listed = read_list(list_file)
    current = session()
    with current.open(read_only=True) as library:
        swatches = library.swatches()
        selection = chosen.selection(library)
        if chosen.ranges:
            selection = replace(selection, owned=False)
        hand = hand_of(library, paper, paper_colour)
    candidates = selection.of(swatches)
    if not candidates:
        raise NothingFoundError(
            "There is no pencil to use. 'stopgap own' says what you own; --any takes all."
        )
    ways = layered_ways(
        hand, cache=current.recipe_cache, jobs=jobs, progress=current.counter("recipes")
    )
    found = translated(
        asked_of(listed, swatches),
        candidates,
        distinct=distinct,
        keep_order=keep_order,
        ways=ways if layers else (),
        time_limit=time_limit or None,
        jobs=jobs,
    )
    notes = not_layered_notes(hand, candidates) if layers else ()
    report = translation_report(found, [row.label for row in listed])
    current.answer(report.with_notes(notes))


@click.command()
@click.option(
    "--from",
    "first",
    required=True,
    type=RangeName(),
    metavar="RANGE",
    help="The range to look up.",
)
@click.option(
    "--to",
    "others",
    required=True,
    multiple=True,
    type=RangeName(),
    metavar="RANGE",
    help="A range to look in; may be repeated.",
)
@metric_option
@click.option("--remove-shift", is_flag=True, help="Take out what a whole range lies off another.")
@jobs_option
@output_options
@library_options
def table(first: str, others: tuple[str, ...], metric: str, remove_shift: bool, jobs: int) -> None:
    """Set every swatch of a range beside its nearest in others.

    \b
    Example:
      stopgap table --from Quillet --to Fennmoor --csv
    """
    from stopgap.planner import cross_table
    from stopgap.reports.answers.lists import table_report

    current = session()
    with current.open(read_only=True) as library:
        one = library.colour_range(first)
        rest = [library.colour_range(name) for name in others]
    tables = [
        (
            other.name,
            cross_table(
                one.swatches, other.swatches, metric=metric, remove_shift=remove_shift, jobs=jobs
            ),
        )
        for other in rest
    ]
    current.answer(table_report(tables))


def asked_of(listed: "Sequence[Listed]", swatches: "Sequence[Swatch]") -> "list[Asked]":
    """The rows of a list looked up; what nobody knows stays in the list and says why."""
    from dataclasses import replace

    from stopgap.library import find_target
    from stopgap.planner import Asked

    asked = []
    for row in listed:
        try:
            target = find_target(row.colour, swatches)
        except StopgapError as error:
            asked.append(Asked(row.colour or f"row {row.row}", None, row.weight, str(error)))
        else:
            asked.append(replace(Asked.of(target, row.weight), label=row.colour))
    return asked
