"""The colour of a swatch as it was entered, and what was measured beside it, to JSON and back."""

import json
from collections.abc import Iterable, Mapping
from dataclasses import asdict
from enum import StrEnum
from functools import lru_cache
from math import isfinite
from typing import TYPE_CHECKING, Any, NamedTuple

from stopgap.swatches import (
    Bandpass,
    Covariance,
    MeasurementConditions,
    MeasurementMode,
    Readings,
)

if TYPE_CHECKING:
    from sqlite3 import Row

    from stopgap.swatches import (
        Arrangement,
        LayingConditions,
        Paper,
        RangeCorrection,
        Scattering,
        Spreads,
    )


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
            values=_finite(stated["values"]),
            wavelengths=_finite(stated["wavelengths"]),
            text=str(stated["text"]),
            white=str(stated["white"]),
            observer=int(stated["observer"]),
            readings=tuple(cls._from_plain(reading) for reading in stated.get("readings", ())),
        )


def _finite(values: Any) -> tuple[float, ...]:
    numbers = tuple(map(float, values))
    if not all(map(isfinite, numbers)):
        raise ValueError(values)
    return numbers


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
    for name, value in stated.items():
        if type(value) not in (int, bool, type(None) if name == "observer" else str, str):
            raise ValueError(name)
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
    if not (isfinite(L) and isfinite(a) and isfinite(b)):
        raise ValueError(values)
    return (L, a, b)


def extra_from_json(text: str) -> dict[str, str]:
    """The columns of a file that stopgap does not know, each a text."""
    if text == "{}":
        return {}
    stated: dict[str, str] = json.loads(text)
    _check_texts([*stated.keys(), *stated.values()])
    return stated


def mapping_from_json(text: str | None) -> tuple[dict[str, str], frozenset[str]]:
    """What the columns of a range's file were agreed to hold, and the causes that were accepted."""
    if text is None:
        return {}, frozenset()
    stated = json.loads(text)
    columns, accepted = dict(stated["columns"].items()), list(stated["accepted"])
    _check_texts([text, *columns.keys(), *columns.values(), *accepted])
    return columns, frozenset(accepted)


def arrangement_from_row(row: "Mapping[str, Any] | Row") -> "Arrangement":
    """The user's own families."""
    from stopgap.swatches import Arrangement

    found = Arrangement.from_data(row["name"], json.loads(row["families"]), fills=row["fills"] == 1)
    step = row["step"]
    found = found if step is None else found._replace(step=float(step))
    _check_texts([found.name, *(place for place in found.by_pencil())])
    for family in found.families:
        _check_texts([family.name, family.section, family.note, *family.also])
    return found


def _check_texts(values: Iterable[Any]) -> None:
    if not all(isinstance(value, str) for value in values):
        raise ValueError(values)


def laying_from_json(text: str) -> "LayingConditions":
    """What a calibration found, as it is stored."""
    from stopgap.swatches import LayingConditions, Pressure

    stated = json.loads(text)
    return LayingConditions(
        tooth=float(stated["tooth"]),
        trapping=float(stated.get("trapping", 0.0)),
        spreads=_spreads(stated),
        loads={str(pressure): float(stated["loads"][pressure]) for pressure in Pressure},
        opacity=_opacity(stated["opacity"]),
        paper=_lab(stated["paper"]),
        swatch_paper=_lab(stated["swatch_paper"]),
        samples=int(stated["samples"]),
    )


def _spreads(stated: dict[str, Any]) -> "Spreads":
    """What older libraries learnt of tooth and loads knew nothing of trapping, so all of it was in
    these.
    """
    from stopgap.swatches import Spreads

    if "spreads" in stated:
        return Spreads(**{name: float(value) for name, value in stated["spreads"].items()})
    return Spreads(float(stated["tooth_spread"]), 0.0, float(stated["load_spread"]))


def _opacity(stated: dict[str, object]) -> "dict[str, Scattering]":
    """By address; what older libraries held of whole ranges told nothing of a pencil."""
    from stopgap.swatches import Scattering

    return {
        address: Scattering(*(float(value) for value in values))
        for address, values in stated.items()
        if isinstance(values, list)
    }
