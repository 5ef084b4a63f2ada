"""Names and sizes of the house: what a newcomer can rely on when looking for something."""

import ast
import re
from collections import defaultdict
from functools import cache
from importlib import import_module
from pathlib import Path

import pytest
from radon.complexity import cc_visit

import stopgap
from stopgap.cli.program import COMMANDS

SOURCE = Path(stopgap.__file__).parent
MODULES = sorted(SOURCE.rglob("*.py"))
PACKAGES = sorted(path.parent for path in MODULES if path.name == "__init__.py")
MOST_MODULES = 14
MOST_BRANCHES = 14
MOST_PARAMETERS = 11
SHORT_FUNCTION = 60  # characters: below, functions may well be alike


@cache
def trees():
    """Every module read as Python."""
    return {path: ast.parse(path.read_text(encoding="utf-8")) for path in MODULES}


def inside(path):
    """A path as it is spoken of: from the top of the package."""
    return path.relative_to(SOURCE).as_posix()


def dotted(package):
    return ".".join(("stopgap", *package.relative_to(SOURCE).parts))


def test_no_folder_holds_too_many_modules():
    crowded = {
        inside(package): count
        for package in PACKAGES
        if (count := len(list(package.glob("*.py"))) - 1) > MOST_MODULES
    }
    assert not crowded


def test_no_two_modules_have_a_public_class_of_one_name():
    places = defaultdict(list)
    for path, tree in trees().items():
        for node in tree.body:
            if isinstance(node, ast.ClassDef) and not node.name.startswith("_"):
                places[node.name].append(inside(path))
    assert not {name: found for name, found in places.items() if len(found) > 1}


WHITES_OF_OUR_OWN = re.compile(r"\b(0?\.96429?\d*|0?\.82(49|510)\d*|0?\.95047|0?\.8951|0\.3457)\b")


def test_whites_and_how_one_is_brought_to_another_are_said_once():
    """X of D50, X and Z of its whites, X of D65, the first number of Bradford's matrix."""
    said = {
        inside(path)
        for path in MODULES
        if WHITES_OF_OUR_OWN.search(path.read_text(encoding="utf-8"))
    }
    assert said == {"colorimetry/whites.py"}


@pytest.mark.parametrize("package", PACKAGES, ids=dotted)
def test_no_module_bears_a_public_name_of_its_package(package):
    """Who imports the name would get the module, or the other way round, by what came first."""
    if package == SOURCE:
        return  # its public names are its packages
    names = set(getattr(import_module(dotted(package)), "__all__", ()))
    below = {path.stem for path in package.glob("*.py")} | {
        path.parent.name for path in package.glob("*/__init__.py")
    }
    assert not names & below


COMMAND_LINE = re.compile(rf"(?<![\w-])--[a-z]|\bstopgap ({'|'.join(COMMANDS)})\b")


def test_only_the_command_line_names_its_options_and_commands():
    """Below it a message carries the key of a remedy; pages and Python have other words for it."""
    found = [
        f"{inside(path)}:{line}: {text}"
        for path, tree in trees().items()
        if "cli" not in path.relative_to(SOURCE).parts
        for line, text in texts(tree)
        if COMMAND_LINE.search(text)
    ]
    assert not found, "\n".join(found)


def texts(tree):
    """Every string that is no docstring, with its line."""
    documentation = {
        id(statement.value)
        for node in ast.walk(tree)
        if isinstance(body := getattr(node, "body", None), list)
        for statement in body
        if isinstance(statement, ast.Expr)
    }
    for node in ast.walk(tree):
        if (
            isinstance(node, ast.Constant)
            and isinstance(node.value, str)
            and id(node) not in documentation
        ):
            yield node.lineno, node.value


def test_no_function_branches_too_often():
    """McCabe's cyclomatic complexity, as radon counts it (T. J. McCabe 1976)."""
    found = {
        f"{inside(path)}:{block.lineno} {block.fullname}": block.complexity
        for path in MODULES
        for block in flat(cc_visit(path.read_text(encoding="utf-8")))
        if block.complexity > MOST_BRANCHES
    }
    assert not found


def flat(blocks):
    for block in blocks:
        if hasattr(block, "methods"):
            yield from flat(block.methods)
        else:
            yield block
            yield from flat(block.closures)


class Nameless(ast.NodeTransformer):
    """What is left of a function where names and numbers may differ."""

    def visit_Name(self, node):
        return ast.Name("_", node.ctx)

    def visit_arg(self, node):
        return ast.copy_location(ast.arg("_"), node)

    def visit_Attribute(self, node):
        return ast.Attribute(self.visit(node.value), "_", node.ctx)

    def visit_keyword(self, node):
        return ast.keyword("_", self.visit(node.value))

    def visit_Constant(self, node):
        return node if isinstance(node.value, str) else ast.Constant(0)

    def visit_JoinedStr(self, node):
        return ast.copy_location(ast.Constant(""), node)


def test_no_function_stands_twice():
    places = defaultdict(list)
    for path in MODULES:
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.FunctionDef):
                body = node.body[ast.get_docstring(node) is not None :]
                text = "\n".join(ast.unparse(Nameless().visit(part)) for part in body)
                if len(text) >= SHORT_FUNCTION:
                    places[text].append(f"{inside(path)} {node.name}")
    assert not [found for found in places.values() if len(found) > 1]


def test_no_function_takes_too_many_parameters():
    """Callbacks of click are left out: each option of a command is one of their parameters."""
    found = {
        f"{inside(path)}:{node.lineno} {node.name}": count
        for path, tree in trees().items()
        for node in ast.walk(tree)
        if isinstance(node, ast.FunctionDef)
        and not is_command(node)
        and (count := parameters(node)) > MOST_PARAMETERS
    }
    assert not found


def parameters(function):
    arguments = function.args
    named = [*arguments.posonlyargs, *arguments.args, *arguments.kwonlyargs]
    return sum(argument.arg not in ("self", "cls") for argument in named)


def is_command(function):
    return any(
        isinstance(decorator, ast.Call)
        and isinstance(decorator.func, ast.Attribute)
        and decorator.func.attr in ("command", "group")
        for decorator in function.decorator_list
    )
