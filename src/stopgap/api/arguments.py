"""What a question from Python is given: whether it is of the types asked for, and lists of colours
and of blends as a program has them, to the rows that files are read to.

The annotations say which; what is a text in them, such as a colour, is looked at where it is used.
"""

import inspect
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import replace
from functools import wraps
from math import isfinite
from numbers import Integral, Real
from pathlib import Path
from types import UnionType
from typing import Any, ParamSpec, TypeAlias, TypeVar, Union, cast, get_args, get_origin

import numpy as np

from stopgap.api.frames import blends_of_frame, colours_of
from stopgap.errors import InputError
from stopgap.library import (
    Askable,
    Library,
    Listed,
    ListedBlend,
    NameIndex,
    find_target,
    read_blends,
    read_list,
)
from stopgap.planner import Asked, asked_of
from stopgap.swatches import Lightfastness, Swatch

Colours: TypeAlias = "Path | Iterable[Askable | tuple[Askable, str]] | Any"
"""A list file, colours, or each with its label (and its weight, the third of a tuple), or a frame
with the column `colour` or L, a, b.
"""
Blends: TypeAlias = "Path | Iterable[ListedBlend | tuple[Askable, ...]] | Any"
"""A blends file, for each blend its name and its two ends or the ends alone, or a frame."""

P = ParamSpec("P")
R = TypeVar("R")

_TOLD = {
    bool: "True or False",
    float: "a number of at least 0",
    int: "a whole number of 1 or more",
    str: "a text",
    type(None): "None",
    Path: "a file",
    Library: "an open library",
    Swatch: "a swatch",
    Lightfastness: "a rating",
}


def checked(question: Callable[P, R]) -> Callable[P, R]:
    """The same question, which raises InputError where an argument is of a wrong type.

    A default is always right. One text stands for a list of one.
    """
    signature = inspect.signature(question)
    asked_for = {name: one.annotation for name, one in signature.parameters.items()}
    usual = {name: one.default for name, one in signature.parameters.items()}
    further = [one for one in signature.parameters.values() if one.kind == one.VAR_KEYWORD]
    words = {one.name: get_args(one.annotation)[0].__annotations__ for one in further}

    @wraps(question)
    def asked(*args: P.args, **kwargs: P.kwargs) -> R:
        given = signature.bind(*args, **kwargs)
        for name, value in given.arguments.items():
            if name in words:
                given.arguments[name] = _known(value, words[name])
            elif value is not usual[name]:
                given.arguments[name] = _right(name, value, asked_for[name])
        return question(*given.args, **given.kwargs)

    return asked


def _known(which: Mapping[str, object], words: Mapping[str, Any]) -> dict[str, object]:
    """Arguments that are given by name alone; raises InputError for one that nobody knows."""
    if unknown := sorted(which.keys() - words.keys()):
        raise InputError(f"expected one of {', '.join(words)}.", argument=unknown[0])
    return {name: _right(name, value, words[name]) for name, value in which.items()}


def _right(name: str, value: Any, asked_for: Any) -> Any:
    """The value, as a list where a list is asked for."""
    if get_origin(asked_for) is Sequence:
        (each,) = get_args(asked_for)
        if isinstance(value, str) or (not isinstance(each, str) and _is(value, each)):
            value = (value,)
        elif isinstance(value, Iterable) and not isinstance(value, bytes | Mapping):
            value = tuple(value)
    if not _is(value, asked_for):
        told = f"expected {' or '.join(_told(asked_for))}, found {value!r:.60}."
        raise InputError(told, argument=name)
    return value


def _is(value: Any, asked_for: Any) -> bool:
    """Whether a value is of an annotation; what the annotation names by a text always is."""
    origin = get_origin(asked_for)
    if origin in (Union, UnionType):
        return any(_is(value, one) for one in get_args(asked_for))
    if origin is Sequence:
        listed = isinstance(value, Sequence) and not isinstance(value, str | bytes)
        return listed and all(_is(each, get_args(asked_for)[0]) for each in value)
    if asked_for is bool:
        return isinstance(value, bool | np.bool_)
    if asked_for in (int, float):
        kind, least = (Integral, 1) if asked_for is int else (Real, 0)
        number = isinstance(value, kind) and not isinstance(value, bool)
        return number and isfinite(value) and value >= least
    return not isinstance(asked_for, type) or isinstance(value, asked_for)


def _told(asked_for: Any) -> list[str]:
    """What an annotation asks for, in words."""
    origin = get_origin(asked_for)
    if origin in (Union, UnionType):
        return [told for one in get_args(asked_for) for told in _told(one)]
    if origin is Sequence:
        return [f"several, each {' or '.join(_told(get_args(asked_for)[0]))}"]
    name = getattr(asked_for, "__name__", "as told in its help")
    return [_TOLD.get(asked_for, name)]


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
