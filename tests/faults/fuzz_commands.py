"""`python tests/faults/fuzz_commands.py [FIRST:END] [--tally FILE] [parsed|done]`: command lines.

A seed is 250 lines of any options and words for any command; 400 seeds by default. Lines are only
taken apart (`parsed`), or the command is done on a small library (`done`), slow ones seldom and the
local page never: an answer, or a sentence and a status of 1 to 3; a line that is misuse changes
nothing, and every library is sound afterwards.
"""

import io
import os
import random
import sys
from collections.abc import Callable, Iterator
from contextlib import redirect_stderr, redirect_stdout, suppress
from functools import cache, partial
from pathlib import Path
from shutil import copy, rmtree

import click
from fuzzing import WORDS, batch, changed, folder_in_memory, given, tried
from long_runs import asked, run

from stopgap.cli.program import LazyGroup, program
from stopgap.cli.program import run as run_line
from stopgap.cli.session import Session
from stopgap.errors import StopgapError
from stopgap.library import check_library

_SLOW = (
    *("scan", "palette", "kit", "holes", "shop", "sheet", "pocket", "chart", "plot", "guide"),
    *("demo", "tones", "translate", "table", "completion", "calibrate"),
)
_NEVER = ("desk",)  # which waits for a browser
_SELDOM = 0.004
SHEET = b"code,name,L,a,b,owned,price,section\n" + b"".join(
    b"%d,Kelp %d,%d.5,%d,%d,%s,2.5,top\n" % (n, n, 15 + 9 * n, n - 4, 2 * n, b"yes" * (n % 2))
    for n in range(1, 9)
)
FILES = {
    "sheet.csv": SHEET,
    "list.csv": b"colour,label\nFen:3,sky\n#c04a2b,rust\n",
    "blends.csv": b"name,from,to\nsky,Fen:1,#c04a2b\n",
    "family.csv": b"pencil,family,place\nFen:1,browns,1\nFen:2,browns,2\n",
    "map.csv": b"column,means\nname,name\n",
}
PENCILS = ("Fen:3", "fen 4", "Kelp 5", "Fen:2-4", "#c04a2b", "lab(52 40 30)", "c04a2b", "Nobody")
TEXTS = (
    *("", " ", "x", "Fen", "FEN", "Kraft", "mine", "wines", "reds", "top", "D50", "D65", "EUR"),
    *("-1", "0", "1", "3", "12", "99", "1e308", "nan", "inf", "-inf", "0.5", "0,5", "10" * 20),
    *("soft", "II", "ASTM:I", "BWS:7", "yes", "no", "heavy", "A", "LED-B3", "CIE 2000", "-", "--"),
    *("\udce5", "\u202e\x1b[31m", "=1+1", "x" * 3000, "a b" * 400, ":", "a:b:c", "%s{0}", "1-2"),
)
PATHS = ("-", "missing.csv", ".", "out.csv", "out.xlsx", "out.html", "out.svg", "no/out.csv")


def commands() -> Iterator[tuple[tuple[str, ...], click.Command]]:
    """Every command with the words that call it."""

    def within(
        group: LazyGroup, words: tuple[str, ...]
    ) -> Iterator[tuple[tuple[str, ...], object]]:
        for name in group.list_commands(_context()):
            command = group.get_command(_context(), name)
            if isinstance(command, LazyGroup):
                yield from within(command, (*words, name))
            else:
                yield (*words, name), command

    return within(program, ())


@cache
def every() -> tuple[list[tuple[tuple[str, ...], click.Command]], ...]:
    """Commands that may be done at any time, and those that may seldom."""
    found = [one for one in commands() if one[0][0] not in _NEVER]
    return [one for one in found if one[0][0] not in _SLOW], found


@cache
def _context() -> click.Context:
    return click.Context(program, info_name="stopgap", obj=Session(quiet=True))


def line(command: click.Command, rng: random.Random) -> list[str]:
    """Options and words for a command, most of them of the kind that it asks for."""
    said: list[str] = []
    for param in command.params:
        wanted = param.required or rng.random() < (
            0.5 if param.param_type_name == "argument" else 0.15
        )
        if param.name == "library" or (not wanted and not rng.random() < 0.02):
            continue
        many = rng.randint(1, 3) if param.nargs == -1 else param.nargs
        words = [_word(param, rng) for _ in range(max(1, many))]
        if isinstance(param, click.Option):
            name = rng.choice([*param.opts, *param.secondary_opts])
            said += [name, *([] if param.is_flag else words)]
        else:
            said += words
    if rng.random() < 0.1:
        said.insert(rng.randrange(len(said) + 1), rng.choice((*TEXTS, "--nothing", "-h", "--json")))
    return said


def _word(param: click.Parameter, rng: random.Random) -> str:
    if rng.random() < 0.2:
        return rng.choice((*TEXTS, *PENCILS, *PATHS))
    if isinstance(param.type, click.Choice):
        return str(rng.choice([getattr(one, "value", one) for one in param.type.choices]))
    if isinstance(param.type, click.Path):
        return rng.choice((*FILES, *PATHS))
    if type(param.type).__name__ == "TargetText":
        return rng.choice(PENCILS)
    if isinstance(param.type, (click.types.IntParamType, click.types.FloatParamType)):
        return rng.choice(("1", "2", "3.5", "0", "-1", "50", "nan", "1e99"))
    return rng.choice(TEXTS)


def parsed(number: int) -> str:
    """What becomes of a line that is only taken apart."""
    rng = random.Random(f"line {number}")
    words, command = rng.choice(every()[1])
    try:
        command.make_context(" ".join(words), line(command, rng), parent=_context())
    except (click.ClickException, click.exceptions.Exit, StopgapError, UnicodeEncodeError) as error:
        return "help" if isinstance(error, click.exceptions.Exit) else "refused"
    return "taken apart"


def done(number: int) -> str:
    """What becomes of a line that is done."""
    rng = random.Random(f"line to be done {number}")
    words, command = rng.choice(every()[rng.random() < _SELDOM])
    typed = [*words, *line(command, rng)]
    folder = desk()
    path, sound = folder / "library.sqlite", folder / "first" / "library.sqlite"
    given(SHEET if rng.random() < 0.3 else changed(SHEET, rng, WORDS))
    out, err = io.TextIOWrapper(io.BytesIO(), encoding="utf-8"), io.StringIO()
    with redirect_stdout(out), redirect_stderr(err):
        status = run_line(["--library", str(path), *typed])
    out.flush()
    answer, error = out.buffer.getvalue(), err.getvalue()
    said = f"{typed!r:.900}: {status}, {error[-900:]}"
    assert status in range(4), said
    assert "Traceback" not in error, said
    assert b"Traceback" not in answer, said
    assert status == 0 or error.strip() or (status == 3 and answer), said
    there = path.exists() and path.read_bytes()
    if there != sound.read_bytes():
        assert status != 2, said
        if there:
            assert not check_library(path).everything, said
        _lay_out(folder)
    return f"status {status}"


@cache
def desk() -> Path:
    """A folder with a library and files, in which commands are done; a process has its own."""
    folder = folder_in_memory()
    os.environ.update(STOPGAP_CACHE=str(folder / "cache"), STOPGAP_CONFIG=str(folder / "config"))
    (folder / "first").mkdir()
    os.chdir(folder)
    for name, content in FILES.items():
        (folder / "first" / name).write_bytes(content)
    first = folder / "first" / "library.sqlite"
    for words in (
        ("range", "import", "first/sheet.csv", "--name", "Fen", "--source", "measured"),
        ("paper", "add", "Kraft", "--colour", "tan", "--default"),
        ("family", "move", "Fen:2", "wines"),
    ):
        with redirect_stdout(io.StringIO()):
            assert run_line(["--library", str(first), *words]) == 0
    _lay_out(folder)
    return folder


def _lay_out(folder: Path) -> None:
    for path in folder.iterdir():
        if path.name == "first":
            continue
        if path.is_dir():
            rmtree(path)
        else:
            path.unlink()
    for path in (folder / "first").iterdir():
        with suppress(FileNotFoundError):
            copy(path, folder / path.name)


OUTCOMES: dict[str, Callable[[int], str]] = {"parsed": parsed, "done": done}


def main() -> int:
    """Lines taken apart and lines done; how many batches were faults."""
    to_try = asked(__doc__, 400)
    faults = 0
    for name in to_try.words or OUTCOMES:
        tried(OUTCOMES[name], range(20))
        faults += run(f"lines {name}", to_try, partial(batch, OUTCOMES[name]))
    return faults


if __name__ == "__main__":
    sys.exit(main() > 0)
