"""The colour of a swatch as it was entered, kept beside the Lab it was converted to."""

import json
from enum import StrEnum
from typing import Any, NamedTuple


class EntryKind(StrEnum):
    """What was entered."""

    LAB = "lab"
    XYZ = "xyz"
    HEX = "hex"
    SPECTRUM = "spectrum"


class Entry(NamedTuple):
    """The numbers entered: L, a, b or X, Y, Z or reflectance factors; or a hex as `text`.

    `wavelengths` [nm] belong to a spectrum. `white` and `observer` are those of entered Lab and
    XYZ; a hex is sRGB, which brings its own white, and a spectrum has none. `readings` are the
    entries that this one is the mean of.
    """

    kind: EntryKind
    values: tuple[float, ...] = ()
    wavelengths: tuple[float, ...] = ()
    text: str = ""
    white: str = "D50"
    observer: int = 2
    readings: tuple["Entry", ...] = ()

    def to_json(self) -> str:
        """As it is stored."""
        return json.dumps(self._plain())

    @classmethod
    def from_json(cls, text: str) -> "Entry":
        """As it was stored."""
        return cls._from_plain(json.loads(text))

    def _plain(self) -> dict[str, Any]:
        plain = {field: getattr(self, field) for field in _FIELDS}
        if self.readings:
            plain["readings"] = [reading._plain() for reading in self.readings]
        return plain

    @classmethod
    def _from_plain(cls, stated: dict[str, Any]) -> "Entry":
        return cls(
            kind=EntryKind(stated["kind"]),
            values=tuple(map(float, stated["values"])),
            wavelengths=tuple(map(float, stated["wavelengths"])),
            text=str(stated["text"]),
            white=str(stated["white"]),
            observer=int(stated["observer"]),
            readings=tuple(cls._from_plain(reading) for reading in stated.get("readings", ())),
        )


_FIELDS = ("kind", "values", "wavelengths", "text", "white", "observer")
