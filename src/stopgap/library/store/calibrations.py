"""What the user's own layered swatches taught, kept in the library."""

import json
from typing import Any

from stopgap.errors import NothingFoundError
from stopgap.library.store.library import Library
from stopgap.swatches import LayingConditions, Scattering, Spreads

_OF_PAPER = "coalesce((SELECT name FROM paper WHERE id = paper_id), '') = ?"
"""The row of a paper of the drawer, or of no paper where the name is empty."""


def stored_calibration(library: Library, paper: str = "") -> LayingConditions | None:
    """What the last calibration on a paper of the drawer found, or on none; None before any."""
    with library.reading() as connection:
        row = connection.execute(
            f"SELECT hand FROM calibration WHERE {_OF_PAPER} ORDER BY id DESC LIMIT 1", (paper,)
        ).fetchone()
        return None if row is None else _from_json(row["hand"])


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


def _from_json(text: str) -> LayingConditions:
    stated = json.loads(text)
    return LayingConditions(
        tooth=float(stated["tooth"]),
        trapping=float(stated.get("trapping", 0.0)),
        spreads=_spreads(stated),
        loads={str(name): float(load) for name, load in stated["loads"].items()},
        opacity=_opacity(stated["opacity"]),
        paper=_lab(stated["paper"]),
        swatch_paper=_lab(stated["swatch_paper"]),
        samples=int(stated["samples"]),
    )


def _spreads(stated: dict[str, Any]) -> Spreads:
    """What older libraries learnt of tooth and loads knew nothing of trapping, so all of it was in
    these.
    """
    if "spreads" in stated:
        return Spreads(**{name: float(value) for name, value in stated["spreads"].items()})
    return Spreads(float(stated["tooth_spread"]), 0.0, float(stated["load_spread"]))


def _opacity(stated: dict[str, object]) -> dict[str, Scattering]:
    """By address; what older libraries held of whole ranges told nothing of a pencil."""
    return {
        address: Scattering(*(float(value) for value in values))
        for address, values in stated.items()
        if isinstance(values, list)
    }


def _lab(values: list[float]) -> tuple[float, float, float]:
    L, a, b = (float(value) for value in values)
    return (L, a, b)
