"""Lists of colours and of blends as a program has them, to the rows that files are read to."""

from collections.abc import Iterable
from dataclasses import replace
from pathlib import Path
from typing import Any, TypeAlias, cast

from stopgap.api.frames import blends_of_frame, colours_of
from stopgap.errors import InputError
from stopgap.library import (
    Askable,
    Listed,
    ListedBlend,
    NameIndex,
    find_target,
    read_blends,
    read_list,
)
from stopgap.planner import Asked, asked_of

Colours: TypeAlias = "Path | Iterable[Askable | tuple[Askable, str]] | Any"
"""A list file, colours, or each with its label (and its weight, the third of a tuple), or a frame
with the column `colour` or L, a, b.
"""
Blends: TypeAlias = "Path | Iterable[ListedBlend | tuple[Askable, ...]] | Any"
"""A blends file, for each blend its name and its two ends or the ends alone, or a frame."""


def rows_of(colours: Colours, known: NameIndex) -> list[Any]:
    """The rows of a list; what nobody knows stays in it and says why."""
    if isinstance(colours, Path):
        return asked_of(read_list(colours), known)
    if isinstance(colours, str | bytes) or not isinstance(colours, Iterable):
        raise InputError(f"expected a list of colours, found {colours!r:.60}.", argument="colours")
    if hasattr(colours, "iloc"):
        colours = colours_of(cast(Any, colours))
    return [row for place, each in enumerate(colours, 1) for row in _row(place, each, known)]


def _row(place: int, each: Any, known: NameIndex) -> list[Asked]:
    if isinstance(each, Asked):
        return [each]
    label, weight = "", 1.0
    if isinstance(each, tuple) and len(each) in (2, 3) and isinstance(each[1], str):
        each, label, weight = each if len(each) == 3 else (*each, 1.0)
    if isinstance(each, str):
        return asked_of([Listed("colours", place, each, label, weight)], known)
    return [replace(Asked.of(find_target(each, known), weight), caption=label)]


def blends_of(blends: Blends) -> list[ListedBlend]:
    """The rows of a blends file, or what a program says in their place."""
    if isinstance(blends, Path):
        return read_blends(blends)
    if isinstance(blends, str | bytes) or not isinstance(blends, Iterable):
        raise InputError(f"expected a list of blends, found {blends!r:.60}.", argument="blends")
    if hasattr(blends, "iloc"):
        return blends_of_frame(cast(Any, blends))
    rows = []
    for place, each in enumerate(blends, start=1):
        if isinstance(each, ListedBlend):
            rows.append(each)
            continue
        parts = tuple(each) if isinstance(each, tuple | list) else ()
        if len(parts) not in (2, 3):
            raise InputError(
                f"expected two ends, or a name and two ends; found {each!r:.60}.",
                argument="blends",
            )
        *name, start, end = parts
        rows.append(ListedBlend("blends", place, str(*name) or f"blend {place}", start, end))
    return rows
