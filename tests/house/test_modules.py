"""The house: short modules, a light top, every command with an example, names as promised."""

import subprocess
import sys
from pathlib import Path

import pytest

import stopgap

SOURCE = Path(stopgap.__file__).parent
LONGEST_MODULE = 300


@pytest.mark.parametrize("path", sorted(SOURCE.rglob("*.py")), ids=lambda path: path.name)
def test_module_is_short(path):
    assert len(path.read_text(encoding="utf-8").splitlines()) <= LONGEST_MODULE


def test_public_names():
    assert set(stopgap.__all__) == {
        *(
            "ColourRange",
            "LabNeighbors",
            "Swatch",
            "blend",
            "coloured_page",
            "families",
            "from_frame",
            "gaps",
            "import_range",
        ),
        *("layer", "match", "open_library", "scan", "shop", "target", "to_frame", "translate"),
        *("blends", "colorimetry", "demo_library", "difference", "errors", "layering", "naming"),
        *("neighbours", "planner", "reports"),
    }
    for name in stopgap.__all__:
        assert getattr(stopgap, name) is not None
    with pytest.raises(AttributeError):
        _ = stopgap.no_such_name


def loaded_after(code: str, environment: dict[str, str] | None = None) -> set[str]:
    """Top-level modules that are loaded once `code` has run in a fresh interpreter."""
    code += "\nimport sys; print('LOADED', *{name.partition('.')[0] for name in sys.modules})"
    done = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, text=True, check=True, env=environment
    )
    return set(done.stdout.splitlines()[-1].split()[1:])


def test_import_of_the_package_loads_no_numpy():
    assert not loaded_after("import stopgap") & {"numpy", "click", "rich", "sqlite3"}


HEAVY = {"numpy", "scipy", "pandas", "rich", "jinja2", "colour", "sklearn", "matplotlib"}


def test_help_loads_nothing_heavy():
    code = "from stopgap.cli.program import run; assert run(['--help']) == 0"
    assert not loaded_after(code) & HEAVY


@pytest.mark.parametrize("form", [[], ["--json"], ["--csv"]], ids=["terminal", "json", "csv"])
def test_match_on_stored_lab_loads_neither_colour_nor_pandas(demo_library, form):
    arguments = ["--library", str(demo_library), "match", "Fennmoor:FM010", *form]
    code = f"from stopgap.cli.program import run; assert run({arguments!r}) == 0"
    loaded = loaded_after(code)
    assert not loaded & {"colour", "pandas", "sklearn", "scipy", "matplotlib"}
    assert ("rich" in loaded) is (not form)
