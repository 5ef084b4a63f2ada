"""What DEVELOPERS.md names is there: a path that is not leads a newcomer astray."""

import re
from importlib import import_module
from pathlib import Path

import pytest

import stopgap

ROOT = Path(__file__).parents[2]
SOURCE = Path(stopgap.__file__).parent
MANUAL = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
ROOMS = {path.parent.name for path in SOURCE.glob("*/__init__.py")}
CHANGES = re.findall(r"^\| ([^|]+) \| `([^`]+)` \|$", MANUAL.partition("\n## The house")[0], re.M)
PATHS = sorted(set(re.findall(r"`([\w.-]+/[\w./-]*)`", MANUAL)))
NAMES = sorted(
    name
    for name in set(re.findall(r"`([a-z_]+(?:\.\w+)+)`", MANUAL))
    if name.partition(".")[0] in ROOMS
)


def test_it_opens_with_where_to_go():
    assert MANUAL.splitlines()[2] == "## To change something, go to"
    assert len(CHANGES) >= 25
    assert len({path for _, path in CHANGES}) == len(CHANGES)


def test_each_word_of_the_house_stands_once_and_in_one_line():
    _, words = MANUAL.split("| word | what it is | unit |\n")
    rows = [row.split(" | ") for row in words.split("\n\n")[0].splitlines()[1:]]
    assert len(rows) >= 100
    assert {len(row) for row in rows} == {3}
    assert len({row[0] for row in rows}) == len(rows)


@pytest.mark.parametrize(("change", "path"), CHANGES)
def test_where_to_go_is_there(change, path):
    assert (ROOT / path).is_file(), f"{change}: {path}"


@pytest.mark.parametrize("path", PATHS)
def test_paths_are_there(path):
    assert any((above / path).exists() for above in (ROOT, SOURCE))


@pytest.mark.parametrize("name", NAMES)
def test_modules_and_names_are_there(name):
    found = stopgap
    for place, step in enumerate(name.split("."), 1):
        if not hasattr(found, step):
            import_module(".".join(("stopgap", *name.split(".")[:place])))
        found = getattr(found, step)


def test_nothing_is_taken_for_granted():
    assert len(PATHS) > 25
    assert NAMES
