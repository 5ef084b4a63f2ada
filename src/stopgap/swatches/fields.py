"""What is known of a pencil, one row a field.

Files are read and written, the library stores, `swatch edit` decides and `range show` tells what
stands here, so a new text needs a row below, a migration that adds its column, and a line in the
manual's table of columns.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field, fields
from enum import StrEnum
from math import hypot
from types import MappingProxyType
from typing import Any, NamedTuple

from stopgap.swatches.kinds import (
    Colour,
    FieldKind,
    Number,
    OneOf,
    Rating,
    Reason,
    Text,
    WholeNumber,
    YesOrNo,
)
from stopgap.swatches.lightfastness import Lightfastness
from stopgap.swatches.measurement import Lab
from stopgap.swatches.sets import Sets, SoldSet


class Status(StrEnum):
    """Whether the maker still sells the shade."""

    CURRENT = "current"
    DISCONTINUED = "discontinued"


class Finish(StrEnum):
    """Plain colour, or one of the finishes whose look a single Lab value cannot tell."""

    PLAIN = "plain"
    METALLIC = "metallic"
    FLUORESCENT = "fluorescent"


class Core(StrEnum):
    """What binds the pigment."""

    WAX = "wax"
    OIL = "oil"
    WATER_SOLUBLE = "water-soluble"


class Opacity(StrEnum):
    """How much of what lies beneath a heavy layer hides, by the user's own judgement."""

    TRANSPARENT = "transparent"
    SEMI = "semi"
    COVERS = "covers"


class Stock(StrEnum):
    """How much of a pencil is left; none is where there never was one, or it was given away."""

    FULL = "full"
    HALF = "half"
    STUB = "stub"
    EMPTY = "empty"
    NONE = "none"


class Pressure(StrEnum):
    """How hard a pencil was laid."""

    LIGHT = "light"
    MEDIUM = "medium"
    HEAVY = "heavy"


class LaidState(StrEnum):
    """What was done to a layer once it was laid; two of them wet it."""

    DRY = "dry"
    WETTED = "wetted"
    SOLVENT = "solvent"
    BURNISHED = "burnished"

    @property
    def wet(self) -> bool:
        """Whether something liquid moved the pigment; such a colour says nothing of a dry one."""
        return self in (LaidState.WETTED, LaidState.SOLVENT)


class Source(StrEnum):
    """How the colour was had."""

    MEASURED = "measured"
    SCANNED = "scanned"
    TYPED = "typed"


class UncertaintyParts(NamedTuple):
    """Standard uncertainty (one sigma, ΔE00) of a colour: its own, and what it shares.

    What is shared is the same error for everything of one scan, or of one range that was read in
    one manner, and so drops out of differences within it.
    """

    own: float
    shared: float

    @property
    def total(self) -> float:
        """Both together, which are independent."""
        return hypot(self.own, self.shared)


SOURCE_UNCERTAINTY: Mapping[Source, UncertaintyParts] = MappingProxyType(
    {
        Source.MEASURED: UncertaintyParts(0.4, 0.3),
        Source.SCANNED: UncertaintyParts(0.8, 1.5),
        Source.TYPED: UncertaintyParts(1.0, 4.9),
    }
)
"""By the source: this project's defaults; of scanners that of a flatbed with colour filters."""

WRITTEN_FORMATS = ("CSV", "XLSX", "CGATS", "CxF")
"""The formats that a range is written in."""


class Field(NamedTuple):
    """One row: `about` is what the option that sets the field says, empty where there is none.

    `decidable` is what the user may set over the file's word; `formats` are those that the field
    is written to; `of_swatch` is what the swatches of one pencil may differ in.
    """

    name: str
    kind: FieldKind
    about: str
    decidable: bool
    formats: tuple[str, ...]
    of_swatch: bool

    @property
    def titles(self) -> tuple[str, ...]:
        """The columns of a file that hold it."""
        return self.kind.titles(self.name)

    @property
    def columns(self) -> tuple[str, ...]:
        """The columns of the library's table that hold it."""
        return self.kind.columns(self.name)

    def written(self, value: Any) -> tuple[str, ...]:
        """The cells of a value, empty where it is not known."""
        return ("",) * len(self.titles) if value is None else self.kind.written(value)


def _row(
    kind: FieldKind,
    about: str = "",
    *,
    decidable: bool = True,
    formats: tuple[str, ...] = WRITTEN_FORMATS,
    of_swatch: bool = False,
) -> Mapping[str, Any]:
    """All of a row but its name, for the attribute of that name to bear."""
    return {
        "kind": kind,
        "about": about,
        "decidable": decidable,
        "formats": formats,
        "of_swatch": of_swatch,
    }


_PRICE = Number(0.0, None, "a price of 0 or more, without a currency sign")
_LAYDOWN = WholeNumber(1, 5, "a whole number from 1 to 5")
_PASSES = WholeNumber(1, 99, "a whole number of passes, 1 or more")
_UNCERTAINTY = Number(0.0, 100.0, "a standard uncertainty in ΔE00, 0 to 100")


@dataclass(frozen=True, slots=True, init=False, repr=False, eq=False)
class PencilFields:
    """The table: each attribute but `range` is a row, and an empty cell is its default.

    `uncertainty` is one standard uncertainty in ΔE00 of the colour's own, `shared_uncertainty` what
    it shares with its scan or range, by default those of the source; one that is stated alone is
    all of it. `price` is in the `currency`, or in the unit the user thinks in, as
    are those of the `sets` that it is sold in; `laydown` is the
    user's own judgement from 1 (lays badly) to 5, `avoid` why the user would rather not use it,
    empty where there is nothing against it. `opacity` and `stock` are None where nobody said. From
    `paper` to `batch` stands what the swatch was, which the pencil's other swatches may differ in;
    `batch` parts two makes of one code. `also` are other names that it is found by; `section` is
    the heading that the swatch stood below, which may be another for each swatch.
    """

    range: str
    code: str = field(metadata=_row(Text(), decidable=False))
    lab: Lab = field(metadata=_row(Colour(), "CIE Lab, D50, 2 degree.", of_swatch=True))
    name: str = field(default="", metadata=_row(Text(), "What the pencil is called."))
    status: Status = field(
        default=Status.CURRENT,
        metadata=_row(OneOf(Status, always=True), "Whether it is still made."),
    )
    owned: bool = field(default=False, metadata=_row(YesOrNo()))
    finish: Finish = field(
        default=Finish.PLAIN,
        metadata=_row(OneOf(Finish, always=True), "Plain or a special finish."),
    )
    core: Core | None = field(default=None, metadata=_row(OneOf(Core), "What binds the pigment."))
    lightfastness: Lightfastness | None = field(
        default=None, metadata=_row(Rating(), "'ASTM II' or 'BWS 6'.")
    )
    price: float | None = field(default=None, metadata=_row(_PRICE, "Price, in your own unit."))
    laydown: int | None = field(default=None, metadata=_row(_LAYDOWN, "How well it lays, 1 to 5."))
    avoid: str = field(
        default="", metadata=_row(Reason(), "Why it is to be avoided; 'no' where it is not.")
    )
    stock: Stock | None = field(
        default=None, metadata=_row(OneOf(Stock), "How much of it is left.")
    )
    opacity: Opacity | None = field(
        default=None, metadata=_row(OneOf(Opacity), "How much of what lies beneath it hides.")
    )
    source: Source = field(
        default=Source.TYPED,
        metadata=_row(
            OneOf(Source, always=True), "How the colour was had.", formats=(), of_swatch=True
        ),
    )
    uncertainty: float = field(
        default=SOURCE_UNCERTAINTY[Source.TYPED].total,
        metadata=_row(_UNCERTAINTY, "Standard uncertainty of the colour in ΔE00.", of_swatch=True),
    )
    shared_uncertainty: float = field(
        default=0.0,
        metadata=_row(_UNCERTAINTY, "What it shares with the rest of its scan.", of_swatch=True),
    )
    paper: str = field(default="", metadata=_row(Text(), "Paper of the swatch.", of_swatch=True))
    pressure: Pressure = field(
        default=Pressure.HEAVY,
        metadata=_row(
            OneOf(Pressure, always=True), "How hard the swatch was laid.", of_swatch=True
        ),
    )
    passes: int = field(
        default=1, metadata=_row(_PASSES, "How many times it was laid over.", of_swatch=True)
    )
    state: LaidState = field(
        default=LaidState.DRY,
        metadata=_row(
            OneOf(LaidState, always=True), "What was done to it once laid.", of_swatch=True
        ),
    )
    batch: str = field(
        default="", metadata=_row(Text(), "Which make of the pencil, old or new.", of_swatch=True)
    )
    also: str = field(
        default="", metadata=_row(Text(), "Other and old names, with ; between them.")
    )
    section: str = field(
        default="",
        metadata=_row(Text(), "The heading that it stands below in its range.", of_swatch=True),
    )
    sets: tuple[SoldSet, ...] = field(
        default=(),
        metadata=_row(Sets(), "Sets that it is sold in: 'Shore = 18.50; Large tin = 60'."),
    )
    currency: str = field(default="", metadata=_row(Text(), "What the price is in, such as 'EUR'."))
    note: str = field(default="", metadata=_row(Text(), "A note of your own."))


FIELDS: Mapping[str, Field] = MappingProxyType(
    {each.name: Field(each.name, **each.metadata) for each in fields(PencilFields) if each.metadata}
)
"""The rows by name, in the order in which answers and files have them."""


def uncertainty_stated(stated: Mapping[str, Any], source: Source) -> dict[str, float]:
    """Both parts of the uncertainty: as stated, what is stated alone being all, else the source's.

    >>> uncertainty_stated({"uncertainty": 0.7}, Source.MEASURED)
    {'uncertainty': 0.7, 'shared_uncertainty': 0.0}
    """
    own, shared = SOURCE_UNCERTAINTY[source]
    if "uncertainty" in stated:
        shared = 0.0
    return {
        "uncertainty": stated.get("uncertainty", own),
        "shared_uncertainty": stated.get("shared_uncertainty", shared),
    }
