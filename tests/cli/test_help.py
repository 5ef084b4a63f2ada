"""Every command has a help with an example that runs; the static tables tell the truth."""

import shlex
import shutil

import click
import pytest
from coloured import coloured_page
from PIL import Image

from stopgap.cli.ask.demo import datasets
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
    assert max(map(len, out.splitlines())) <= 80
    for option in COMMANDS[path].params:
        if isinstance(option, click.Option):
            assert option.help, f"{path}: {option.name} has no help"


@pytest.mark.parametrize("path", COMMANDS, ids=" ".join)
def test_examples_run(path, demo_library, tmp_path, monkeypatch, capsys):
    shutil.copy(demo_library, tmp_path / "library.sqlite")
    shutil.copy(demo_library, tmp_path / "pencils-backup.sqlite")
    shutil.copy(datasets() / "quillet.csv", tmp_path / "my-pencils.csv")
    for name in ("layered.csv", "blends.csv", "lesson.csv"):
        shutil.copy(datasets() / name, tmp_path / name)
    Image.linear_gradient("L").convert("RGB").save(tmp_path / "photo.jpg")
    if path == ("scan",):
        (tmp_path / "page.png").write_bytes(coloured_page(tmp_path / "library.sqlite"))
    monkeypatch.setenv("STOPGAP_LIBRARY", str(tmp_path / "library.sqlite"))
    monkeypatch.chdir(tmp_path)
    found = examples(COMMANDS[path])
    assert found
    # what an example takes back must have been done before
    if path == ("disown",):
        run(["own", "Fennmoor:FM017"])
    if path == ("family", "release"):
        run(["family", "move", "Fennmoor:FM024", "wines"])
    if path[:2] in (("paper", "edit"), ("paper", "remove"), ("calibrate",)):
        run(["paper", "add", "Kraft", "--colour", "tan"])
    for line in found:
        name, *arguments = shlex.split(line)
        assert name == "stopgap"
        if arguments[0] == "backup":
            (tmp_path / "pencils-backup.sqlite").unlink()
        assert run(arguments) == 0, capsys.readouterr().err
    capsys.readouterr()


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
        ["swatch", "add", "Fen", "1"],
        ["--nonsense"],
        ["range", "import", "x.csv"],
    ],
    ids=" ".join,
)
def test_misuse_ends_with_two_and_no_traceback(arguments, capsys):
    assert run(arguments) == 2
    captured = capsys.readouterr()
    assert captured.out == ""
    assert "Traceback" not in captured.err
    assert captured.err.strip()
