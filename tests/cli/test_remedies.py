"""What helps is said by the command line in its own options and commands."""

import re

import click
import pytest

from stopgap.cli.program import program, run
from stopgap.cli.remedies import ARGUMENTS, WORDS, error_words, note_words
from stopgap.errors import InputError, Note, Remedy


def every_option(command=program):
    yield from (
        name for option in command.params for name in (*option.opts, *option.secondary_opts)
    )
    if isinstance(command, click.Group):
        for name in command.list_commands(click.Context(command)):
            yield from every_option(command.get_command(click.Context(command), name))


def test_every_remedy_has_words_that_name_what_there_is():
    known = set(every_option())
    assert set(WORDS) == set(Remedy)
    for words in [*WORDS.values(), *ARGUMENTS.values()]:
        assert set(re.findall(r"--[a-z-]+", words)) <= known
        named = re.findall(r"'stopgap ([a-z ]+[a-z])", words)
        for path in named:
            found = program
            for word in path.split():
                found = found.get_command(click.Context(found), word)
                assert found is not None, path


def test_an_error_in_the_words_of_python_and_of_the_command_line():
    error = InputError("3 are too few.", argument="pairs", remedy=Remedy.CORRECT, range="Shore")
    assert str(error) == "pairs: 3 are too few."
    assert error.__notes__ == ["What would help: correct."]
    assert error_words(error) == "--pair: 3 are too few. Add --correct to take it out of Shore."
    assert note_words(Note("Nothing is kept.")) == "Nothing is kept."
    assert note_words(Note("", Remedy.TAKE_BACK)) == "'stopgap undo' takes it back."


@pytest.mark.parametrize(
    ("arguments", "status", "said"),
    [
        ("blend Fennmoor:FM113 Fennmoor:FM112 --step 0", 2, "--step: a step must be allowed"),
        ("blend Fennmoor:FM113 Fennmoor:FM112 --max-pencils 1", 2, "--max-pencils: 1 is too few"),
        ("shop --for Fennmoor:FM031 --budget -1", 1, "--budget: expected a number"),
        ("shop --for Fennmoor:FM031 --default-price nan", 1, "--default-price: expected"),
        ("table --from Quillet --to Fennmoor --jobs 0", 1, "--jobs: expected another number"),
        ("range shift Fennmoor Brindlewick --pair FM003=BW01", 1, "--pair: 1 is too few"),
        ("chart out.pdf --sheet-size A3", 2, "--sheet-size: 'A3' is not one of A4, Letter."),
        ("match #808080 --reconstruct", 2, "--reconstruct: it is for other illuminants, and none"),
        ("match #808080 --reconstruct", 2, "Name one with --under."),
        ("match #808080 --cautious --metric CMC", 2, "Leave --metric out."),
        ("match #808080 --metric Euclid", 2, "Invalid value for '--metric': 'Euclid' is not"),
        ("match #808080 --under Moon", 2, "Invalid value for '--under': 'Moon' is not one of"),
    ],
)
def test_the_command_line_names_its_own_options(
    arguments, status, said, demo_library, capsys, tmp_path, monkeypatch
):
    monkeypatch.chdir(tmp_path)
    assert run(["--library", str(demo_library), *arguments.split()]) == status
    found = capsys.readouterr().err
    assert said in found
