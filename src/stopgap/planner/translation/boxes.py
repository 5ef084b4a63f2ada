"""One list for a class: translated into several boxes at once, a box beside the other."""

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any, NamedTuple

from stopgap.defaults import TIME_LIMIT
from stopgap.errors import Note, NothingFoundError, StopgapError, UnknownSwatchError
from stopgap.library import Listed, find_swatches, known_rows, read_list
from stopgap.planner.arranging import user_filing
from stopgap.planner.laying import Ground
from stopgap.planner.solver import Clock
from stopgap.planner.translation.answer import TranslatedRow, Translation
from stopgap.planner.translation.listed import asked_of, translate_on_papers
from stopgap.swatches import Selection

if TYPE_CHECKING:
    from stopgap.library import Library


class ClassBox(NamedTuple):
    """A box by its name, which pencils are in it, and what its file names that nobody knows."""

    name: str
    selection: Selection
    unknown: StopgapError | None = None


@dataclass(frozen=True, slots=True)
class BoxTranslation:
    """What a box gives for a list, as if it were asked alone."""

    name: str
    found: Translation

    @property
    def note(self) -> Note | None:
        """What it cannot really give, None where it can give all."""
        lost = [row.asked.caption or row.asked.label for row in self.found.impossible]
        return Note(f"{self.name} cannot really give {', '.join(lost)}.") if lost else None


@dataclass(frozen=True, slots=True)
class ClassTranslation:
    """A list in several boxes; every box has the same rows."""

    boxes: tuple[BoxTranslation, ...]

    @property
    def order(self) -> list[int]:
        """The places of the rows, the worst match of any box first; nothing at all is worst."""
        rows = zip(*(box.found.rows for box in self.boxes), strict=True)
        worst = [max(_off(row) for row in across) for across in rows]
        return sorted(range(len(worst)), key=lambda place: -worst[place])

    @property
    def nothing(self) -> bool:
        """Whether no box gives anything."""
        return all(row.given is None for box in self.boxes for row in box.found.rows)


def _off(row: TranslatedRow) -> float:
    return float("inf") if row.delta_E is None else row.delta_E


def find_box(name: str, library: "Library", ground: Ground, selection: Selection) -> ClassBox:
    """The box of that name: a range, else an arrangement, else a file that lists somebody's
    pencils. What a selection says of finishes and the like holds for it too.

    Raises
    ------
    UnknownSwatchError
        If there is none.
    InputError
        If the file cannot be read.
    """
    try:
        return ClassBox(name, selection._replace(ranges=(library.known_range(name),)))
    except StopgapError:
        pass
    path = Path(name)
    mine = selection._replace(owned=False, include_discontinued=True)
    try:
        filing = user_filing(library, name)
    except StopgapError as error:
        if not path.is_file():
            text = f"No range, no arrangement and no file is called {name!r}."
            raise UnknownSwatchError(text) from error
    else:
        if filing is None:
            return ClassBox(name, selection._replace(owned=False))
        placed = (place.pencil for family in filing.families for place in family.places)
        return ClassBox(name, mine._replace(among=frozenset(placed)))
    rows, unknown = known_rows(read_list(path), ground.known)
    found = find_swatches(rows, ground.known)
    among = frozenset(swatch.address for swatch in found)
    return ClassBox(path.stem, mine._replace(among=among), unknown)


def translate_for_class(
    parts: Sequence[tuple[Ground, Sequence[Listed]]], boxes: Sequence[ClassBox], **wanted: Any
) -> ClassTranslation:
    """A list translated into each of several boxes; arguments are those of `translate_on_papers`.

    A box without a pencil gives nothing.
    """
    clock = Clock(wanted.get("time_limit", TIME_LIMIT))
    return ClassTranslation(
        tuple(_into(parts, box, {**wanted, "time_limit": clock.left}) for box in boxes)
    )


def _into(
    parts: Sequence[tuple[Ground, Sequence[Listed]]], box: ClassBox, wanted: dict[str, Any]
) -> BoxTranslation:
    try:
        return BoxTranslation(
            box.name, translate_on_papers(parts, selection=box.selection, **wanted)
        )
    except NothingFoundError:
        rows = [
            TranslatedRow(asked) for ground, some in parts for asked in asked_of(some, ground.known)
        ]
        return BoxTranslation(box.name, Translation(tuple(rows), tuple(rows)))
