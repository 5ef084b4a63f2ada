"""A pencil and its swatches, the rule by which one of them is its colour, and ranges of pencils.

A question is about dry colour, so that a wetted swatch never answers it. Of the dry ones counts,
in this order: what is not burnished; the hardest pressure, since every prediction takes a swatch
for a heavy layer; the paper asked about; fewer passes; the latest date; the place in the file.
Pressure comes before paper because a model can put a heavy layer on another paper, while a light
one hides what a heavy one would look like.
"""

from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING, NamedTuple

from stopgap.errors import Note, Remedy
from stopgap.swatches.fields import FIELDS, LaidState, Pressure
from stopgap.swatches.stack import Paper
from stopgap.swatches.swatch import Swatch

if TYPE_CHECKING:
    from stopgap.swatches.correction import RangeCorrection

LAID_FIELDS = ("paper", "pressure", "passes", "state", "batch")
"""The fields, beside the date of the measurement, by which swatches of one pencil are told apart.
"""

OF_THE_PENCIL = tuple(
    name for name, row in FIELDS.items() if not row.of_swatch and name not in ("code", "owned")
)
"""The fields that all swatches of a pencil share and that may be stated with any of them."""

_PRESSURES = tuple(reversed(Pressure))  # heavy first


class Pencil(NamedTuple):
    """All swatches of one pencil, at least one; the first is the one that edits are about.

    One that has no colour stands alone: it is but a name, until a first swatch takes its place.
    """

    swatches: tuple[Swatch, ...]

    @property
    def first(self) -> Swatch:
        """The swatch that what the user sets by hand is said of."""
        return self.swatches[0]

    def colour(self, on: str = "") -> Swatch | None:
        """The swatch that is the pencil's colour on a paper; None where none is dry."""
        if len(self.swatches) == 1 and self.first.state is LaidState.DRY:
            # as most are, and all of a library are asked at every start
            return self.first if self.first.coloured else None
        return colour_of(self.swatches, on)


def colour_of(swatches: Sequence[Swatch], on: str = "") -> Swatch | None:
    """Which of one pencil's swatches is its colour, by the rule above; None where none is dry.

    `on` is the name of the paper asked about, in any case; where it is empty no paper is preferred.
    """
    dry = [swatch for swatch in swatches if swatch.coloured and not swatch.state.wet]
    if not dry:
        return None
    # sorting is stable: the latest date first, and among equals the place in the file
    latest = sorted(dry, key=lambda swatch: swatch.measurement.date, reverse=True)
    return min(
        latest,
        key=lambda swatch: (
            swatch.state is not LaidState.DRY,
            _PRESSURES.index(swatch.pressure),
            bool(on) and swatch.paper.casefold() != on.casefold(),
            swatch.passes,
        ),
    )


def laid_key(swatch: Swatch, *, dated: bool = True) -> tuple[str, ...]:
    """What no two swatches of a pencil share; without the date where readings of one are sought."""
    key = tuple(str(getattr(swatch, name)).casefold() for name in LAID_FIELDS)
    return (*key, swatch.measurement.date) if dated else key


def laid_words(swatch: Swatch) -> str:
    """How a swatch was laid, as far as it is not heavy, once and dry on a paper nobody named."""
    times = f"{swatch.passes} times over" if swatch.passes > 1 else ""
    words = [*departures(swatch), times]
    if swatch.paper:
        words.append(f"on {swatch.paper}")
    if swatch.batch:
        words.append(f"batch {swatch.batch}")
    return ", ".join(word for word in (*words, swatch.measurement.date) if word)


def departures(swatch: Swatch) -> tuple[str, ...]:
    """What makes a swatch another thing than a heavy dry layer, in words: `laid medium`."""
    laid = () if swatch.pressure is Pressure.HEAVY else (f"laid {swatch.pressure}",)
    return laid if swatch.state is LaidState.DRY else (*laid, str(swatch.state))


def departure_notes(swatches: Iterable[Swatch]) -> tuple[Note, ...]:
    """A sentence where colours are those of swatches that were not laid heavy and left dry."""
    told = {swatch.address: ", ".join(said) for swatch in swatches if (said := departures(swatch))}
    if not told:
        return ()
    listed = ", ".join(f"{address} ({said})" for address, said in list(told.items())[:_MOST_NAMED])
    more = f" and {len(told) - _MOST_NAMED} more" if len(told) > _MOST_NAMED else ""
    return (Note(f"Not swatched heavy and dry, so taken from the nearest: {listed}{more}."),)


def without_colour(pencils: Iterable[Pencil]) -> tuple[Swatch, ...]:
    """The first swatches of those with no dry one that has a colour: names, and what is wet."""
    return tuple(pencil.first for pencil in pencils if pencil.colour() is None)


def names_notes(swatches: Iterable[Swatch], became: str = "nothing is answered with") -> list[Note]:
    """How many pencils have no colour yet, and what that means for them."""
    count = sum(not swatch.coloured for swatch in swatches)
    if not count:
        return []
    have, them = ("1 pencil has", "it") if count == 1 else (f"{count} pencils have", "them")
    return [Note(f"{have} no colour yet, so that {became} {them}.", Remedy.GIVE_COLOURS)]


_MOST_NAMED = 4


class ColourRange(NamedTuple):
    """A named line of pencils in the order of the file they came from.

    `corrections` are what the user had done to every colour that the file states, one after the
    other; `shift` is what they change in L*, a*, b* on average.
    """

    name: str
    pencils: tuple[Pencil, ...]
    white: str = "D50"
    observer: int = 2
    white_assumed: bool = True
    origin: str = ""
    """The file the range was imported from, empty where it was entered by hand."""
    paper: Paper = Paper()
    shift: tuple[float, float, float] = (0.0, 0.0, 0.0)
    corrections: "tuple[RangeCorrection, ...]" = ()

    @property
    def swatches(self) -> tuple[Swatch, ...]:
        """Of every pencil the swatch that is its colour; none of one that is a name or only wet."""
        found = (pencil.colour() for pencil in self.pencils)
        return tuple(swatch for swatch in found if swatch is not None)

    @property
    def every_swatch(self) -> tuple[Swatch, ...]:
        """All swatches of all pencils, those of one pencil together."""
        every = (swatch for pencil in self.pencils for swatch in pencil.swatches)
        return tuple(swatch for swatch in every if swatch.coloured)

    @property
    def names(self) -> tuple[Swatch, ...]:
        """The pencils that have no colour yet."""
        return tuple(pencil.first for pencil in self.pencils if not pencil.first.coloured)
