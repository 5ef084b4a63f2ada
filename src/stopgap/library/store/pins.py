"""The user's own filing of swatches into families, kept in the library."""

from collections.abc import Mapping
from dataclasses import dataclass

from stopgap.errors import InputError, NothingFoundError
from stopgap.library.store.library import Library
from stopgap.library.store.rows import swatch_id
from stopgap.swatches import Swatch

_SELECT = """
    SELECT filed_range.name AS range, filed.code, pin.family,
           after_range.name AS after_range, after.code AS after_code
    FROM pin
    JOIN swatch AS filed ON filed.id = pin.swatch_id
    JOIN colour_range AS filed_range ON filed_range.id = filed.range_id
    LEFT JOIN swatch AS after ON after.id = pin.after_id
    LEFT JOIN colour_range AS after_range ON after_range.id = after.range_id
    ORDER BY pin.id
"""


@dataclass(frozen=True, slots=True)
class StoredPin:
    """Into `family`, straight after the swatch of that address if one is named."""

    family: str
    after: str | None = None


def stored_pins(library: Library) -> dict[str, StoredPin]:
    """Every pin by the address of its swatch."""
    with library.reading() as connection:
        return {
            f"{row['range']}:{row['code']}": StoredPin(
                row["family"],
                f"{row['after_range']}:{row['after_code']}" if row["after_code"] else None,
            )
            for row in connection.execute(_SELECT)
        }


def pin_swatch(library: Library, swatch: Swatch, family: str, after: Swatch | None) -> None:
    """File a swatch where the user sees it.

    Raises
    ------
    InputError
        If it should stand after itself, or after one that stands after it.
    """
    if after is not None:
        _refuse_circle(swatch.address, family, after.address, stored_pins(library))
    with library.changing(f"filing {swatch.address} under {family}") as connection:
        after_id = None if after is None else swatch_id(connection, after)
        connection.execute(
            "INSERT INTO pin (swatch_id, family, after_id) VALUES (?, ?, ?)"
            " ON CONFLICT (swatch_id) DO UPDATE"
            " SET family = excluded.family, after_id = excluded.after_id",
            (swatch_id(connection, swatch), family, after_id),
        )


def unpin_swatch(library: Library, swatch: Swatch) -> None:
    """Let the colour file a swatch again.

    Raises
    ------
    NothingFoundError
        If the user never filed it.
    """
    with library.changing(f"letting the colour file {swatch.address}") as connection:
        gone = connection.execute(
            "DELETE FROM pin WHERE swatch_id = ?", (swatch_id(connection, swatch),)
        )
        if not gone.rowcount:
            raise NothingFoundError(f"{swatch.address} is filed by its colour already.")


def _refuse_circle(
    address: str, family: str, after: str | None, pins: Mapping[str, StoredPin]
) -> None:
    """Follow who stands after whom in the family, from `after` on; it must not lead back."""
    if after == address:
        raise InputError(f"{address} cannot stand after itself. Name another swatch.")
    passed = [address]
    while after is not None and after not in passed:
        passed.append(after)
        pin = pins.get(after)
        after = pin.after if pin is not None and pin.family == family else None
        if after == address:
            chain = ", which stands after ".join([*passed[2:], address])
            raise InputError(
                f"{address} cannot stand after {passed[1]}, which stands after {chain} already. "
                f"Move {passed[1]} elsewhere or let its colour file it first."
            )
