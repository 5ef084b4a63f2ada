"""Packages whose names are found on first use: nothing is missing, and nothing is hidden."""

import ast
import subprocess
import sys
from importlib import import_module
from pathlib import Path

import pytest

import stopgap

SOURCE = Path(stopgap.__file__).parent
STUBS = {
    ".".join(("stopgap", *stub.parent.relative_to(SOURCE).parts)): stub
    for stub in sorted(SOURCE.rglob("__init__.pyi"))
}


def imports(stub):
    """What a stub says: the name, and the module that has it."""
    for statement in ast.parse(stub.read_text(encoding="utf-8")).body:
        if isinstance(statement, ast.ImportFrom):
            for alias in statement.names:
                yield alias.name, alias.asname, statement.module


@pytest.mark.parametrize("package", STUBS)
def test_each_public_name_is_what_its_module_has(package):
    face = import_module(package)
    said = list(imports(STUBS[package]))
    assert sorted(name for name, *_ in said) == sorted(face.__all__)
    for name, again, module in said:
        assert name == again  # or type checkers take it for private
        if module is None:
            assert getattr(face, name) is import_module(f"{package}.{name}")
        else:
            assert getattr(face, name) is getattr(import_module(f"{package}.{module}"), name)


LOOK = """
import sys
from importlib import import_module

for package in sys.argv[1:]:
    for name in [name for name in sys.modules if name.split(".")[0] == "stopgap"]:
        del sys.modules[name]
    import_module(package)
    print(*(name for name in sys.modules if name.split(".")[0] == "stopgap"))
"""


def test_importing_a_package_imports_none_of_its_modules():
    done = subprocess.run(
        [sys.executable, "-c", LOOK, *STUBS], capture_output=True, text=True, check=True
    )
    for package, loaded in zip(STUBS, done.stdout.splitlines(), strict=True):
        steps = package.split(".")
        above = {".".join(steps[: place + 1]) for place in range(len(steps))}
        assert set(loaded.split()) - {"stopgap.faces"} == above
        assert package != "stopgap" or loaded == package  # an interrupt is to be told: stopgap.cli


def test_an_unknown_name_is_refused_as_python_does():
    with pytest.raises(AttributeError, match="nothing"):
        _ = stopgap.nothing
