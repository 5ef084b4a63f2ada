"""`stopgap match`."""

from dataclasses import replace
from typing import TYPE_CHECKING

import click

from stopgap.cli.papers import hand_of, paper_options
from stopgap.cli.parameters import LightfastnessText, MetricName, RangeName, TargetText, words
from stopgap.cli.session import library_options, output_options, session
from stopgap.swatches import Finish, Selection

if TYPE_CHECKING:
    from stopgap.swatches import Lightfastness


@click.command()
@click.argument("target", type=TargetText())
@click.option("--owned", is_flag=True, help="Only pencils that you own.")
@click.option(
    "--range",
    "ranges",
    multiple=True,
    type=RangeName(),
    metavar="NAME",
    help="Only this range; may be repeated.",
)
@click.option(
    "--limit", default=5, show_default=True, type=click.IntRange(min=1), help="How many to show."
)
@click.option(
    "--within",
    type=click.FloatRange(min=0.0),
    metavar="ΔE",
    help="Only stand-ins at most this far.",
)
@click.option(
    "--metric", default="CIE 2000", show_default=True, type=MetricName(), help="Colour difference."
)
@click.option(
    "--min-lightfastness",
    type=LightfastnessText(),
    help="Only pencils rated at least so, such as 'ASTM II' or 'BWS 6'.",
)
@click.option(
    "--finish",
    "finishes",
    multiple=True,
    type=words(Finish),
    help="Look among this finish instead of plain pencils; may be repeated.",
)
@click.option(
    "--include-discontinued", is_flag=True, help="Also offer discontinued shades you do not own."
)
@click.option(
    "--layers/--no-layers",
    default=None,
    help="Show layering recipes in any case, or never. Without either, they are shown where they "
    "come nearer than any single pencil.",
)
@click.option(
    "--layer-with",
    type=click.Choice(["owned", "any"]),
    default="owned",
    show_default=True,
    help="Pencils that recipes may use.",
)
@paper_options
@output_options
@library_options
def match(
    target: str,
    owned: bool,
    ranges: tuple[str, ...],
    limit: int,
    within: float | None,
    metric: str,
    min_lightfastness: "Lightfastness | None",
    finishes: tuple[str, ...],
    include_discontinued: bool,
    layers: bool | None,
    layer_with: str,
    paper: str | None,
    paper_colour: str | None,
) -> None:
    """Find what comes nearest to TARGET, and say how it is off.

    TARGET is RANGE:CODE, RANGE:NAME, a code or name that one swatch bears, '#c04a2b' or
    'lab(52 40 30)'. Metallic and fluorescent pencils, and discontinued shades that you do not own,
    are not offered unless you ask for them. Exit status 3 where nothing is left to offer.

    \b
    Examples:
      stopgap match Fennmoor:FM017 --owned
      stopgap match '#c04a2b' --range Brindlewick --limit 3
    """
    from stopgap.library.targets import find_target
    from stopgap.planner import LayerQuestion, find_stand_ins
    from stopgap.reports.stand_ins import stand_ins_report

    current = session()
    with current.open(read_only=True) as library:
        swatches = library.swatches()
        hand = hand_of(library, paper, paper_colour)
        selection = Selection(
            owned=owned,
            ranges=tuple(library.known_range(name) for name in ranges),
            finishes=tuple(map(Finish, finishes)) or (Finish.PLAIN,),
            include_discontinued=include_discontinued,
            min_lightfastness=min_lightfastness,
        )
    found = find_target(target, swatches)
    question = None
    if layers is not False:
        laid = replace(selection, owned=owned or layer_with == "owned").of(swatches)
        question = LayerQuestion(hand, laid, always=layers is True)
    answer = find_stand_ins(
        found,
        swatches,
        selection=selection,
        limit=limit,
        metric=metric,
        within=within,
        layering=question,
        progress=current.counter("recipes"),
    )
    current.answer(stand_ins_report(answer))
