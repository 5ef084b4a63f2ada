"""Swatches and targets in JSON."""

from typing import Any

from stopgap.swatches import Swatch, Target


def swatch_data(swatch: Swatch) -> dict[str, Any]:
    """A swatch in JSON, everywhere the same fields."""
    return {
        "range": swatch.range,
        "code": swatch.code,
        "name": swatch.name,
        "lab": list(swatch.lab),
        "owned": swatch.owned,
        "status": str(swatch.status),
    }


def target_data(target: Target) -> dict[str, Any]:
    """A target in JSON: a swatch, or label and Lab of a free colour."""
    if isinstance(target, Swatch):
        return swatch_data(target)
    return {"label": target.label, "lab": list(target.lab)}
