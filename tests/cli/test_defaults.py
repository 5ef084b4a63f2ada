"""A default stands in one place: what an option takes is what the function takes."""

import inspect

import click
import pytest

from stopgap import blends, defaults, layering, planner, scanning
from stopgap.cli.program import program
from stopgap.difference import Plane
from stopgap.library import Convention
from stopgap.reports.pocket import render_pocket
from stopgap.swatches import GRAINS

PROMISED = {
    "METRIC": "CIE 2000",
    "STEP": 12.0,
    "STEPS": {"soft": 7.0, "usual": 12.0, "bold": 16.0},
    "LAMPS": {"A": "Bulb", "LED-B3": "LED"},
    "PATH": "auto",
    "PREFER": "enough",
    "TOLERANCE": 3.5,
    "LIGHTER": 5.0,
    "STAND_INS": 5,
    "TONES": 5,
    "HOLES": 8,
    "FOR_SALE": ("ASTM II", "BWS 6"),
    "MAIN_COLOURS": 12,
    "PENCILS_BELOW": 2,
    "POCKET_STAND_INS": 3,
    "POCKET_RECIPES": 2,
    "POCKET_TITLE": "My pencils",
    "PRICE": 1.0,
    "TIME_LIMIT": 60.0,
    "JOBS": -1,
    "CHART_PAPER": "A4",
    "ADAPTATION": "Bradford",
}
"""What the manual and the help promise; whoever changes one changes it there as well."""

TAKEN = [
    ("match", "limit", planner.find_stand_ins, "limit"),
    ("match", "metric", planner.find_stand_ins, "metric"),
    ("blend", "step", blends.blend, "limit"),
    ("blend", "prefer", blends.blend, "prefer"),
    ("blend", "path", blends.blend, "path"),
    ("gaps", "path", blends.blend, "path"),
    ("gaps", "step", blends.blend_of_family, "limit"),
    ("plot", "step", blends.blend, "limit"),
    ("plot", "limit", planner.find_stand_ins, "limit"),
    ("shop", "step", planner.BlendNeed, "step"),
    ("shop", "tolerance", planner.ColourNeed, "tolerance"),
    ("shop", "time_limit", planner.shopping_list, "time_limit"),
    ("translate", "time_limit", planner.translate, "time_limit"),
    ("translate", "jobs", planner.translate, "jobs"),
    ("translate", "distinct", planner.translate, "distinct"),
    ("table", "jobs", planner.cross_table, "jobs"),
    ("table", "metric", planner.cross_table, "metric"),
    ("tones", "count", planner.find_tones, "count"),
    ("palette", "colours", scanning.find_main_colours, "count"),
    ("pocket", "title", render_pocket, "title"),
    ("range import", "adaptation", Convention, "adaptation"),
]


def option_of(command, name):
    found = program
    for word in command.split():
        found = found.get_command(click.Context(found), word)
    return next(option for option in found.params if option.name == name)


@pytest.mark.parametrize("name", PROMISED)
def test_defaults_are_those_that_are_promised(name):
    assert getattr(defaults, name) == PROMISED[name]


def test_every_default_is_promised():
    assert {name for name in vars(defaults) if name.isupper()} - {"GRADES", "DEFAULT_METRIC"} == {
        *PROMISED
    }


@pytest.mark.parametrize(
    ("command", "option", "function", "argument"),
    TAKEN,
    ids=lambda value: getattr(value, "__name__", value),
)
def test_an_option_takes_what_the_function_takes(command, option, function, argument):
    taken = inspect.signature(function).parameters[argument].default
    assert option_of(command, option).default == taken


def test_a_pencil_without_a_price_costs_what_the_constant_says():
    assert option_of("shop", "default_price").default == defaults.PRICE


@pytest.mark.parametrize("command", ["match", "blend", "gaps", "plot", "shop", "translate"])
def test_help_shows_the_default(command):
    found = program.get_command(click.Context(program), command)
    for option in found.params:
        if option.name in ("limit", "step", "tolerance", "time_limit"):
            assert option.show_default


def test_words_are_those_of_the_optics_and_of_the_engine():
    assert option_of("match", "grain").type.choices == tuple(GRAINS)
    assert tuple(GRAINS.values()) == tuple(layering.TOOTH)
    assert option_of("layer", "pressures").type.choices == tuple(layering.PRESSURES)
    assert option_of("gaps", "path").type.choices == tuple(blends.PathKind)
    assert option_of("blend", "prefer").type.choices == tuple(blends.Prefer)
    assert (*Plane, "blend", "holes") == option_of("plot", "kind").type.choices
