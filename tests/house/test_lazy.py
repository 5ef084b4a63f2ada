"""Packages whose names are found on first use: nothing is missing, and nothing is hidden."""

import ast
import subprocess
import sys
from importlib import import_module
from pathlib import Path
from pkgutil import iter_modules

import pytest

LAZY = [
    path.parent.name
    for path in sorted(Path(import_module("stopgap").__file__).parent.glob("*/__init__.py"))
    if "on_first_use(" in path.read_text(encoding="utf-8")
]


@pytest.mark.parametrize("name", LAZY)
def test_each_public_name_is_what_its_module_has(name):
    package = import_module(f"stopgap.{name}")
    tree = ast.parse(Path(package.__file__).read_text(encoding="utf-8"))
    for_checkers = next(node for node in tree.body if isinstance(node, ast.If)).body
    names = [alias.name for statement in for_checkers for alias in statement.names]
    assert sorted(names) == sorted(package.__all__)
    for statement in for_checkers:
        module = import_module(statement.module)
        for alias in statement.names:
            assert getattr(package, alias.name) is getattr(module, alias.name)


@pytest.mark.parametrize("name", LAZY)
def test_no_public_name_is_that_of_a_module(name):
    package = import_module(f"stopgap.{name}")
    assert not set(package.__all__) & {module.name for module in iter_modules(package.__path__)}


@pytest.mark.parametrize("name", LAZY)
def test_importing_the_package_imports_none_of_its_modules(name):
    code = f"import sys, stopgap.{name}; print(*(m for m in sys.modules if 'stopgap.' in m))"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert set(done.stdout.split()) == {f"stopgap.{name}", "stopgap.lazy"}
