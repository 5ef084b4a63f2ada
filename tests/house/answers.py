"""Answers of the commands as JSON, to be compared between two states of the code.

    python tests/house/answers.py FOLDER            asks everything, one file an answer
    python tests/house/answers.py --compare A B     lists every difference between two folders

The code that answers is the stopgap that Python finds first, so PYTHONPATH chooses it; questions,
ranges and lists are always those that lie beside this script.
"""

import contextlib
import io
import json
import math
import shutil
import sys
import tempfile
from collections.abc import Iterator
from pathlib import Path
from typing import Any

sys.path.insert(0, str(Path(__file__).parents[1]))  # beside which a script does not look

from questions import DATA, FILES, FORMS, OWNED, PICTURE, Question, many

LIBRARY = "library.sqlite"
TOLERANCE = 1e-6


class Desk:
    """A folder with the files that questions name and a library of the demo's ranges."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        folder.mkdir(parents=True)
        for name, text in FILES.items():
            (folder / name).write_text(text, encoding="utf-8")
        (folder / "picture.png").write_bytes(PICTURE)
        for name in ("Fennmoor", "Brindlewick", "Quillet"):
            file = str(DATA / f"{name.lower()}.csv")
            self._do("range", "import", file, "--name", name, "--source", "measured")
        self._do("own", "--from", OWNED)
        # Late: it imports what draws charts, and whoever changes defaults does so before that.
        from coloured import coloured_page

        (folder / "page.png").write_bytes(coloured_page(folder / LIBRARY))
        shutil.copy(folder / LIBRARY, folder / "untouched.sqlite")

    def answer(self, question: Question) -> tuple[int, str]:
        """Exit status, and what the command prints with --json."""
        library = LIBRARY
        if question.prepare:
            library = "own.sqlite"
            shutil.copy(self.folder / "untouched.sqlite", self.folder / library)
            for command in filter(None, question.prepare):
                self._do(*command, library=library)
        return self._ask(question, library)

    def _ask(self, question: Question, library: str) -> tuple[int, str]:
        for spelling in question.spellings:
            status, out, error = run_command(self.folder, library, *spelling, "--json")
            if status != 2:
                break
        # 1 with an answer: what is known of a list was answered, the rest is named
        assert status in (0, 3) or (status == 1 and out), f"{spelling}: {error}"
        return status, out

    def _do(self, *words: str, library: str = LIBRARY) -> None:
        status, _, error = run_command(self.folder, library, *words)
        assert status == 0, f"{words}: {error}"


def run_command(folder: Path, library: str, *words: str) -> tuple[int, str, str]:
    """Status, standard output and standard error of one command, run inside `folder`."""
    from stopgap.cli.program import run

    out, error = io.StringIO(), io.StringIO()
    with (
        contextlib.chdir(folder),
        contextlib.redirect_stdout(out),
        contextlib.redirect_stderr(error),
    ):
        status = run(["--library", library, *words])
    return status, out.getvalue(), error.getvalue()


def ask_everything(folder: Path) -> None:
    """Write every answer into `folder`."""
    folder.mkdir(parents=True, exist_ok=True)
    statuses = {}
    with tempfile.TemporaryDirectory() as place:
        desk = Desk(Path(place) / "desk")
        for name, question in {**FORMS, **many()}.items():
            statuses[name], text = desk.answer(question)
            (folder / f"{name}.json").write_text(text, encoding="utf-8")
    (folder / "exit_statuses.json").write_text(json.dumps(statuses, indent=1), encoding="utf-8")


def compare(before: Path, after: Path) -> list[str]:
    """Every difference between two folders, by file and path; numbers may be TOLERANCE apart."""
    found = []
    for name in sorted({path.name for path in (*before.glob("*.json"), *after.glob("*.json"))}):
        sides = [folder / name for folder in (before, after)]
        if not all(path.is_file() for path in sides):
            found.append(f"{name}: only {'before' if sides[0].is_file() else 'after'}")
            continue
        one, other = (json.loads(path.read_text(encoding="utf-8")) for path in sides)
        found += [f"{name}: {line}" for line in differences(one, other, "$")]
    return found


def differences(one: Any, other: Any, path: str) -> Iterator[str]:
    """What differs between two values of JSON, a line each.

    >>> list(differences({"a": [1, 2]}, {"a": [1, 3], "b": None}, "$"))
    ['$.a[1]: 2 -> 3', '$.b: added null']
    """
    if isinstance(one, dict) and isinstance(other, dict):
        for key in {**one, **other}:
            if key not in other:
                yield f"{path}.{key}: lost {_short(one[key])}"
            elif key not in one:
                yield f"{path}.{key}: added {_short(other[key])}"
            else:
                yield from differences(one[key], other[key], f"{path}.{key}")
    elif isinstance(one, list) and isinstance(other, list):
        if len(one) != len(other):
            yield f"{path}: {len(one)} -> {len(other)} items"
        for place, (left, right) in enumerate(zip(one, other, strict=False)):
            yield from differences(left, right, f"{path}[{place}]")
    elif not _equal(one, other):
        yield f"{path}: {_short(one)} -> {_short(other)}"


def _equal(one: Any, other: Any) -> bool:
    numbers = all(
        isinstance(side, (int, float)) and not isinstance(side, bool) for side in (one, other)
    )
    if numbers:
        return math.isclose(one, other, rel_tol=TOLERANCE, abs_tol=TOLERANCE)
    return type(one) is type(other) and bool(one == other)


def _short(value: Any) -> str:
    text = json.dumps(value, ensure_ascii=False)
    return text if len(text) <= 90 else f"{text[:89]}…"


if __name__ == "__main__":
    if sys.argv[1:2] == ["--compare"]:
        lines = compare(Path(sys.argv[2]), Path(sys.argv[3]))
        print("\n".join(lines) or "no difference")
        sys.exit(bool(lines))
    ask_everything(Path(sys.argv[1]))
