"""Options that bear another name now are still read under the earlier one, which help hides."""

import click
import pytest

from stopgap.cli.options.kinds import Renamed
from stopgap.cli.program import LazyGroup, program

pytestmark = pytest.mark.slow


def commands(group=program, path=()):
    for name in group.list_commands(click.Context(group)):
        command = group.get_command(click.Context(group), name)
        if isinstance(command, LazyGroup):
            yield from commands(command, (*path, name))
        yield (*path, name), command


RENAMED = [
    (path, option)
    for path, command in commands()
    for option in command.params
    if isinstance(option, Renamed)
]


@pytest.mark.parametrize(("path", "option"), RENAMED)
def test_only_the_name_it_has_now_is_told(path, option, stopgap_run):
    _, page, _ = stopgap_run(*path, "--help")
    if "--help-all" in page:
        _, page, _ = stopgap_run(*path, "--help-all")
    assert option.opts[0] in page
    assert f"{option.earlier} " not in page
    assert option.opts == [option.opts[0], option.earlier]


def test_paper_is_no_longer_a_size_a_grain_and_a_colour():
    told = {(option.opts[0], option.earlier) for _, option in RENAMED}
    assert told == {
        ("--grain", "--paper"),
        ("--sheet-size", "--paper"),
        ("--bare-paper", "--paper"),
        ("--on", "--paper-colour"),
    }


# these tell the colour of no pencil, or file, keep and own pencils whatever the paper
WITHOUT_A_PAPER = {
    *("demo", "desk", "guide", "own", "disown", "settings", "history", "undo", "redo"),
    *("backup", "restore", "schema", "completion", "library check"),
    "sheet",  # whose --for is a command with options of its own
    *(
        f"arrangement {deed}"
        for deed in ("new", "list", "use", "copy", "remove", "export", "apply")
    ),
    *(f"family {deed}" for deed in ("new", "check", "join", "remove", "split", "move", "sort")),
    *(f"family {deed}" for deed in ("release", "rename", "tidy")),
    *(f"range {deed}" for deed in ("import", "list", "export", "remove", "check", "shift")),
    *("range template", "swatch add", "swatch edit", "swatch remove"),
    *(f"paper {deed}" for deed in ("add", "list", "edit", "remove")),
}


def test_every_command_that_shows_pencils_asks_on_which_paper_in_the_same_words():
    asked, without = {}, set()
    for path, command in commands():
        options = {name: option for option in command.params for name in option.opts}
        if "--on" in options:
            asked[" ".join(path)] = options["--on"]
        elif not isinstance(command, LazyGroup):
            without.add(" ".join(path))
    assert without == WITHOUT_A_PAPER
    assert len(asked) >= 20
    assert {option.metavar for option in asked.values()} == {"PAPER"}
    chart = asked.pop("chart")  # is coloured in on a paper that one has
    assert "papers" in chart.help
    assert len({option.help for option in asked.values()}) == 1


def test_a_sheet_of_the_earlier_option_is_the_same(demo, tmp_path):
    written = []
    for option in ("--sheet-size", "--paper"):
        out = tmp_path / f"{option.strip('-')}.svg"
        assert demo("chart", out, "--family", "blues", option, "Letter")[0] == 0
        written.append(out.read_bytes())
    assert written[0] == written[1]


def test_bare_paper_under_either_name(stopgap_run, tmp_path):
    book = tmp_path / "book.csv"
    book.write_text("code,L,a,b\nsheet,95,0,2\n1,40,0,0\n")
    for option in ("--bare-paper", "--paper"):
        done = stopgap_run("range", "import", book, "--name", option.strip("-"), option, "sheet")
        assert done[0] == 0
        assert "1 added" in done[1]
