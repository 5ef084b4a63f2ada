"""Options that several commands share; their defaults stand in `stopgap.defaults`."""

from collections.abc import Callable
from typing import Any, TypeVar

import click

from stopgap import defaults
from stopgap.cli.options.kinds import ArrangementName, MetricName, Step, StepText
from stopgap.cli.session import Session, session
from stopgap.errors import UsageError

Function = TypeVar("Function", bound=Callable[..., Any])


_MEASURING = """ metric within cautious under reconstruct white observer accept_observer adaptation
 mode correct_bandpass bare_paper repeats uncertainty shared_uncertainty measurement remove_shift
 correct pairs clear device light path tolerance contrast """
"""Options for who measures, by the names of their parameters."""
_SELDOM = """ json csv library quiet include_discontinued finishes ratings heavy_first jobs
 time_limit partial exclude max_pencils default_price keep_order explain strict mapping_file drop
 as_imported by_lightness layering replace_measured code_order """
"""Those of no working day."""


class WorkingCommand(click.Command):
    """A command whose `--help` shows the options of a working day, and `--help-all` all of them.

    While it works longer than a second, somebody at a terminal is told for how long.
    """

    def invoke(self, ctx: click.Context) -> object:
        """Do it, and tell who waits at a terminal for how long it has worked."""
        with session().waiting(ctx.command_path):
            return super().invoke(ctx)

    def get_params(self, ctx: click.Context) -> list[click.Parameter]:
        """The options, and where some are not shown at once, the one that shows them."""
        every = super().get_params(ctx)
        return [*every, _EVERY_OPTION] if _hidden(self) else every

    def format_options(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        """The options of a working day, then the others where they are asked for."""
        groups: dict[str, list[tuple[str, str]]] = {
            "Options": [],
            "More": [],
            "For who measures": [],
        }
        for parameter in self.get_params(ctx):
            record = parameter.get_help_record(ctx)
            if record is not None and isinstance(parameter, click.Option):
                groups[_group_of(parameter)].append(record)
        shown = list(groups) if _EVERY_OPTION.name in ctx.meta else ["Options"]
        for name in shown:
            if groups[name]:
                with formatter.section(name):
                    formatter.write_dl(groups[name])


def _group_of(parameter: click.Parameter) -> str:
    if parameter.name in _MEASURING.split():
        return "For who measures"
    return "More" if parameter.name in _SELDOM.split() else "Options"


def _hidden(command: click.Command) -> bool:
    return any(_group_of(one) != "Options" for one in command.params)


def _show_every(ctx: click.Context, parameter: click.Parameter, value: bool) -> None:
    if value and not ctx.resilient_parsing:
        ctx.meta[str(parameter.name)] = True
        click.echo(ctx.get_help(), color=ctx.color)
        ctx.exit()


_EVERY_OPTION = click.Option(
    ["--help-all"],
    is_flag=True,
    is_eager=True,
    expose_value=False,
    callback=_show_every,
    help="Show every option, for who measures and for programs too, and exit.",
)


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
    cls=Step,
    setting="step",
    type=StepText(),
    default=defaults.STEP,
    show_default=True,
    metavar="ΔE",
    help="Largest step that still melts: a number, or soft (7), usual (12), bold (16); else what "
    "the arrangement keeps.",
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
    help="How many processes work on large sets; -1 for a thread a core.",
)

arrangement_option = click.option(
    "--arrangement",
    type=ArrangementName(),
    metavar="NAME",
    help="By this arrangement instead of the one in use; 'proposal' is the tool's own.",
)
