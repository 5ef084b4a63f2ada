"""The drawer of papers: what each is called, its colour and grain, what was learnt on it; which is
the default.
"""

import json
import sqlite3
from collections.abc import Mapping, Sequence
from typing import Any

from stopgap.errors import (
    InputError,
    NothingFoundError,
    Remedy,
    UnknownSwatchError,
    nearest_spellings,
)
from stopgap.library.store.cells import COORDINATE, LAB, TEXT
from stopgap.library.store.entry import laying_from_json
from stopgap.library.store.library import Library
from stopgap.swatches import GRAINS, PAPER_COLOURS, LayingConditions, Paper, Swatch

_OF_PAPER = "coalesce((SELECT name FROM paper WHERE id = paper_id), '') = ?"
"""The row of a paper of the drawer, or of no paper where the name is empty."""
_LAID = ("swatch", "further_swatch")
"""The tables whose rows lie on a paper."""


def stored_papers(library: Library) -> tuple[Paper, ...]:
    """Every paper of the drawer, in the order they came in."""
    with library.reading() as connection:
        rows = connection.execute("SELECT * FROM paper ORDER BY id").fetchall()
        for row in rows:
            check_paper(row)
        return tuple(map(_paper, rows))


def find_paper(text: str, papers: Sequence[Paper]) -> Paper:
    """What `text` calls a paper: a name of the drawer, else a word for a colour, else a colour.

    Raises
    ------
    UnknownSwatchError
        Where it is none of them; the nearest spellings are named.
    InputError
        Where it is a malformed colour.
    """
    wanted = text.strip().casefold()
    known = {name: paper for paper in reversed(papers) for name in paper.names}
    known |= {paper.name.casefold(): paper for paper in papers}
    if wanted in known:
        return known[wanted]
    lab, measured = paper_colour(text, [paper.name for paper in papers])
    return Paper(lab, measured, text.strip())


def paper_colour(text: str, known: Sequence[str] = ()) -> tuple[tuple[float, float, float], bool]:
    """The Lab that a word of PAPER_COLOURS or a colour states, and whether it was measured.

    `known` are names that it may have been mistyped for.

    Raises
    ------
    UnknownSwatchError
        Where it is neither.
    InputError
        Where it is a malformed colour.
    """
    wanted = text.strip()
    if wanted.casefold() in PAPER_COLOURS:
        return PAPER_COLOURS[wanted.casefold()], False
    from stopgap.colorimetry import parse_colour

    lab = parse_colour(wanted)
    if lab is None:
        near = nearest_spellings(wanted, [*PAPER_COLOURS, *known])
        raise UnknownSwatchError(
            f"No paper is called {wanted!r}.{near} Expected a paper of yours, a word "
            f"({', '.join(PAPER_COLOURS)}) or a colour, #rrggbb or lab(96 0 2).",
            remedy=Remedy.KEEP_PAPER,
        )
    L, a, b = (float(value) for value in lab)
    return (L, a, b), True


def known_paper(name: str, papers: Sequence[Paper]) -> Paper:
    """The paper of the drawer of that name, in any case.

    Raises
    ------
    UnknownSwatchError
        Naming the nearest spellings.
    """
    for paper in papers:
        if paper.name.casefold() == name.strip().casefold():
            return paper
    names = [paper.name for paper in papers]
    raise UnknownSwatchError(
        f"No paper of yours is called {name!r}.{nearest_spellings(name, names)}",
        remedy=Remedy.KEEP_PAPER,
    )


def paper_asked(papers: Sequence[Paper], on: str | None = None) -> Paper | None:
    """The paper that `on` calls, else the default of the drawer; None where there is neither."""
    if on is not None:
        return find_paper(on, papers)
    return next((paper for paper in papers if paper.default), None)


def paper_called(name: str, papers: Sequence[Paper]) -> Paper | None:
    """The paper of the drawer that is or was called so, in any case; None where there is none."""
    wanted = name.strip().casefold()
    return next((paper for paper in papers if wanted and wanted in paper.names), None)


def keep_paper(library: Library, paper: Paper, *, instead_of: str = "") -> None:
    """Put a paper into the drawer, or change the one called `instead_of`, in one change.

    A new name goes to every swatch that lies on it, and the former one stays known, so that files
    may still use it. At most one is the default.

    Raises
    ------
    InputError
        If another paper bears the name, or it is empty.
    UnknownSwatchError
        If there is none to change.
    """
    papers = stored_papers(library)
    before = known_paper(instead_of, papers) if instead_of else None
    name = paper.name.strip()
    if not name:
        raise InputError("The name of a paper is empty; expected a name.")
    if any(one.name.casefold() == name.casefold() for one in papers if one != before):
        raise InputError(f"A paper called {name!r} is in the drawer already; take another name.")
    what = f"editing the paper {before.name}" if before else f"adding the paper {name}"
    with library.changing(what) as connection:
        if before is not None and before.name != name:
            _rename(connection, before.name, name)
            paper = paper._replace(former=(*before.former, before.name))
        for one in papers:  # a name belongs to the paper that bears it last
            if one != before and name.casefold() in one.names:
                _write(connection, _without_former(one, name), one.name)
        if paper.default:
            connection.execute("UPDATE paper SET is_default = 0 WHERE is_default")
        _write(connection, _without_former(paper._replace(name=name), name), instead_of)


def bare_papers(library: Library) -> dict[str, tuple[float, float, float]]:
    """The bare paper of each range that was measured with one, by its name."""
    from stopgap.library.store.entry import paper_from_json

    with library.reading() as connection:
        rows = connection.execute("SELECT name, paper FROM colour_range WHERE paper IS NOT NULL")
        return {row["name"]: paper_from_json(row["paper"]).lab for row in rows}


def remove_paper(library: Library, name: str) -> Paper:
    """Take a paper and what was learnt of it out of the drawer; swatches keep its name.

    Raises
    ------
    UnknownSwatchError
        If there is no such paper.
    """
    paper = known_paper(name, stored_papers(library))
    with library.changing(f"removal of the paper {paper.name}") as connection:
        connection.execute("DELETE FROM paper WHERE name = ?", (paper.name,))
    return paper


def as_in_drawer(swatch: Swatch, papers: Sequence[Paper]) -> Swatch:
    """A swatch whose paper is called as the drawer calls it now."""
    from dataclasses import replace

    if not swatch.paper or not papers:
        return swatch
    wanted = swatch.paper.casefold()
    current = {paper.name.casefold() for paper in papers}
    names = {name: one.name for one in papers for name in one.names if name not in current}
    return replace(swatch, paper=names[wanted]) if wanted in names else swatch


def _without_former(paper: Paper, name: str) -> Paper:
    kept = (former for former in paper.former if former.casefold() != name.casefold())
    return paper._replace(former=tuple(dict.fromkeys(kept)))


def _rename(connection: sqlite3.Connection, before: str, name: str) -> None:
    """Let swatches, and what the user decided of them, follow a paper's new name."""
    for table in _LAID:
        connection.execute(
            f"UPDATE {table} SET paper = ? WHERE paper = ? COLLATE NOCASE", (name, before)
        )
    connection.execute(
        "UPDATE decision SET value = ? WHERE field = 'paper' AND value = ? COLLATE NOCASE",
        (name, before),
    )


def _write(connection: sqlite3.Connection, paper: Paper, instead_of: str) -> None:
    values = {
        "name": paper.name,
        "former": json.dumps(paper.former, ensure_ascii=False),
        **dict(zip(("lightness", "a", "b"), paper.lab, strict=True)),
        "measured": int(paper.measured),
        "grain": paper.grain,
        "is_default": int(paper.default),
    }
    if instead_of:
        assignments = ", ".join(f"{column} = ?" for column in values)
        connection.execute(
            f"UPDATE paper SET {assignments} WHERE name = ?", (*values.values(), instead_of)
        )
    else:
        connection.execute(
            f"INSERT INTO paper ({', '.join(values)}) VALUES ({', '.join('?' * len(values))})",
            tuple(values.values()),
        )


def check_paper(row: Mapping[str, Any] | sqlite3.Row) -> None:
    """Raise what is wrong with a row of the drawer."""
    TEXT.check([row["name"], row["grain"]], "name")
    for column in LAB:
        COORDINATE.check([row[column]], column)
    TEXT.check(json.loads(row["former"]), "former")
    if None in [row[column] for column in LAB] or row["grain"] not in ("", *map(str, GRAINS)):
        raise ValueError(row["grain"])


def _paper(row: sqlite3.Row) -> Paper:
    return Paper(
        (row["lightness"], row["a"], row["b"]),
        bool(row["measured"]),
        row["name"],
        row["grain"],
        tuple(json.loads(row["former"])),
        bool(row["is_default"]),
    )


def stored_calibration(library: Library, paper: str = "") -> LayingConditions | None:
    """What the last calibration on a paper of the drawer found, or on none; None before any."""
    with library.reading() as connection:
        row = connection.execute(
            f"SELECT hand FROM calibration WHERE {_OF_PAPER} ORDER BY id DESC LIMIT 1", (paper,)
        ).fetchone()
        return None if row is None else laying_from_json(row["hand"])


def keep_calibration(library: Library, found: LayingConditions, paper: str = "") -> None:
    """Store what a calibration on a paper found, in the place of the one before on it."""
    text = json.dumps(
        {
            "tooth": found.tooth,
            "trapping": found.trapping,
            "spreads": found.spreads._asdict(),
            "loads": dict(found.loads),
            "opacity": dict(found.opacity),
            "paper": found.paper,
            "swatch_paper": found.swatch_paper,
            "samples": found.samples,
        }
    )
    on = f" on {paper}" if paper else ""
    with library.changing(f"calibration{on} on {found.samples} layered swatches") as connection:
        connection.execute(f"DELETE FROM calibration WHERE {_OF_PAPER}", (paper,))
        connection.execute(
            "INSERT INTO calibration (hand, paper_id)"
            " VALUES (?, (SELECT id FROM paper WHERE name = ?))",
            (text, paper),
        )


def forget_calibration(library: Library, paper: str = "") -> None:
    """Go back to the estimates on a paper of the drawer, or on none.

    Raises
    ------
    NothingFoundError
        If there is no calibration.
    """
    on = f" on {paper}" if paper else ""
    if stored_calibration(library, paper) is None:
        raise NothingFoundError(f"There is no calibration{on} to forget.")
    with library.changing(f"forgetting the calibration{on}") as connection:
        connection.execute(f"DELETE FROM calibration WHERE {_OF_PAPER}", (paper,))
