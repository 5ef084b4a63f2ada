"""The calibrated hand in the library."""

import json

from stopgap.errors import NothingFoundError
from stopgap.library.store.library import Library
from stopgap.swatches import LayingConditions


def stored_hand(library: Library) -> LayingConditions | None:
    """The hand that the last calibration found; None before any."""
    with library.reading() as connection:
        row = connection.execute("SELECT hand FROM calibration ORDER BY id DESC LIMIT 1").fetchone()
        return None if row is None else _from_json(row["hand"])


def keep_hand(library: Library, hand: LayingConditions) -> None:
    """Store what a calibration found, in the place of the one before."""
    text = json.dumps(
        {
            "tooth": hand.tooth,
            "tooth_spread": hand.tooth_spread,
            "load_spread": hand.load_spread,
            "loads": dict(hand.loads),
            "opacity": dict(hand.opacity),
            "paper": hand.paper,
            "swatch_paper": hand.swatch_paper,
            "samples": hand.samples,
        }
    )
    with library.changing(f"calibration on {hand.samples} layered swatches") as connection:
        connection.execute("DELETE FROM calibration")
        connection.execute("INSERT INTO calibration (hand) VALUES (?)", (text,))


def forget_hand(library: Library) -> None:
    """Go back to the estimates.

    Raises
    ------
    NothingFoundError
        If there is no calibration.
    """
    if stored_hand(library) is None:
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
        opacity={str(name): float(power) for name, power in stated["opacity"].items()},
        paper=_lab(stated["paper"]),
        swatch_paper=_lab(stated["swatch_paper"]),
        samples=int(stated["samples"]),
    )


def _lab(values: list[float]) -> tuple[float, float, float]:
    L, a, b = (float(value) for value in values)
    return (L, a, b)
