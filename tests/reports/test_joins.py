"""CSV that joins: each pencil by its key, the target in every row, true and false as such.

Held against `range show --csv` by pandas, as somebody else's program would.
"""

import io

import pandas
import pytest

from stopgap.cli.program import run

pytestmark = pytest.mark.slow

COMMANDS = (
    "match Fennmoor:FM017",
    "match #7f9a8c --over Fennmoor:FM003",
    "find kelp",
    "layer Fennmoor:FM003 Fennmoor:FM013",
    "tones Fennmoor:FM010",
    "table --from Quillet --to Fennmoor",
    "family show reds",
    "blend Fennmoor:FM113 Fennmoor:FM112",
    "gaps blends.csv",
    "translate lesson.csv",
    "kit --size 10",
    "shop --blends blends.csv --no-layers",
    "shop --restock --list lesson.csv",
)
ADDRESSED = {"closing", "stand_ins", "first", "second", "best", "third"}


def read(capsys, *words):
    capsys.readouterr()
    run([*words, "--csv"])
    return pandas.read_csv(io.StringIO(capsys.readouterr().out), keep_default_na=False, dtype=str)


@pytest.fixture
def known(desk, capsys):
    names = ("Fennmoor", "Brindlewick", "Quillet")
    return pandas.concat([read(capsys, "range", "show", name) for name in names])


def test_every_table_joins_the_ranges_without_loss(known, capsys):
    keys = set(zip(known["range"], known["code"], strict=True))
    joined = 0
    for command in COMMANDS:
        table = read(capsys, *command.split())
        assert len(table), command
        pairs = [column for column in table if column.endswith("range")]
        assert pairs, command
        for column in pairs:
            code = f"{column.removesuffix('range')}code"
            named = table[table[column] != ""]
            assert set(zip(named[column], named[code], strict=True)) <= keys, (command, column)
            assert not table[code][table[column] == ""].any(), (command, column)
            joined += len(named)
        for column in {each for each in ADDRESSED & set(table) if f"{each}_range" not in table}:
            for cell in filter(None, table[column]):
                for address in cell.split("; "):
                    assert tuple(address.split(" ")[0].split(":")) in keys, (command, column)
        cells = set(table.to_numpy().ravel())
        assert not cells & {"yes", "no"} or command.startswith("family"), command
    assert joined > 250


def test_what_was_asked_stands_in_every_row(known, capsys):
    match = read(capsys, "match", "Fennmoor:FM017", "--limit", "3")
    own = known[(known["range"] == "Fennmoor") & (known["code"] == "FM017")].iloc[0]
    for column in ("range", "code", "L", "a", "b"):
        assert match[f"asked_{column}"].tolist() == [own[column]] * 3
    free = read(capsys, "match", "#7f9a8c")
    assert free["asked"].unique().tolist() == ["#7f9a8c"]
    assert free["asked_range"].unique().tolist() == [""]
    assert (
        match[["range", "code"]].to_numpy().tolist()
        == match[["given_range", "given_code"]].to_numpy().tolist()
    )


def test_booleans_are_such(known, capsys):
    table = read(capsys, "table", "--from", "Quillet", "--to", "Fennmoor")
    assert set(table["mutual"]) == {"true", "false"}
    assert set(known["owned"]) == {"true", "false"}


def test_schemas_and_completions_are_printed(capsys):
    assert run(["schema"]) == 0
    names = capsys.readouterr().out.split()
    assert "match" in names
    assert run(["schema", "match"]) == 0
    assert '"title": "Stand-ins for one colour' in capsys.readouterr().out
    assert run(["schema", "mach"]) == 1
    assert "expected an answer, one of" in capsys.readouterr().err
    for shell in ("bash", "zsh", "fish"):
        assert run(["completion", shell]) == 0
        assert f"_STOPGAP_COMPLETE={shell}_complete" in capsys.readouterr().out
