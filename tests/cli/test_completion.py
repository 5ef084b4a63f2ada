"""Completion as the shells ask for it: words and the place of the cursor in the environment."""

import os
import subprocess
import sys

import pytest


def complete(library, shell, words, cursor):
    environment = {
        **os.environ,
        "STOPGAP_LIBRARY": str(library),
        "_STOPGAP_COMPLETE": f"{shell}_complete",
        "COMP_WORDS": words,
        "COMP_CWORD": cursor,
    }
    done = subprocess.run(
        [sys.executable, "-c", "from stopgap.cli import main; main()"],
        capture_output=True,
        text=True,
        check=False,
        env=environment,
    )
    assert done.stderr == ""
    return done.stdout.splitlines()


def values(library, words):
    """What bash is offered for the last of `words`."""
    lines = complete(library, "bash", words, str(len(words.split(" ")) - 1))
    return [line.split(",", 1)[1] for line in lines if line]


@pytest.mark.parametrize(
    ("words", "expected"),
    [
        ("stopgap mat", ["match"]),
        ("stopgap range sho", ["show"]),
        ("stopgap range show fe", ["Fennmoor"]),
        ("stopgap match ", ["Fennmoor:", "Brindlewick:", "Quillet:"]),
        # bash parts words at the colon and keeps what stands before it
        ("stopgap match Fennmoor : FM00", [f"FM00{digit}" for digit in range(1, 10)]),
        ("stopgap own Quillet:Q1 Quillet : Q48", ["Q48"]),
        ("stopgap swatch edit Quillet Q47", ["Q47"]),
        ("stopgap match x --range Q", ["Quillet"]),
        ("stopgap match x --finish me", ["metallic"]),
        ("stopgap match x --metric cm", ["CMC"]),
    ],
)
def test_bash(demo_library, words, expected):
    assert values(demo_library, words) == expected


def test_zsh_and_fish_show_names(demo_library):
    lines = complete(demo_library, "zsh", "stopgap match Fennmoor:FM001", "2")
    assert lines[0:2] == ["plain", r"Fennmoor\:FM001"]
    assert "Sandeel Gleam" in lines[2]


def test_without_a_library_nothing_is_offered(tmp_path):
    assert values(tmp_path / "none.sqlite", "stopgap match F") == []
