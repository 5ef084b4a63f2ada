"""Options that several commands share; their defaults stand in `stopgap.defaults`."""

from collections.abc import Callable
from typing import Any, TypeVar

import click

from stopgap import defaults
from stopgap.cli.options.kinds import Kept, MetricName, StepText
from stopgap.cli.session import Session
from stopgap.errors import UsageError

Function = TypeVar("Function", bound=Callable[..., Any])


def library_options(function: Function) -> Function:
    """Add `--library` and `--quiet`, before or after the command's name."""

    def keep(ctx: click.Context, parameter: click.Parameter, value: Any) -> None:
        if value not in (None, False):
            setattr(ctx.ensure_object(Session), str(parameter.name), value)

    function = click.option(
        "--quiet", "-q", is_flag=True, expose_value=False, callback=keep, help="Say less."
    )(function)
    return click.option(
        "--library",
        type=click.Path(),
        metavar="FILE",
        expose_value=False,
        callback=keep,
        help="The library to use (else $STOPGAP_LIBRARY, else your data folder).",
    )(function)


def stated(name: str) -> bool:
    """Whether the user gave the option of that name to the command that runs."""
    from click.core import ParameterSource

    source = click.get_current_context().get_parameter_source(name)
    return source not in (None, ParameterSource.DEFAULT)


def only_stated(name: str, value: float) -> float | None:
    """A value that the user stated, None where it is the default."""
    return value if stated(name) else None


def stated_price(default_price: float) -> float | None:
    """What is to be taken where no price is known, None where it is to be guessed."""
    return default_price if stated("default_price") else None


def figures_option(function: Function) -> Function:
    """Add `--figures` to a command whose answer has any."""

    def keep(ctx: click.Context, parameter: click.Parameter, value: bool) -> None:
        del parameter
        if value:
            ctx.ensure_object(Session).figures = True

    return click.option(
        "--figures",
        is_flag=True,
        expose_value=False,
        callback=keep,
        help="Show figures too, for who measures: ΔE00, Lab and how sure they are.",
    )(function)


def output_options(function: Function) -> Function:
    """Add `--json`, `--csv` and `--figures` to a command that answers with rows."""

    def keep(ctx: click.Context, parameter: click.Parameter, value: bool) -> None:
        if not value:
            return
        current = ctx.ensure_object(Session)
        if current.form != "terminal":
            raise UsageError("--json and --csv: choose one of them.")
        current.form = str(parameter.name)

    for form, help_ in (("csv", "Answer in CSV."), ("json", "Answer in JSON.")):
        function = click.option(
            f"--{form}", form, is_flag=True, expose_value=False, callback=keep, help=help_
        )(function)
    return figures_option(function)


def white_options(function: Function) -> Function:
    """Add `--white`, `--observer` and `--accept-observer`: how Lab and XYZ of a file are meant."""
    for option in (
        click.option(
            "--accept-observer",
            is_flag=True,
            help="Take 10 degree Lab or XYZ without spectra, at a larger uncertainty.",
        ),
        click.option(
            "--observer", type=click.Choice(["2", "10"]), help="Observer in degrees (default 2)."
        ),
        click.option(
            "--white", metavar="ILLUMINANT", help="White of Lab and XYZ: D50 (default), D65, …"
        ),
    ):
        function = option(function)
    return function


overwrite_option = click.option("--overwrite", is_flag=True, help="Replace the file if it exists.")
step_option = click.option(
    "--step",
    cls=Kept,
    setting="step",
    type=StepText(),
    default=defaults.STEP,
    show_default=True,
    metavar="ΔE",
    help="Largest step that still melts: a number, or soft (7), usual (12), bold (16).",
)
way_option = click.option(
    "--way",
    "path",
    type=click.Choice(["auto", "straight", "round"]),
    default=defaults.PATH,
    show_default=True,
    help="How a blend runs between its ends: as their hues suggest, straight, or round by hues.",
)
limit_option = click.option(
    "--limit",
    type=click.IntRange(min=1),
    default=defaults.STAND_INS,
    show_default=True,
    help="How many stand-ins to show.",
)
metric_option = click.option(
    "--metric",
    type=MetricName(),
    default=defaults.METRIC,
    show_default=True,
    help="Colour difference.",
)
time_limit_option = click.option(
    "--time-limit",
    type=click.FloatRange(min=0.0),
    default=defaults.TIME_LIMIT,
    show_default=True,
    metavar="SECONDS",
    help="How long a proof may take; 0 for as long as it takes.",
)
jobs_option = click.option(
    "--jobs",
    type=int,
    default=defaults.JOBS,
    show_default=True,
    metavar="N",
    help="Processes for large sets; -1 for one a core.",
)
