"""Numbers that several commands take; their defaults stand in `stopgap.defaults`."""

import click

from stopgap import defaults
from stopgap.cli.options.kinds import MetricName

step_option = click.option(
    "--step",
    type=float,
    default=defaults.STEP,
    show_default=True,
    metavar="ΔE",
    help="Largest step that still melts.",
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
