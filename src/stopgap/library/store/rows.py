"""Rows of the library file to swatches and back."""

import json
from collections.abc import Mapping
from typing import Any

from stopgap.library.store import measurements
from stopgap.library.store.entry import Entry, EntryKind
from stopgap.swatches import (
    Core,
    Finish,
    Lightfastness,
    LightfastnessScale,
    MeasurementConditions,
    Reflectance,
    Source,
    Status,
    Swatch,
)

DECIDABLE = (
    "name",
    "lightness",
    "a",
    "b",
    "owned",
    "status",
    "finish",
    "core",
    "lightfastness",
    "lightfastness_scale",
    "price",
    "laydown",
    "source",
    "uncertainty",
    "paper",
    "note",
)
"""Columns of a swatch that the user may override; the file's own value stays beneath."""


def swatch_from_row(row: Mapping[str, Any], decided: Mapping[str, Any]) -> Swatch:
    """The swatch as the user sees it: the file's row under the user's decisions."""
    value = {**row, **decided}
    scale = value["lightfastness_scale"]
    lab = (value["lightness"], value["a"], value["b"])
    # a colour decided by hand leaves behind what was measured of the file's
    by_hand = "lightness" in decided
    shift = measurements.shift_from_json(value["shift"])
    shifted = any(shift) and not (by_hand or value["by_hand"])
    even = by_hand or "uncertainty" in decided or "source" in decided
    return Swatch(
        range=value["range"],
        code=value["code"],
        lab=(lab[0] + shift[0], lab[1] + shift[1], lab[2] + shift[2]) if shifted else lab,
        name=value["name"],
        owned=bool(value["owned"]),
        status=Status(value["status"]),
        finish=Finish(value["finish"]),
        core=Core(value["core"]) if value["core"] else None,
        lightfastness=(
            Lightfastness(LightfastnessScale(scale), value["lightfastness"]) if scale else None
        ),
        price=value["price"],
        laydown=value["laydown"],
        source=Source(value["source"]),
        uncertainty=value["uncertainty"],
        paper=value["paper"],
        note=value["note"],
        # nor does a correction of Lab say what it would be at each wavelength
        reflectance=None if by_hand or shifted else _reflectance(value["entry"]),
        measurement=(
            MeasurementConditions()
            if by_hand
            else measurements.conditions_from_json(value["measurement"])
        ),
        readings=None if by_hand else measurements.readings_from_json(value["readings"]),
        covariance=None if even else measurements.covariance_from_json(value["covariance"]),
        extra={} if value["extra"] == "{}" else json.loads(value["extra"]),
    )


def row_from_swatch(swatch: Swatch) -> dict[str, Any]:
    """Column values of a swatch, all but its place in the range and the colour as entered."""
    lightness, a, b = swatch.lab
    rating = swatch.lightfastness
    return {
        "code": swatch.code,
        "name": swatch.name,
        "lightness": lightness,
        "a": a,
        "b": b,
        "owned": int(swatch.owned),
        "status": str(swatch.status),
        "finish": str(swatch.finish),
        "core": str(swatch.core) if swatch.core else None,
        "lightfastness": rating.rating if rating else None,
        "lightfastness_scale": str(rating.scale) if rating else None,
        "price": swatch.price,
        "laydown": swatch.laydown,
        "source": str(swatch.source),
        "uncertainty": swatch.uncertainty,
        "paper": swatch.paper,
        "note": swatch.note,
        "measurement": measurements.conditions_to_json(swatch.measurement),
        "readings": measurements.readings_to_json(swatch.readings),
        "covariance": measurements.covariance_to_json(swatch.covariance),
        "extra": json.dumps(dict(swatch.extra), ensure_ascii=False),
    }


def _reflectance(text: str) -> Reflectance | None:
    if EntryKind.SPECTRUM not in text:  # most have none, and reading an entry takes its time
        return None
    entry = Entry.from_json(text)
    if entry.kind is not EntryKind.SPECTRUM:
        return None
    return Reflectance(entry.wavelengths, entry.values)
