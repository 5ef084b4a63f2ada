"""The colour of a swatch as it was entered, and what was measured beside it, to JSON and back."""

import json
from dataclasses import asdict
from enum import StrEnum
from functools import lru_cache
from typing import TYPE_CHECKING, Any, NamedTuple

from stopgap.swatches import (
    Bandpass,
    Covariance,
    MeasurementConditions,
    MeasurementMode,
    Readings,
)

if TYPE_CHECKING:
    from stopgap.swatches import Paper, RangeCorrection


class EntryKind(StrEnum):
    """What was entered."""

    LAB = "lab"
    XYZ = "xyz"
    HEX = "hex"
    SPECTRUM = "spectrum"
    NOTHING = "nothing"
    """A name was entered, whose colour is not known."""


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


_PLAIN = MeasurementConditions()


def conditions_to_json(conditions: MeasurementConditions) -> str:
    """Only what is stated, so that a later field does not make old rows look changed."""
    pairs = zip(conditions._fields, conditions, _PLAIN, strict=True)
    stated = {name: value for name, value, plain in pairs if value != plain}
    return json.dumps(stated, ensure_ascii=False)


@lru_cache(maxsize=256)  # the swatches of a range mostly share them
def conditions_from_json(text: str) -> MeasurementConditions:
    """As `conditions_to_json` wrote it."""
    stated = json.loads(text)
    if "mode" in stated:
        stated["mode"] = MeasurementMode(stated["mode"])
    if "bandpass" in stated:
        stated["bandpass"] = Bandpass(stated["bandpass"])
    return MeasurementConditions(**{**stated, "assumed": bool(stated.get("assumed", False))})


def readings_to_json(readings: Readings | None) -> str | None:
    """Every reading, the places of those left out, and the spread."""
    return None if readings is None else json.dumps(asdict(readings))


def readings_from_json(text: str | None) -> Readings | None:
    """As `readings_to_json` wrote it."""
    if text is None:
        return None
    stated = json.loads(text)
    return Readings(
        labs=tuple(_lab(lab) for lab in stated["labs"]),
        left_out=tuple(int(place) for place in stated["left_out"]),
        spread=matrix(stated["spread"]),
    )


def covariance_to_json(covariance: Covariance | None) -> str | None:
    """The three rows."""
    return None if covariance is None else json.dumps(covariance)


def covariance_from_json(text: str | None) -> Covariance | None:
    """As `covariance_to_json` wrote it."""
    return None if text is None else matrix(json.loads(text))


def paper_from_json(text: str | None) -> "Paper":
    """The measured paper of a range, or the default white."""
    from stopgap.swatches import Paper

    return Paper() if text is None else Paper(_lab(json.loads(text)), measured=True)


@lru_cache(maxsize=256)
def shift_from_json(text: str) -> tuple[float, float, float]:
    """What is added to each L*, a*, b* of a range."""
    return _lab(json.loads(text))


@lru_cache(maxsize=256)
def corrections_from_json(text: str | None, shift: str) -> "tuple[RangeCorrection, ...]":
    """What is done to the colours of a range, one after the other; of old a shift alone."""
    offset = shift_from_json(shift)
    if text is None and not any(offset):
        return ()
    from stopgap.swatches import RangeCorrection

    if text is None:
        return (RangeCorrection(offset=offset),)
    return tuple(map(RangeCorrection.from_json, json.loads(text)))


def matrix(rows: Any) -> Covariance:
    """Three rows of three numbers as a covariance."""
    first, second, third = (_lab(row) for row in rows)
    return (first, second, third)


def _lab(values: Any) -> tuple[float, float, float]:
    L, a, b = (float(value) for value in values)
    return (L, a, b)
