"""`stopgap translate` and `stopgap table`."""

from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from stopgap.cli.options.common import (
    WorkingCommand,
    jobs_option,
    library_options,
    metric_option,
    output_options,
    stated,
    time_limit_option,
)
from stopgap.cli.options.kinds import RangeName
from stopgap.cli.options.paper import heavy_first_option, on_option, paper_options
from stopgap.cli.options.selection import (
    Chosen,
    for_laydown_option,
    lightfast_options,
    selection_options,
)
from stopgap.cli.remedies import note_words
from stopgap.cli.session import keep_freed_memory, session
from stopgap.errors import NothingFoundError, UsageError
from stopgap.swatches import Finish, Selection

if TYPE_CHECKING:
    from stopgap.swatches import Lightfastness

remove_shift_option = click.option(
    "--remove-shift",
    is_flag=True,
    help="Take out what a whole range seems to be measured differently by, in this answer alone.",
)


@click.command(cls=WorkingCommand)
@click.argument("list_file", metavar="LIST", type=click.Path(path_type=Path))
@click.option(
    "--distinct/--repeat",
    default=True,
    help="A pencil of its own for every colour that can be told apart (default; of a lesson within "
    "each stage, unless you say --distinct), or each its nearest.",
)
@click.option("--keep-order", is_flag=True, help="Keep what is clearly lighter lighter.")
@click.option(
    "--layers/--no-layers",
    default=True,
    show_default=True,
    help="Whether to use layering recipes where they come nearer.",
)
@click.option(
    "--box",
    "boxes",
    multiple=True,
    metavar="NAME",
    help="Into this box, instead of yours: a range, an arrangement, or a file that lists "
    "somebody's pencils; may be repeated, a column a box.",
)
@click.option("--explain", is_flag=True, help="Say what was traded: what was nearer, and why not.")
@remove_shift_option
@time_limit_option
@jobs_option
@selection_options(owned=True)
@for_laydown_option
@paper_options
@heavy_first_option
@output_options
@library_options
def translate(
    list_file: Path,
    distinct: bool,
    keep_order: bool,
    layers: bool,
    boxes: tuple[str, ...],
    explain: bool,
    remove_shift: bool,
    time_limit: float,
    jobs: int,
    chosen: Chosen,
    for_laydown: bool,
    on: str | None,
    grain: str | None,
    heavy_first: bool,
) -> None:
    """Say which pencils to use for the colours that LIST calls for.

    LIST is a spreadsheet with the column colour (RANGE:CODE, a name, #rrggbb or lab(L a b)) and
    optional label, weight and stage: a lesson is told stage by stage. Pencils are those you own;
    --range takes a range, owned or not. A shade that is discontinued, empty or avoided is never
    its own answer: what replaces it is. Exit status 3 where nothing of the list is known, or
    nothing can be given.

    \b
    Examples:
      stopgap translate lesson.csv
      stopgap translate lesson.csv --explain
      stopgap translate lesson.csv --for-laydown
      stopgap translate lesson.csv --box Quillet --box owned.csv
    """
    from stopgap.library import by_paper, known_rows, read_list
    from stopgap.planner import find_box, ground_of, translate_for_class, translate_on_papers
    from stopgap.reports.answers import class_report, translation_report

    if boxes:
        _check_boxes(chosen, explain=explain)
    keep_freed_memory()
    listed = read_list(list_file)
    current = session()
    with current.open(read_only=True) as library:
        parts = [
            (ground_of(library, paper, grain, heavy_first=heavy_first), rows)
            for paper, rows in by_paper(listed, on)
        ]
        selection = chosen.selection(library)._replace(for_laydown=for_laydown)
        shifts = library.shifts()
        into = [find_box(name, library, parts[0][0], selection) for name in boxes]
    unknown = [known_rows(rows, ground.known)[1] for ground, rows in parts]
    wanted: dict[str, Any] = {
        "shifts": shifts,
        "remove_shift": remove_shift,
        "layers": layers,
        "distinct": distinct,
        "within_stages": not stated("distinct"),
        "keep_order": keep_order,
        "time_limit": current.left(time_limit),
        "jobs": jobs,
        "cache": current.recipe_cache,
        "progress": current.counter("recipes"),
    }
    grounds = [ground.using(selection) for ground, _ in parts]
    if into:
        several = translate_for_class(parts, into, **wanted)
        current.answer(class_report(several, note_words), on=grounds)
        unknown += [box.unknown for box in into]
        nothing = several.nothing
    else:
        found = translate_on_papers(parts, selection=selection, **wanted)
        current.answer(translation_report(found, note_words, explain=explain), on=grounds)
        nothing = len(found.without) == len(found.rows)
    current.end_with(*unknown, status=NothingFoundError.exit_status if nothing else 1)
    if nothing:
        click.get_current_context().exit(NothingFoundError.exit_status)


def _check_boxes(chosen: Chosen, *, explain: bool) -> None:
    """Raise UsageError where options contradict --box."""
    if chosen.ranges or stated("owned"):
        raise UsageError("--box says whose pencils; leave --owned, --any and --range out.")
    if explain:
        raise UsageError("--explain goes with one box: leave --box out.")


@click.command(cls=WorkingCommand)
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
@remove_shift_option
@jobs_option
@lightfast_options
@on_option
@output_options
@library_options
def table(
    first: str,
    others: tuple[str, ...],
    metric: str,
    remove_shift: bool,
    jobs: int,
    lightfast: "tuple[Lightfastness, ...]",
    on: str | None,
) -> None:
    """Set every swatch of a range beside its nearest in others.

    \b
    Example:
      stopgap table --from Quillet --to Fennmoor --csv
    """
    from stopgap.planner import cross_tables, ground_of
    from stopgap.reports.answers import table_report

    current = session()
    ruled = Selection(finishes=tuple(Finish), include_discontinued=True, lightfast=lightfast)
    with current.open(read_only=True) as library:
        ground = ground_of(library, on)
        one = ground.range(library.colour_range(first))
        rest = [ground.range(library.colour_range(name), ruled) for name in others]
        known = library.shifts()
    found = cross_tables(
        one, rest, metric=metric, remove_shift=remove_shift, known=known, jobs=jobs
    )
    current.answer(table_report(found, note_words), on=ground.among(ruled))
