"""What the house looks like after constants of `defaults` were set to other values, as JSON.

python mutated.py VALUES LIBRARY OUT
"""

import inspect
import json
import re
import sys
from importlib import import_module
from pathlib import Path
from pkgutil import walk_packages

import click
from answers import run_command
from questions import BLENDS, LESSON

TWO = ("Fennmoor:FM001", "Fennmoor:FM070")
LAYERED = "Fennmoor:FM055"

SOURCES = {"METRIC": ("stopgap.difference.grades", "DEFAULT_METRIC")}
"""Where a default that bears another name is written down; the others stand in `defaults`."""

ASKED = (
    ("match", TWO[0], "--json"),
    ("match", LAYERED, "--json"),
    ("blend", *TWO, "--json"),
    ("gaps", BLENDS, "--json"),
    ("shop", "--blends", BLENDS, "--json"),
    ("shop", "--list", LESSON, "--json"),
    ("shop", "--for", "lab(60 -40 1)", "--range", "Priceless", "--tolerance", "0.01", "--json"),
    ("pocket", "pocket.html"),
)
"""Commands whose answers the defaults decide."""


def look(values, library):
    """What options, helps, functions and answers are after the constants were set to `values`."""
    for name in sorted(values, key=SOURCES.__contains__, reverse=True):
        module, attribute = SOURCES.get(name, ("stopgap.defaults", name))
        setattr(import_module(module), attribute, values[name])
    found = {"options": {}, "helps": {}, "arguments": {}, "answers": []}
    from stopgap.cli.program import program

    for path, command in commands(program):
        context = click.Context(command, info_name=path, terminal_width=300)
        context.meta["help_all"] = True
        found["helps"][path] = command.get_help(context)
        for option in command.params:
            if isinstance(option.default, (str, int, float)):
                found["options"][f"{path} {option.name}"] = option.default
    found["arguments"] = dict(arguments())
    if not values:  # what the commands answer is asked of the changed ones alone
        return found
    Path("own.csv").write_text("code,L,a,b\n1,60,-40,1\n2,30,20,10\n", encoding="utf-8")
    run_command(Path.cwd(), library, "range", "import", "own.csv", "--name", "Priceless")
    for words in ASKED:
        status, out, error = run_command(Path.cwd(), library, *words)
        assert status in (0, 3), error
        found["answers"].append(out if words[-1] == "--json" else page_data(Path(words[1])))
    return found


def page_data(page):
    """The data block of a page."""
    found = re.search(
        r"<script type=.application/json.[^>]*>(.*?)</script>", page.read_text("utf-8")
    )
    return found[1]


def commands(command, path=""):
    if isinstance(command, click.Group):
        for name in command.list_commands(click.Context(command)):
            inner = command.get_command(click.Context(command), name)
            yield from commands(inner, f"{path} {name}".strip())
    else:
        yield path, command


def arguments():
    """The default of every argument of every function and record, by name."""
    import stopgap

    for module in walk_packages(stopgap.__path__, "stopgap."):
        for name, member in vars(import_module(module.name)).items():
            if getattr(member, "__module__", None) != module.name or not callable(member):
                continue
            try:
                signature = inspect.signature(member)
            except ValueError:
                continue
            for argument in signature.parameters.values():
                if isinstance(argument.default, (str, int, float)):
                    yield f"{module.name}.{name} {argument.name}", argument.default


if __name__ == "__main__":
    values, library, out = sys.argv[1:]
    Path(out).write_text(json.dumps(look(json.loads(values), library)), encoding="utf-8")
