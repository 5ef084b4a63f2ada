"""`python tests/faults/kills.py [FIRST:END] [--tally FILE] [HOW …]`: a strike a seed, 1,000.

A command that writes is killed, killed amid a write, interrupted, or finds the disk full, at one of
its calls that write something. A command that only reads must then find the library as it was
before or as it is after, and what was said of it must be true. Needs a C compiler.
"""

import ctypes
import io
import os
import random
import shutil
import signal
import subprocess
import sys
import tempfile
from collections.abc import Sequence
from contextlib import redirect_stderr, redirect_stdout
from hashlib import sha256
from pathlib import Path

from long_runs import Asked, asked, run

HOW = ("killed", "torn", "interrupted", "full")
SHEET = "code,name,L,a,b,owned\n" + "".join(f"{n},Kelp {n},{n % 90}.5,1,2,no\n" for n in range(60))
COMMANDS = (
    "range import sheet.csv --name New --source measured",
    "range import sheet.csv --name Fen --source measured --replace --drop",
    "range remove Fen",
    "swatch add Fen X1 --lab 50 1 2",
    "swatch edit Fen 3 --price 2.5",
    "swatch remove Fen 4",
    "own Fen",
    "family move Fen:5 wines",
    "arrangement new Box",
    "paper add Kraft --colour tan",
    "undo 2",
    "redo",
    "restore copy.sqlite",
    "backup other.sqlite",
    "backup copy.sqlite --overwrite",
    "--library fresh/new.sqlite paper add Kraft --colour tan",
    "--library older.sqlite own Old",
)
LIBRARIES = ("library.sqlite", "copy.sqlite", "other.sqlite", "fresh/new.sqlite", "older.sqlite")


def main(arguments: Sequence[str]) -> int:
    """Strike, each seed in turn; how many were faults."""
    to_try = asked(__doc__, 1000, arguments)
    with tempfile.TemporaryDirectory() as folder:
        if "LD_PRELOAD" not in os.environ:
            shim = Path(folder) / "strike.so"
            source = Path(__file__).with_name("strike.c")
            subprocess.run(
                ["cc", "-shared", "-fPIC", "-O1", "-o", shim, source, "-ldl"], check=True
            )
            environment = {**os.environ, "LD_PRELOAD": str(shim), "STRIKE": str(shim)}
            command = [sys.executable, __file__, *arguments]
            return subprocess.run(command, env=environment).returncode
        tally = to_try.tally and to_try.tally.resolve()
        os.chdir(folder)
        return strike(to_try._replace(tally=tally))


def strike(to_try: Asked) -> int:
    """Each strike in a process of its own, on a desk of its own."""
    shim = ctypes.CDLL(os.environ["STRIKE"])
    shim.calls.restype = ctypes.c_long
    Path("first").mkdir()
    os.chdir("first")
    prepare()
    os.chdir("..")
    shutil.copytree("first", "desk")
    os.chdir("desk")
    for command in COMMANDS:  # what it loads is there then for every process
        told(*command.split())
    os.chdir("..")
    known: dict[str, tuple[dict[str, object], int]] = {}
    ways = to_try.words or HOW

    def outcome(seed: int) -> str:
        command = COMMANDS[seed % len(COMMANDS)]
        if command not in known:
            _, _, calls = struck(shim, command, 0, 0)
            known[command] = states(), calls
        after, calls = known[command]
        how = ways[(seed // len(COMMANDS)) % len(ways)]
        at = random.Random(f"strike {seed}").randint(1, calls)
        status, said, _ = struck(shim, command, HOW.index(how), at)
        return f"{how}: {judge(command, how, at, status, said, after)}"

    return run("kills", to_try, outcome)


def prepare() -> None:
    """A library with a few changes, a copy of it, and one of an older version."""
    Path("sheet.csv").write_text(SHEET.replace("Kelp", "Wrack"), encoding="utf-8")
    told("range", "import", "sheet.csv", "--name", "Fen", "--source", "measured")
    told("backup", "copy.sqlite")
    for code in ("1", "2", "3"):
        told("own", f"Fen:{code}")
    told("undo")
    Path("fresh").mkdir()
    text = Path(__file__).parents[1] / "library" / "data" / "library_version_4.sql"
    import sqlite3

    raw = sqlite3.connect("older.sqlite")
    raw.executescript(text.read_text(encoding="utf-8"))
    raw.execute(
        "UPDATE colour_range SET name = 'Old' WHERE id = (SELECT min(id) FROM colour_range)"
    )
    raw.commit()
    raw.close()
    Path("sheet.csv").write_text(SHEET, encoding="utf-8")


def told(*arguments: str) -> tuple[int, str]:
    """Exit status, and what a command says."""
    from stopgap.cli import program

    said = io.StringIO()
    with redirect_stdout(said), redirect_stderr(said):
        status = program.run(["--library", "library.sqlite", *arguments])
    return status, said.getvalue()


def struck(shim: ctypes.CDLL, command: str, how: int, at: int) -> tuple[int, str, int]:
    """Status of the process (below 0 a signal), what it said, and how many calls it made."""
    shutil.rmtree("desk", ignore_errors=True)
    shutil.copytree("first", "desk")
    process = os.fork()
    if process == 0:
        os.chdir("desk")
        signal.signal(signal.SIGINT, signal.default_int_handler)
        shim.arm(how, ctypes.c_long(at))
        try:
            status, said = told(*command.split())
        except BaseException as error:  # noqa: BLE001
            status, said = 99, f"{type(error).__name__}: {error}"
        calls = shim.calls()
        shim.arm(0, ctypes.c_long(0))
        Path("../said").write_text(f"{calls}\n{said}", encoding="utf-8")
        os._exit(status)
    Path("said").unlink(missing_ok=True)
    _, ended = os.waitpid(process, 0)
    told_of = Path("said").read_text(encoding="utf-8") if Path("said").exists() else "0\n"
    calls, _, said = told_of.partition("\n")
    return os.waitstatus_to_exitcode(ended), said, int(calls)


_READ: dict[bytes, object] = {}
"""What was read of files by the digest of their bytes, where no journal lay beside them."""


def states() -> dict[str, object]:
    """What a reader finds in each library of the desk that holds something."""
    from stopgap.errors import LibraryError
    from stopgap.library import open_library, stored_arrangements, stored_papers

    found: dict[str, object] = {}
    for name in LIBRARIES:
        path = Path("desk") / name
        if not path.exists():
            continue
        left = path.with_name(f"{path.name}-journal").exists()  # which reading takes back
        content = sha256(path.read_bytes()).digest()
        if not left and content in _READ:
            found |= {name: _READ[content]} if _READ[content] else {}
            continue
        try:
            with open_library(path, read_only=True) as library:
                held = (library.pencils(), stored_papers(library), stored_arrangements(library))
                changes = library.changes()
                with library.reading() as connection:
                    sound = connection.execute("PRAGMA integrity_check").fetchone()[0]
            assert sound == "ok", sound
            if any(held) or changes:
                what = [(change.number, change.what, change.undone) for change in changes]
                found[name] = (*held, what)
            if not left:
                _READ[content] = found.get(name)
        except LibraryError as error:
            if "There is no library" not in str(error):
                raise
    return found


def judge(command: str, how: str, at: int, status: int, said: str, after: dict[str, object]) -> str:
    """Whether the library is as before or after the command; AssertionError where it is neither."""
    where = f"{command!r}, {how} at call {at}: {said!r}"
    now = states()
    first = Path("first")
    shutil.rmtree("desk")
    shutil.copytree(first, "desk")
    before = states()
    side = {}
    for name in {*before, *after, *now}:
        same = [one.get(name) == now.get(name) for one in (before, after)]
        assert any(same), f"{where}: {name} is neither as before nor as after"
        if before.get(name) != after.get(name):
            side[name] = "before" if same[0] else "after"
    assert status != 99, where
    assert len(set(side.values())) <= 1, (where, side)
    end = next(iter(side.values()), "the same")
    if how == "interrupted" and "stopped" in said:
        assert end != "after" or "stopped before" not in said, where
        assert end != "before" or "stopped after the change" not in said, where
    if status == 0:
        assert end != "before", where
    if "othing was changed" in said:
        assert end != "after", where
    return end


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]) > 0)
