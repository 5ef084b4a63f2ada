"""What the manual tells of messages and public names is what the source says now."""

import pytest
from make_manual import DATA, made
from messages_in_source import messages_in_source


@pytest.fixture(scope="module")
def in_source():
    return made()


@pytest.mark.parametrize("name", ["messages.json", "names.txt"])
def test_it_is_as_in_the_source(in_source, name):
    kept = (DATA / name).read_text(encoding="utf-8")
    assert kept == in_source[name], "run python tests/house/make_manual.py"


def test_a_message_is_read_where_it_is_put_together(tmp_path, monkeypatch):
    room = tmp_path / "library"
    room.mkdir()
    (room / "any.py").write_text(
        "def f(n):\n"
        "    said = f'There are {n} of them'\n"
        "    said += ' here.'\n"
        "    raise UsageError(said, Remedy.OVERWRITE if n else Remedy.CONFIRM)\n"
    )
    monkeypatch.setattr("messages_in_source._PACKAGE", tmp_path)
    (found,) = messages_in_source()
    assert found.room == "library"
    assert found.text == "There are … of them here."
    assert [each.name for each in found.remedies] == ["OVERWRITE", "CONFIRM"]
