"""A list of colours asked for, and the same list translated."""

import math
from dataclasses import dataclass, replace
from enum import StrEnum
from numbers import Real
from typing import NamedTuple

from stopgap.arrays import one_lab
from stopgap.difference import Promise
from stopgap.errors import InputError, Note
from stopgap.swatches import FreeColour, Lab, LaidStack, Swatch, Target, marks_of


@dataclass(frozen=True, slots=True)
class Asked:
    """One entry of a list. `target` is None where nobody knows what was meant; `note` says why.

    `caption` is what the list itself says of the entry, `stage` when it is laid. With `for_laydown`
    a pencil that lays badly is to be replaced by what lays better.
    """

    label: str
    target: Target | None
    weight: float = 1.0
    note: str = ""
    caption: str = ""
    paper: str = ""
    stage: str = ""
    for_laydown: bool = False

    def __post_init__(self) -> None:
        if not (isinstance(self.weight, Real) and 0.0 < self.weight < math.inf):
            raise InputError(f"{self.label!r}: the weight must be a number above 0.")
        if self.lab is not None:
            one_lab(self.lab, repr(self.label))

    @classmethod
    def of(cls, target: Target, weight: float = 1.0, *, for_laydown: bool = False) -> "Asked":
        """A colour, or a shade asked for by name, and why it is to be replaced where it is."""
        if isinstance(target, FreeColour):
            return cls(target.label, target, weight)
        gone = ["discontinued"] if target.discontinued else []
        asked = cls(target.address, target, weight, for_laydown=for_laydown)
        return (
            replace(asked, note=", ".join([*gone, *marks_of(target)])) if asked.instead else asked
        )

    @property
    def lab(self) -> Lab | None:
        """The colour asked for."""
        return None if self.target is None else self.target.lab

    @property
    def instead(self) -> str:
        """The address of the pencil that is to be replaced, and so is never given; "" for none."""
        target = self.target
        if not isinstance(target, Swatch):
            return ""
        return target.address if target.to_be_replaced or self.laid_badly else ""

    @property
    def laid_badly(self) -> Swatch | None:
        """The pencil that is to be replaced since it lays badly."""
        target = self.target if self.for_laydown else None
        return target if isinstance(target, Swatch) and target.lays_badly else None

    @property
    def key(self) -> tuple[object, ...]:
        """What entries are sorted by, so that the order of rows never decides anything."""
        return (self.lab, self.label, self.weight)


class Trade(StrEnum):
    """Why something nearer was passed over."""

    REPLACED = "replaced"
    """It is the very pencil that is to be replaced."""
    LAYDOWN = "laydown"
    """It is not known to lay better than the pencil that is to be replaced since it lays badly."""
    CORE = "core"
    """It is as near in words, and of another core than that pencil."""
    HUE = "hue"
    """Nothing is near, and it is of another hue."""
    NEEDED = "needed elsewhere"
    """Another colour gets it, or what is the same to the eye."""
    ORDER = "order"
    """What is clearly lighter would not have come out lighter."""
    TOGETHER = "one answer"
    """Colours that are the same to the eye get one answer, and the others are farther from it."""
    TIME = "time"
    """The time ran out before it was proved to be best."""


class PassedOver(NamedTuple):
    """Something `nearer` by so much ΔE than what is given, and why it is not given.

    `other` is the entry on whose account; `there` how far the other lies from it, and `without` how
    far at best from all that is given to nobody else.
    """

    laid: LaidStack
    delta_E: float
    nearer: float
    why: Trade
    other: Asked | None = None
    there: float | None = None
    without: float | None = None


@dataclass(frozen=True, slots=True)
class TranslatedRow:
    """One entry and what it gets.

    `nearest` is the nearest stack of all, whoever else wants it; `second` the nearest of other
    pencils than `given`. All are None where the colour is unknown or nothing was offered, `given`
    also where every result was needed elsewhere. `tied` says whether `given` and `second` cannot be
    told apart at the accuracy of the pencils; `by_hue` that all are so far off that hue ranked.
    `passed_over` are the nearest of those nearer than `given`, one for each pencil or pair.
    `grade_probability` is as in `doubt.grade_probabilities`; `promise` is how near what is given is
    said to be, in ΔE00, whatever the metric, and `words` how it differs from what is asked, empty
    where nothing is given.
    """

    asked: Asked
    given: LaidStack | None = None
    delta_E: float | None = None
    nearest: LaidStack | None = None
    nearest_delta_E: float | None = None
    second: LaidStack | None = None
    second_delta_E: float | None = None
    tied: bool = False
    by_hue: bool = False
    passed_over: tuple[PassedOver, ...] = ()
    grade_probability: float | None = None
    promise: Promise | None = None
    words: str = ""

    @property
    def cost_of_distinctness(self) -> float | None:
        """How much farther `given` lies than the nearest stack, in ΔE; 0 where it is as near."""
        if self.delta_E is None or self.nearest_delta_E is None:
            return None
        return self.delta_E - self.nearest_delta_E

    @property
    def grade(self) -> str | None:
        """The grade of what is promised."""
        return None if self.promise is None else self.promise.grade

    @property
    def likely_grade(self) -> str | None:
        """The grade of the ΔE00 between what is asked and what is given."""
        return None if self.promise is None else self.promise.likely_grade

    @property
    def likely_probability(self) -> float | None:
        """How surely it earns that grade, which is that of a pencil anyhow."""
        if self.promise is None or self.given is None or not self.given.recipe:
            return self.grade_probability
        return self.promise.likely_probability

    @property
    def reason(self) -> str:
        """Why nothing is given, empty where something is."""
        if self.given is not None:
            return ""
        if self.asked.lab is None:
            return self.asked.note or "nothing of that name is known"
        if self.nearest is None:
            if self.asked.laid_badly is not None:
                return "no pencil is known to lay better"
            return "there is no pencil to choose from"
        return "every pencil and recipe is needed for other colours of the list"


@dataclass(frozen=True, slots=True)
class Translation:
    """The list in the order asked.

    `impossible` are the rows that cannot really be had: unknown, or the nearest stack of all lies
    beyond the limit. `gap` is by how much less, weight times ΔE in sum, another answer could cost,
    where the time limit came before a proof; `notes` are of the pencils.
    """

    rows: tuple[TranslatedRow, ...]
    impossible: tuple[TranslatedRow, ...]
    gap: float = 0.0
    notes: tuple[Note, ...] = ()

    @property
    def proved(self) -> bool:
        """Whether no other answer is better."""
        return self.gap == 0.0

    @property
    def stages(self) -> dict[str, list[int]]:
        """The places of the rows by stage, stages in the order of the list; empty without any.

        Rows that stand before the first stage are under "".
        """
        found: dict[str, tuple[str, list[int]]] = {}
        for place, row in enumerate(self.rows):
            stage = row.asked.stage
            found.setdefault(stage.casefold(), (stage, []))[1].append(place)
        return dict(found.values()) if any(found) else {}

    @property
    def ranges(self) -> set[str]:
        """The ranges of the pencils asked for and given."""
        targets = (row.asked.target for row in self.rows)
        given = (pencil for row in self.rows if row.given for pencil in row.given.swatches)
        return {one.range for one in (*targets, *given) if isinstance(one, Swatch)}

    @property
    def without(self) -> tuple[TranslatedRow, ...]:
        """The rows that get nothing."""
        return tuple(row for row in self.rows if row.given is None)

    @property
    def worst(self) -> TranslatedRow | None:
        """The row with the largest ΔE, the first of them in the list."""
        served = [row for row in self.rows if row.delta_E is not None]
        return max(served, key=lambda row: row.delta_E or 0.0, default=None)

    @property
    def total(self) -> float:
        """Sum of weight times ΔE over the rows that get something."""
        return math.fsum(row.asked.weight * (row.delta_E or 0.0) for row in self.rows)

    @property
    def mean(self) -> float | None:
        """Weighted mean ΔE of the rows that get something, None where none does."""
        weights = [row.asked.weight for row in self.rows if row.delta_E is not None]
        return self.total / math.fsum(weights) if weights else None
