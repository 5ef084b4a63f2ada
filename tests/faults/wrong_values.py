"""`python tests/faults/wrong_values.py [FIRST:END] [--tally FILE] [bits]`: damage, 10,000 seeds.

Each is one cell that holds something else than it should, of any type, as from another program,
before one command; or one bit flipped in the file, before three. A command answers, or says in a
sentence what is wrong; `library check` finds every such cell, and every bit by which an answer is
another than before.
"""

import io
import random
import shutil
import sqlite3
import sys
import tempfile
from collections.abc import Callable
from contextlib import closing, redirect_stderr, redirect_stdout
from functools import cache, partial
from pathlib import Path

from long_runs import Asked, asked, run

from stopgap.cli import program
from stopgap.library.store.sealing import WATCHED, seal

COMMANDS = (
    "range list --json",
    "range show Fen --json",
    "range check Fen",
    "range export Fen out.csv --overwrite",
    "range import sheet.csv --name Fen --source measured --replace --yes",
    "match Fen:3 --json --no-layers",
    "match Fen:5 --on Kraft --no-layers",
    "find kelp --json",
    "family --json",
    "family check",
    "arrangement list --json",
    "paper list --json",
    "history --json",
    "layer Fen:3 Fen:5 --json",
    "own Fen:4",
    "swatch edit Fen 6 --note x",
    "undo",
)
SHEET = "code,name,L,a,b,vorhanden,price,lightfastness,lightfastness_scale,shelf\n" + "".join(
    f"{n},Kelp {n},{20 + 5 * n}.5,{n - 6},{2 * n},{'yes' if n % 2 else 'no'},2.5,II,ASTM,top\n"
    for n in range(1, 13)
)
LAID = "first,second,first_pressure,second_pressure,L,a,b\n" + "".join(
    f"Fen:{n},Fen:{n + 1},heavy,medium,{20 + 5 * n},{n - 6},{2 * n}\n" for n in range(1, 9)
)
FEW = ("range show Fen --json", "match Fen:3 --json --no-layers", "own Fen:4")
Usual = Callable[[str], tuple[int, str]]
VALUES = (
    *(None, -1, 0, 1, 2, 10**15, -(2**63), 1e308, -1e300, float("inf"), 0.5, "", "x", "0", "NaN"),
    *("{}", "[]", "null", "[1, 2, 3]", '{"a": 1}', "[[1, 2, 3]]", "[NaN, 0, 0]", "\u202e\x1b[31m"),
    *(b"\xff\xfe", b"", "y" * 5000, "[" * 3000),
)


def main(to_try: Asked) -> int:
    """Put them in one by one; how many were faults."""
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        flips = "bits" in to_try.words
        first = prepare(folder, loose=not flips)
        usual = cache(partial(told, folder, first))
        damage = flipped_bit if flips else wrong_cell
        return run(damage.__name__.replace("_", " "), to_try, partial(damage, folder, first, usual))


def prepare(folder: Path, *, loose: bool) -> Path:
    """A library with something in every table, whose columns take any type if it is loose."""
    first = folder / "first.sqlite"
    (folder / "sheet.csv").write_text(SHEET, encoding="utf-8")
    (folder / "laid.csv").write_text(LAID, encoding="utf-8")
    for command in (
        "range import sheet.csv --name Fen --source measured --yes",
        "swatch add Fen 3 --lab 70 1 2 --pressure light",
        "swatch edit Fen 5 --price 3",
        "paper add Kraft --colour tan --grain rough --default",
        "family move Fen:7 wines",
        f"chart {folder / 'chart.svg'}",
        "calibrate laid.csv",
    ):
        status, said = told(folder, first, command, copy=False)
        assert status == 0, said
    with closing(sqlite3.connect(first)) as raw:
        raw.row_factory = sqlite3.Row
        raw.execute("INSERT INTO pin (swatch_id, family) VALUES (8, 'reds')")
        if loose:
            raw.execute("PRAGMA writable_schema = ON")
            raw.execute(
                "UPDATE sqlite_schema SET"
                " sql = replace(replace(sql, ') STRICT', ')'), 'NOT NULL', '')"
                " WHERE type = 'table' AND name NOT LIKE 'sqlite%'"
            )
            raw.execute("PRAGMA schema_version = 1000")  # for the tables are read anew
        seal(raw, WATCHED)
        raw.commit()
        for table in WATCHED:
            assert raw.execute(f"SELECT count(*) FROM {table}").fetchone()[0], table
    assert told(folder, first, "library check")[0] == 0
    return first


def told(folder: Path, first: Path, command: str, *, copy: bool = True) -> tuple[int, str]:
    """Exit status of a command on a copy of a library, and what it says."""
    path = first
    if copy:
        path = folder / "library.sqlite"
        shutil.copy(first, path)
    words = [str(folder / word) if word.endswith(".csv") else word for word in command.split()]
    said = io.StringIO()
    with redirect_stdout(said), redirect_stderr(said):
        status = program.run(["--library", str(path), *words])
    return status, said.getvalue()


def flipped_bit(folder: Path, first: Path, usual: Usual, seed: int) -> str:
    """What became of one flipped bit."""
    damaged = folder / "damaged.sqlite"
    content = bytearray(first.read_bytes())
    place = random.Random(f"bit {seed}").randrange(8 * len(content))
    content[place // 8] ^= 1 << place % 8
    damaged.write_bytes(content)
    checked, listed = told(folder, damaged, "library check")
    others = 0
    for command in FEW:
        status, said = told(folder, damaged, command)
        where = f"bit {place} ({seed=}), {command!r}: {said!r:.300}"
        assert "Traceback" not in said, where
        assert said.strip() or status == 0, where
        if (status, said) != usual(command):
            assert checked == 1, f"{where}: not found; {listed}"
            others += 1
    return "answered otherwise or refused" if others else "answered as before"


def wrong_cell(folder: Path, first: Path, usual: Usual, seed: int) -> str:
    """What became of one wrong value."""
    rng = random.Random(f"wrong value {seed}")
    damaged = folder / "damaged.sqlite"
    shutil.copy(first, damaged)
    table = rng.choice(WATCHED)
    with closing(sqlite3.connect(damaged)) as raw:
        raw.execute("PRAGMA ignore_check_constraints = ON")
        raw.execute("PRAGMA foreign_keys = OFF")
        columns = [row[1] for row in raw.execute(f"PRAGMA table_info({table})")][1:]
        rows = [row[0] for row in raw.execute(f"SELECT id FROM {table}")]
        column, row = rng.choice(columns), rng.choice(rows)
        (before,) = raw.execute(f"SELECT {column} FROM {table} WHERE id = ?", (row,)).fetchone()
        value = _wrong(before, rng)
        try:
            raw.execute(f"UPDATE {table} SET {column} = ? WHERE id = ?", (value, row))
        except sqlite3.IntegrityError:
            return "not taken"
        (now,) = raw.execute(f"SELECT {column} FROM {table} WHERE id = ?", (row,)).fetchone()
        if now == before:
            return "the same"
        raw.commit()
    command = rng.choice(COMMANDS)
    where = f"seed {seed}: {table}.{column} of {row} = {value!r:.60}, {command!r}"
    try:
        status, said = told(folder, damaged, command)
        checked, listed = told(folder, damaged, "library check")
    except Exception as error:
        error.add_note(where)
        raise
    assert "Traceback" not in said, where
    assert said.strip() or status == 0, where
    assert checked == 1, f"{where}: not found; {listed}"
    return "answered as before" if (status, said) == usual(command) else f"status {status}"


def _wrong(value: object, rng: random.Random) -> object:
    """Some other value, or the same with a character changed."""
    if isinstance(value, str) and value and rng.random() < 0.5:
        at = rng.randrange(len(value))
        kind = rng.randrange(3)
        put = ("", chr(ord(value[at]) ^ (1 << rng.randrange(7))), rng.choice('09]}",-'))[kind]
        return value[:at] + put + value[at + 1 :]
    return rng.choice(VALUES)


if __name__ == "__main__":
    sys.exit(main(asked(__doc__, 10_000)) > 0)
