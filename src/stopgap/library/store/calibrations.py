"""What the user's own layered swatches taught, kept in the library."""

import json

from stopgap.errors import NothingFoundError
from stopgap.library.store.library import Library
from stopgap.swatches import LayingConditions, Scattering


def stored_calibration(library: Library) -> LayingConditions | None:
    """The laying conditions that the last calibration found; None before any."""
    with library.reading() as connection:
        row = connection.execute("SELECT hand FROM calibration ORDER BY id DESC LIMIT 1").fetchone()
        return None if row is None else _from_json(row["hand"])


def keep_calibration(library: Library, found: LayingConditions) -> None:
    """Store what a calibration found, in the place of the one before."""
    text = json.dumps(
        {
            "tooth": found.tooth,
            "tooth_spread": found.tooth_spread,
            "load_spread": found.load_spread,
            "loads": dict(found.loads),
            "opacity": dict(found.opacity),
            "paper": found.paper,
            "swatch_paper": found.swatch_paper,
            "samples": found.samples,
        }
    )
    with library.changing(f"calibration on {found.samples} layered swatches") as connection:
        connection.execute("DELETE FROM calibration")
        connection.execute("INSERT INTO calibration (hand) VALUES (?)", (text,))


def forget_calibration(library: Library) -> None:
    """Go back to the estimates.

    Raises
    ------
    NothingFoundError
        If there is no calibration.
    """
    if stored_calibration(library) is None:
        raise NothingFoundError("There is no calibration to forget.")
    with library.changing("forgetting the calibration") as connection:
        connection.execute("DELETE FROM calibration")


def _from_json(text: str) -> LayingConditions:
    stated = json.loads(text)
    return LayingConditions(
        tooth=float(stated["tooth"]),
        tooth_spread=float(stated["tooth_spread"]),
        load_spread=float(stated["load_spread"]),
        loads={str(name): float(load) for name, load in stated["loads"].items()},
        opacity=_opacity(stated["opacity"]),
        paper=_lab(stated["paper"]),
        swatch_paper=_lab(stated["swatch_paper"]),
        samples=int(stated["samples"]),
    )


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
