"""Every command has a help with an example that runs; the static tables tell the truth."""

import click
import pytest

from stopgap.cli.program import LazyGroup, program, run


def every_command(group=program, path=()):
    """Paths and commands below a group, groups included."""
    context = click.Context(group)
    for name in group.list_commands(context):
        command = group.get_command(context, name)
        yield (*path, name), command
        if isinstance(command, LazyGroup):
            yield from every_command(command, (*path, name))


COMMANDS = dict(every_command())


def examples(command):
    """The command lines of a help's example."""
    lines = [line.strip() for line in (command.help or "").splitlines()]
    start = next(
        (number for number, line in enumerate(lines) if line.startswith("Example")), len(lines)
    )
    return [line for line in lines[start + 1 :] if line]


@pytest.mark.parametrize("path", COMMANDS, ids=" ".join)
def test_help_and_its_parts(path, capsys):
    assert run([*path, "--help"]) == 0
    out = capsys.readouterr().out
    assert "Example" in out
    assert examples(COMMANDS[path])  # test_guide.py runs them
    assert max(map(len, out.splitlines())) <= 80
    for option in COMMANDS[path].params:
        if isinstance(option, click.Option):
            assert option.help, f"{path}: {option.name} has no help"


def test_a_folder_that_holds_something_is_left_as_it_is(desk, capsys):
    before = {path.name: path.read_bytes() for path in desk.iterdir()}
    assert run(["demo", "--keep", "."]) == 1
    assert capsys.readouterr().err == "stopgap: .: the folder is not empty. Name a new one.\n"
    assert {path.name: path.read_bytes() for path in desk.iterdir()} == before


@pytest.mark.parametrize("path", COMMANDS, ids=" ".join)
def test_the_table_names_every_command_as_it_is_called(path):
    command = COMMANDS[path]
    assert command.name == path[-1]


def test_an_unknown_command_is_misuse_with_a_hint(capsys):
    assert run(["mtach"]) == 2
    assert "Did you mean 'match'?" in capsys.readouterr().err


@pytest.mark.parametrize(
    "arguments",
    [
        ["match"],
        ["match", "x", "--limit", "0"],
        ["match", "x", "--metric", "CIE 1901"],
        ["own"],
        ["match", "x", "--finish", "shiny"],
        ["match", "x", "--min-lightfastness", "7"],
        ["match", "#ffffff", "--json", "--csv"],
        ["swatch", "add", "Fen"],
        ["--nonsense"],
        ["range", "import", "x.csv", "y.csv", "--name", "Z"],
    ],
    ids=" ".join,
)
def test_misuse_ends_with_two_and_no_traceback(arguments, capsys):
    assert run(arguments) == 2
    captured = capsys.readouterr()
    assert captured.out == ""
    assert "Traceback" not in captured.err
    assert captured.err.strip()


def test_help_shows_the_options_of_a_working_day_and_all_of_them_where_asked(capsys):
    for path, command in COMMANDS.items():
        options = [one for one in command.params if isinstance(one, click.Option)]
        assert run([*path, "--help"]) == 0
        front = capsys.readouterr().out
        if "--help-all" not in front:
            assert all(one.opts[0] in front for one in options if not one.hidden), path
            continue
        assert run([*path, "--help-all"]) == 0
        every = capsys.readouterr().out
        assert all(one.hidden or any(name in every for name in one.opts) for one in options), path
        assert len(every.splitlines()) > len(front.splitlines())
    assert run(["match", "--help"]) == 0
    front = capsys.readouterr().out
    assert "--figures" in front
    assert "--owned" in front
    assert "--metric" not in front
    assert "--json" not in front
    assert run(["match", "--help-all"]) == 0
    assert "For who measures:\n" in capsys.readouterr().out
