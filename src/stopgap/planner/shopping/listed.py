"""Needs from files and names: what of them is known, paper by paper, and what is to be met."""

from collections.abc import Sequence
from typing import Any, NamedTuple, TypeVar

from stopgap.defaults import PATH, STEP, TOLERANCE
from stopgap.errors import StopgapError, UsageError
from stopgap.library import (
    Known,
    Listed,
    ListedBlend,
    NameIndex,
    find_target,
    find_targets,
    known_rows,
    located,
    spread,
)
from stopgap.planner.laying import Ground
from stopgap.planner.shopping.question import BlendNeed, ColourNeed, Need
from stopgap.swatches import LayingConditions

Row = TypeVar("Row", bound=Listed | ListedBlend)


class NeedsOn(NamedTuple):
    """What is asked for on a paper, all pencils as they look there, and how layers are laid there,
    None where they do not count.
    """

    paper: str
    needs: tuple[Need, ...]
    known: NameIndex
    layers: LayingConditions | None = None


class ListedOn(NamedTuple):
    """What of the rows of files and of shades by name is known on a paper."""

    ground: Ground
    blends: list[ListedBlend]
    colours: list[Listed]
    shades: list[str]

    def __bool__(self) -> bool:
        return bool(self.blends or self.colours or self.shades)


class ListedNeeds(NamedTuple):
    """What can be looked up of what was asked for, a part a paper, and what cannot."""

    parts: tuple[ListedOn, ...]
    left: tuple[StopgapError | None, ...]

    @classmethod
    def of(
        cls,
        papers: Sequence[tuple[Ground, Sequence[Listed | ListedBlend]]],
        shades: Sequence[str] = (),
    ) -> "ListedNeeds":
        """The rows of files by the paper they are for, at least one, and shades on the first."""
        known = papers[0][0].answering
        every = sorted((row for _, rows in papers for row in rows), key=lambda row: row.row)
        blends, no_end = known_rows([row for row in every if isinstance(row, ListedBlend)], known)
        colours, no_colour = known_rows([row for row in every if isinstance(row, Listed)], known)
        named, no_shade = known_rows(shades, known)
        parts = [
            ListedOn(ground, _beside(rows, blends), _beside(rows, colours), [])
            for ground, rows in papers
        ]
        parts[0].shades.extend(named)
        return cls(tuple(parts), (no_end, no_colour, no_shade))

    def __bool__(self) -> bool:
        return any(self.parts)

    @property
    def grounds(self) -> list[Ground]:
        """The papers that anything is asked for on."""
        return [part.ground for part in self.parts if part]

    def needs(self, *, layers: bool, **wanted: Any) -> list[NeedsOn]:
        """What is asked for on each of these papers; `wanted` is as `needs_of` takes it."""
        return [
            NeedsOn(
                ground.on,
                tuple(
                    needs_of(
                        ground.answering, blends=blends, colours=colours, shades=shades, **wanted
                    )
                ),
                ground.answering,
                ground.conditions if layers else None,
            )
            for ground, blends, colours, shades in filter(None, self.parts)
        ]


def _beside(part: Sequence[Listed | ListedBlend], rows: Sequence[Row]) -> list[Row]:
    """The rows that are for the paper of a part."""
    paper = part[0].paper.casefold() if part else ""
    return [row for row in rows if row.paper.casefold() == paper]


def needs_of(
    known: Known,
    *,
    blends: Sequence[ListedBlend] = (),
    colours: Sequence[Listed] = (),
    shades: Sequence[str] = (),
    step: float = STEP,
    path: str = PATH,
    tolerance: float = TOLERANCE,
) -> list[Need]:
    """The rows of a blends file and of a list, and shades by name, looked up among those known.

    `path` says how blends run between their ends and stops.

    Raises
    ------
    UsageError
        If nothing is asked for.
    InputError, UnknownSwatchError
        As `find_target` does; rows of a file are named.
    """
    if not (blends or colours or shades):
        raise UsageError("Nothing is asked for: name blends, colours or shades.")
    index = NameIndex.of(known)
    colours = spread(colours, index)
    needs: list[Need] = []
    for row, (start, end, *stops) in zip(blends, find_targets(blends, index), strict=True):
        with located(row):
            need = BlendNeed(
                row.name,
                start,
                end,
                step=step if row.step is None else row.step,
                stops=tuple(stops),
                path=path,
                by_lightness=row.by_lightness,
                tolerance=tolerance,
            )
        needs.append(need)
    needs += [
        ColourNeed(f"{row.colour} {row.label}".strip(), target, tolerance, row.weight)
        for row, (target,) in zip(colours, find_targets(colours, index), strict=True)
    ]
    needs += [ColourNeed(text, find_target(text, index), tolerance) for text in shades]
    return needs
