"""The page of all public names, made from their docstrings where they stand."""

import ast
import re
from collections.abc import Iterator
from functools import cache
from inspect import cleandoc
from pathlib import Path
from textwrap import fill
from typing import NamedTuple

import stopgap

_PACKAGE = Path(stopgap.__file__).parent
_Node = ast.FunctionDef | ast.ClassDef


class Described(NamedTuple):
    """A public name, how it is called, and its docstring."""

    name: str
    signature: str
    text: str


def names_in_source() -> str:
    """Every public name as Markdown: what can be called in full, of packages what they hold."""
    stubs = list(_said(_PACKAGE))
    parts = [_in_full(found) for name, where in stubs if where for found in [_find(_PACKAGE, name)]]
    parts += [_package(name) for name, where in stubs if not where]
    return "\n".join(parts)


def _said(package: Path) -> Iterator[tuple[str, str]]:
    """The names of a stub, each with the module that has it, which is empty for a package."""
    stub = package / "__init__.pyi"
    for statement in _tree(stub).body:
        if isinstance(statement, ast.ImportFrom):
            yield from ((alias.name, statement.module or "") for alias in statement.names)


def _find(package: Path, name: str) -> Described:
    """A name where it is defined, through as many stubs and modules as hand it on."""
    return _in_module(package.joinpath(*_modules(package)[name].split(".")), name)


@cache
def _modules(package: Path) -> dict[str, str]:
    return dict(_said(package))


def _in_module(path: Path, name: str) -> Described:
    if (path / "__init__.pyi").is_file():
        return _find(path, name)
    module = path / "__init__.py" if path.is_dir() else path.with_suffix(".py")
    tree = _tree(module)
    for node in tree.body:
        if isinstance(node, _Node) and node.name == name:
            return Described(name, _signature(node), ast.get_docstring(node) or "")
        if isinstance(node, ast.ImportFrom) and node.module:
            for alias in node.names:
                if (alias.asname or alias.name) == name:
                    steps = node.module.split(".")[1:]
                    return _in_module(_PACKAGE.joinpath(*steps), alias.name)
    return Described(name, name, _about(tree, name))


def _about(tree: ast.Module, name: str) -> str:
    """What stands below a constant."""
    for node, after in zip(tree.body, tree.body[1:], strict=False):
        targets = [node.target] if isinstance(node, ast.AnnAssign) else getattr(node, "targets", [])
        if any(isinstance(each, ast.Name) and each.id == name for each in targets):
            said = after.value if isinstance(after, ast.Expr) else None
            if isinstance(said, ast.Constant) and isinstance(said.value, str):
                return cleandoc(said.value)
    return ""


def _signature(node: _Node) -> str:
    if isinstance(node, ast.ClassDef):
        made = next((each for each in node.body if getattr(each, "name", "") == "__init__"), None)
        if not isinstance(made, ast.FunctionDef):
            return node.name
        return f"{node.name}({_arguments(made)})"
    returned = f" -> {ast.unparse(node.returns)}" if node.returns else ""
    return f"{node.name}({_arguments(node)}){returned}"


def _arguments(function: ast.FunctionDef) -> str:
    """The arguments by name, with their defaults."""
    said = function.args
    for each in (*said.args, *said.kwonlyargs, said.kwarg, said.vararg):
        if each is not None:
            each.annotation = None
    return ast.unparse(said).removeprefix("self, ").removeprefix("self")


def _in_full(found: Described) -> str:
    called = fill(f"stopgap.{found.signature}", 74, subsequent_indent="    ")
    head = f"## stopgap.{found.name}\n\n```python\n{called}\n```\n"
    return "\n".join([head, *_sections(found.text), ""])


def _sections(text: str) -> Iterator[str]:
    """A docstring in numpydoc's sections as Markdown."""
    parts = re.split(r"^(\w+)\n-{3,}\n", text, flags=re.M)
    yield _escaped(parts[0].strip()) + "\n"
    for title, body in zip(parts[1::2], parts[2::2], strict=True):
        yield f"**{title}**\n"
        if title == "Examples":
            yield f"```pycon\n{body.strip()}\n```\n"
            continue
        entries = re.split(r"^(?=\S)", body.strip(), flags=re.M)
        for entry in filter(None, entries):
            name, _, about = entry.partition("\n")
            yield f"- `{name.strip()}`: {_plain(about)}"
        yield ""


def _package(name: str) -> str:
    """What a package or module is about, and what it holds, a line each."""
    path = _PACKAGE / name
    whole = path / "__init__.py" if path.is_dir() else path.with_suffix(".py")
    about = ast.get_docstring(_tree(whole)) or ""
    lines = [f"## stopgap.{name}", "", _plain(about.partition("\n\n")[0]), ""]
    if path.is_dir():
        for inner, _ in _said(path):
            first = _plain(_find(path, inner).text.partition("\n\n")[0])
            lines.append(f"- `{inner}`: {first}" if first else f"- `{inner}`")
    return "\n".join([*lines, ""])


def _plain(text: str) -> str:
    """In one line."""
    return _escaped(" ".join(text.split()))


def _escaped(text: str) -> str:
    """Stars stand for themselves: L*a*b*."""
    return text.replace("*", "\\*")


@cache
def _tree(path: Path) -> ast.Module:
    return ast.parse(path.read_text(encoding="utf-8"))
