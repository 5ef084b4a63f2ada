"""Every message of stopgap, read from the source where it is raised."""

import ast
import re
from collections.abc import Iterator, Mapping
from pathlib import Path

import stopgap
from stopgap.errors import Remedy
from stopgap.reports.manual import ROOMS, VARIABLE, Message

_PACKAGE = Path(stopgap.__file__).parent
_RAISED = {
    *("StopgapError", "InputError", "ProblemsInFile", "LibraryError", "UnknownSwatchError"),
    *("UsageError", "NothingFoundError"),
}
_GUESSED = {"Finding", "repair"}
"""What says what was guessed of a sheet; it is agreed to, or the columns are said."""
_TELLING = {*_RAISED, *_GUESSED, "Remedy"}
_TELLS = re.compile("|".join(_TELLING))
_FEWEST_LETTERS = 10
_STEPS = (ast.Assign, ast.AugAssign, ast.Call)


def messages_in_source() -> Iterator[Message]:
    """Every error that is raised and every remark with a remedy, in the order of `ROOMS`."""
    order = list(ROOMS)
    paths = [path for path in _PACKAGE.rglob("*.py") if _room(path) in ROOMS]
    for path in sorted(paths, key=lambda path: (order.index(_room(path)), str(path))):
        source = path.read_text(encoding="utf-8")
        if not _TELLS.search(source):
            continue
        steps = [node for node in ast.walk(ast.parse(source)) if isinstance(node, _STEPS)]
        named: dict[str, ast.expr] = {}
        for node in sorted(steps, key=lambda node: node.lineno):
            if isinstance(node, ast.Assign) and isinstance(node.targets[0], ast.Name):
                named[node.targets[0].id] = node.value
            elif isinstance(node, ast.AugAssign):
                said = named.get(ast.unparse(node.target), node.value)
                named[ast.unparse(node.target)] = ast.BinOp(said, node.op, node.value)
            elif isinstance(node, ast.Call):
                text, remedies = _told(node, named)
                if text:
                    yield Message(_room(path), text, remedies)


def _told(call: ast.Call, named: Mapping[str, ast.expr]) -> tuple[str, tuple[Remedy, ...]]:
    """What a call tells, and what would help; no text where it tells nothing."""
    remedies = tuple(_remedies(call))
    called = call.func.id if isinstance(call.func, ast.Name) else ""
    if not remedies and called not in _TELLING:
        return "", ()
    said = [_said(named.get(ast.unparse(each), each)) for each in call.args]
    texts = [text for text in said if " " in text]
    if called in _GUESSED:
        asked = not any(ast.unparse(each) == "FindingKind.REMARK" for each in call.args)
        plain = re.sub(
            r"\{(\w+)\}", r"\1", max(texts, key=len, default="").replace("{n}", VARIABLE)
        )
        if len(re.findall(r"\w", plain)) < _FEWEST_LETTERS:  # all of it differs
            return "", ()
        return plain, remedies or (Remedy.CONFIRM,) * asked
    return next(iter(texts), ""), remedies


def _remedies(call: ast.Call) -> Iterator[Remedy]:
    """The remedies that a call states itself, all of those between which it chooses."""
    for value in (*call.args, *(word.value for word in call.keywords)):
        for each in (value.body, value.orelse) if isinstance(value, ast.IfExp) else (value,):
            match each:
                case ast.Attribute(value=ast.Name(id="Remedy")):
                    yield Remedy[each.attr]


def _room(path: Path) -> str:
    return path.relative_to(_PACKAGE).parts[0].removesuffix(".py")


def _said(node: ast.expr) -> str:
    """A literal, or a formatted one, as it is said; `…` where something is put in."""
    match node:
        case ast.Constant(value=str(text)):
            return text
        case ast.JoinedStr(values=values):
            said = "".join(_said(value) for value in values)
            return re.sub(f"{VARIABLE}+", VARIABLE, said)
        case ast.BinOp(left=left, op=ast.Add(), right=right):
            return _said(left) + _said(right)
    return VARIABLE
