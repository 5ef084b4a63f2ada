"""What the user's own layered swatches taught, kept in the library."""

import json

from stopgap.errors import NothingFoundError
from stopgap.library.store.entry import laying_from_json
from stopgap.library.store.library import Library
from stopgap.swatches import LayingConditions

_OF_PAPER = "coalesce((SELECT name FROM paper WHERE id = paper_id), '') = ?"
"""The row of a paper of the drawer, or of no paper where the name is empty."""


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
