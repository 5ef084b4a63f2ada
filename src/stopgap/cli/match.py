"""`stopgap match`."""

from typing import TYPE_CHECKING

import click

from stopgap.cli.parameters import (
    IlluminantName,
    LightfastnessText,
    MetricName,
    RangeName,
    TargetText,
    words,
)
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
    "--cautious",
    is_flag=True,
    help="Rank by the bound that ΔE00 stays below in 95 of 100 cases.",
)
@click.option(
    "--under",
    multiple=True,
    type=IlluminantName(),
    metavar="LIGHT",
    help="Also under this CIE illuminant, such as A or LED-B3; may be repeated.",
)
@click.option(
    "--reconstruct",
    is_flag=True,
    help="With --under: where a spectrum is missing, tell the likely size.",
)
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
    cautious: bool,
    under: tuple[str, ...],
    reconstruct: bool,
) -> None:
    """Find what comes nearest to TARGET, and say how it is off.

    TARGET is RANGE:CODE, RANGE:NAME, a code or name that one swatch bears, '#c04a2b' or
    'lab(52 40 30)'. Metallic and fluorescent pencils, and discontinued shades that you do not own,
    are not offered unless you ask for them. Exit status 3 where nothing is left to offer.

    \b
    Examples:
      stopgap match Fennmoor:FM017 --owned
      stopgap match '#c04a2b' --range Brindlewick --limit 3
      stopgap match Brindlewick:BW05 --under A --under LED-B3
    """
    from stopgap.errors import UsageError
    from stopgap.library.targets import find_target
    from stopgap.planner import find_stand_ins
    from stopgap.reports.stand_ins import stand_ins_report

    if cautious and metric != "CIE 2000":
        raise UsageError("--cautious ranks by ΔE00; leave --metric out.")
    if reconstruct and not under:
        raise UsageError("--reconstruct is for other lights; name one with --under.")
    current = session()
    with current.open(read_only=True) as library:
        swatches = library.swatches()
        selection = Selection(
            owned=owned,
            ranges=tuple(library.known_range(name) for name in ranges),
            finishes=tuple(map(Finish, finishes)) or (Finish.PLAIN,),
            include_discontinued=include_discontinued,
            min_lightfastness=min_lightfastness,
        )
    found = find_target(target, swatches)
    answer = find_stand_ins(
        found,
        swatches,
        selection=selection,
        limit=limit,
        metric=metric,
        within=within,
        cautious=cautious,
    )
    if under:
        from stopgap.planner import look_under

        answer = look_under(answer, under, reconstruct=reconstruct)
    current.answer(stand_ins_report(answer))
