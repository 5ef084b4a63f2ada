"""Write what all steps together make of an empty library: `python tests/library/make_newest.py`.

`test_store.py` says when it is to be written again.
"""

import sqlite3
from contextlib import closing
from pathlib import Path

from stopgap.library.store import connection

FILE = Path(connection.__file__).with_name("newest.sql")


def tables_of(raw):
    """The statements that made the tables, indexes and triggers of a library, in their order."""
    made = raw.execute("SELECT sql FROM sqlite_schema WHERE sql <> '' ORDER BY rowid")
    return [sql for (sql,) in made]


def made():
    """The statements, as SQLite keeps them once each step was taken."""
    with closing(sqlite3.connect(":memory:", isolation_level=None)) as raw:
        for number, sql in connection.steps():
            connection.take_step(raw, number, sql)
        return "\n".join(f"{statement};" for statement in tables_of(raw)) + "\n"


if __name__ == "__main__":
    FILE.write_text(made(), encoding="utf-8", newline="\n")
