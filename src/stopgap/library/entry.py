"""The colour of a swatch as it was entered, kept beside the Lab it was converted to."""

import json
from dataclasses import dataclass
from enum import StrEnum


class EntryKind(StrEnum):
    """What was entered."""

    LAB = "lab"
    XYZ = "xyz"
    HEX = "hex"
    SPECTRUM = "spectrum"


@dataclass(frozen=True, slots=True)
class Entry:
    """The numbers entered: L, a, b or X, Y, Z or reflectance factors; or a hex as `text`.

    `wavelengths` [nm] belong to a spectrum. `white` and `observer` are those of entered Lab and
    XYZ; a hex is sRGB, which brings its own white, and a spectrum has none.
    """

    kind: EntryKind
    values: tuple[float, ...] = ()
    wavelengths: tuple[float, ...] = ()
    text: str = ""
    white: str = "D50"
    observer: int = 2

    def to_json(self) -> str:
        """As it is stored."""
        return json.dumps({field: getattr(self, field) for field in _FIELDS})

    @classmethod
    def from_json(cls, text: str) -> "Entry":
        """As it was stored."""
        stated = json.loads(text)
        return cls(
            kind=EntryKind(stated["kind"]),
            values=tuple(float(value) for value in stated["values"]),
            wavelengths=tuple(float(value) for value in stated["wavelengths"]),
            text=str(stated["text"]),
            white=str(stated["white"]),
            observer=int(stated["observer"]),
        )


_FIELDS = ("kind", "values", "wavelengths", "text", "white", "observer")
