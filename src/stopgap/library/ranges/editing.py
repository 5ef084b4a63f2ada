"""What the user says of a pencil by hand, for a new swatch or over what the file says."""

from dataclasses import dataclass, fields, replace
from typing import Any

from stopgap.colorimetry import parse_colour
from stopgap.errors import InputError
from stopgap.library.store.library import Library
from stopgap.library.store.rows import DECIDABLE, row_from_swatch
from stopgap.swatches import (
    SOURCE_UNCERTAINTY,
    Core,
    Finish,
    Lightfastness,
    Source,
    Status,
    Swatch,
)


@dataclass(frozen=True, slots=True)
class Facts:
    """Fields of a Swatch that were stated; None is what was not."""

    lab: tuple[float, float, float] | None = None
    name: str | None = None
    owned: bool | None = None
    status: Status | None = None
    finish: Finish | None = None
    core: Core | None = None
    lightfastness: Lightfastness | None = None
    price: float | None = None
    laydown: int | None = None
    source: Source | None = None
    uncertainty: float | None = None
    paper: str | None = None
    note: str | None = None

    def over(self, swatch: Swatch) -> Swatch:
        """`swatch` with the stated facts; a stated source brings its own uncertainty."""
        stated: dict[str, Any] = {
            field.name: getattr(self, field.name)
            for field in fields(self)
            if getattr(self, field.name) is not None
        }
        if self.source is not None and self.uncertainty is None:
            stated["uncertainty"] = SOURCE_UNCERTAINTY[self.source]
        return replace(swatch, **stated)

    def columns_over(self, swatch: Swatch) -> dict[str, Any]:
        """The columns of the library in which `over` differs from `swatch`."""
        before, after = row_from_swatch(swatch), row_from_swatch(self.over(swatch))
        changed = {name: after[name] for name in DECIDABLE if before[name] != after[name]}
        if self.lab is not None:
            # a colour is decided as a whole, even where one number stays
            changed.update({name: after[name] for name in ("lightness", "a", "b")})
        return changed


def edit_swatch(
    library: Library, swatch: Swatch, facts: Facts, *, as_imported: bool = False
) -> bool:
    """Set what was stated of a swatch, in one change; whether anything is different now.

    With `as_imported`, what the user had decided is forgotten first, so that what the file says
    lies beneath what is stated.
    """
    beneath = library.as_imported(swatch) if as_imported else swatch
    values = facts.columns_over(beneath)
    so_already = values == library.decisions(swatch) if as_imported else not values
    if so_already:
        return False
    what = f"editing {swatch.address}" if values else f"taking {swatch.address} as imported"
    library.decide([swatch], values, what, afresh=as_imported)
    return True


def stated_lab(
    lab: tuple[float, float, float] | None, hex_text: str | None
) -> tuple[float, float, float] | None:
    """The colour stated as Lab or as hex; None where neither was.

    Raises
    ------
    InputError
        If both were stated, or the colour is malformed or out of range.
    """
    if lab is not None and hex_text is not None:
        raise InputError("--lab and --hex: state the colour in one way.")
    if hex_text is not None:
        text = hex_text if hex_text.startswith("#") else f"#{hex_text}"
        found = parse_colour(text)
    elif lab is not None:
        found = parse_colour("lab({!r} {!r} {!r})".format(*lab))
    else:
        return None
    if found is None:
        raise InputError(f"{hex_text or lab}: expected a colour, #rrggbb or L a b.")
    L, a, b = (float(value) for value in found)
    return (L, a, b)
