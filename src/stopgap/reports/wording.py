"""Swatches, targets, stacks and colours of a blend: in JSON, in one line, as labels in strips."""

from collections.abc import Iterable, Sequence
from itertools import takewhile
from typing import TYPE_CHECKING, Any

from stopgap.colorimetry import lab_text
from stopgap.errors import Note
from stopgap.naming import Called, called, iscc_nbs
from stopgap.reports.blocks import Chip, Figures, Strip
from stopgap.reports.terms import colour_name, in_our_spelling
from stopgap.swatches import (
    Finish,
    LaidStack,
    Replaced,
    Source,
    Stack,
    Swatch,
    Target,
    departures,
    marks_of,
)

if TYPE_CHECKING:
    from stopgap.blends import Blend, Point


def swatch_data(swatch: Swatch) -> dict[str, Any]:
    """A swatch in JSON, everywhere the same fields; a name has the Lab null."""
    return {
        "range": swatch.range,
        "code": swatch.code,
        "name": swatch.name,
        "lab": list(swatch.lab) if swatch.coloured else None,
        "owned": swatch.owned,
        "status": str(swatch.status),
        "lightfastness": None if swatch.lightfastness is None else str(swatch.lightfastness),
    }


def marked_data(answer: Any, swatches: Iterable[Swatch]) -> list[dict[str, Any]]:
    """The pencils of an answer in JSON against which something speaks, and what, by address."""
    named = _named(answer)
    there = {key: one for one in swatches if (key := (one.range, one.code)) in named}
    return [
        {"swatch": named[key], "marks": list(said)}
        for key in sorted(there)
        if (said := marks_of(there[key]))
    ]


def replaced_data(replaced: Iterable[Replaced]) -> list[dict[str, Any]]:
    """What stands in the place of pencils that lay badly."""
    return [
        {"asked": swatch_data(one.asked), "by": stack_data(one.by), "delta_E": one.delta_E}
        for one in replaced
    ]


def rating_notes(answer: Any) -> tuple[Note, ...]:
    """How many pencils of an answer in JSON are not rated for lightfastness, or on scales that
    nobody can compare; one line at most.
    """
    ratings = [one["lightfastness"] for one in _named(answer).values()]
    unrated = ratings.count(None)
    scales = sorted({_scale(rating) for rating in ratings if rating})
    said = []
    if unrated:
        few = "one pencil here is" if unrated == 1 else f"{unrated} of the pencils here are"
        said.append(f"{few} not rated (–)")
    if len(scales) > 1:
        said.append(f"ratings by {' and '.join(scales)} do not compare")
    return (Note(f"Lightfastness: {'; '.join(said)}."),) if said else ()


def _scale(rating: str) -> str:
    """The scale of a rating in words."""
    return rating.partition(",")[0] if "," in rating else rating.partition(" ")[0]


def _named(answer: Any) -> dict[tuple[str, str], dict[str, Any]]:
    """Every pencil that an answer in JSON names, by range and code."""
    named: dict[tuple[str, str], dict[str, Any]] = {}
    waiting = [answer]
    while waiting:
        one = waiting.pop()
        if isinstance(one, dict):
            if {"range", "code", "status"} <= one.keys():
                named[one["range"], one["code"]] = one
            waiting += one.values()
        elif isinstance(one, list | tuple):
            waiting += one
    return named


def swatches_data(swatches: Iterable[Swatch]) -> list[dict[str, Any]]:
    """Swatches in JSON."""
    return [swatch_data(swatch) for swatch in swatches]


def target_data(target: Target) -> dict[str, Any]:
    """A target in JSON: a swatch, or label and Lab of a free colour."""
    if isinstance(target, Swatch):
        return swatch_data(target)
    return {"label": target.label, "lab": list(target.lab)}


def target_title(target: Target) -> str:
    """What a target is called, in a heading."""
    return swatch_words(target) if isinstance(target, Swatch) else target.label


def target_facts(target: Target) -> Figures:
    """What a target is, below its title: its Lab where the title is no Lab, its ISCC-NBS name."""
    name, also = map(in_our_spelling, target_called(target))
    said = f"{name}, also called {also}" if also else name
    lab = "" if target_title(target).startswith("lab(") else f"{lab_text(target.lab)}, "
    return Figures(lab + said, said)


def target_called(target: Target) -> Called:
    """The standard's name on level 3, on level 2 where the colour was typed and so is not known
    well enough; and the name of level 2 that it is also called by where a limit is near.
    """
    if not isinstance(target, Swatch):
        return called(target.lab)._replace(name=str(iscc_nbs(target.lab)))
    said = called(target.lab, sigma=target.total_uncertainty)
    if target.source is Source.TYPED:
        return said
    return said._replace(name=str(iscc_nbs(target.lab)))


def swatch_words(swatch: Swatch) -> str:
    """A swatch in one line: address, name, rating, and whether it is owned, discontinued or
    special.
    """
    return with_marks(swatch, swatch_marks(swatch))


def with_marks(swatch: Swatch, marks: str) -> str:
    """A swatch in one line: address, name, how lightfast it is rated, and marks in brackets."""
    named = " ".join(part for part in (swatch.address, swatch.name) if part)
    named = f"{named} · {rating_words(swatch)}"
    return f"{named} ({marks})" if marks else named


def rated_address(swatch: Swatch) -> str:
    """A swatch by its address and rating, where there is no room for its name."""
    return f"{swatch.address} ({rating_words(swatch)})"


def rating_words(swatch: Swatch) -> str:
    """How lightfast a swatch is rated; a dash where it is not."""
    return str(swatch.lightfastness or "–")


def short_rating(swatch: Swatch) -> str:
    """The same in a few letters, for the wall, which says what they mean."""
    return swatch.lightfastness.short if swatch.lightfastness else "–"


SHORT_RATINGS = "I to V by ASTM, 1 to 8 by blue wool, 2/3 or ** by a maker's own marks, – not"
"""What the letters of a short rating mean."""


def laid_rating(laid: LaidStack | None) -> str:
    """The rating below the code of what is laid, of each pencil in turn; empty where none is."""
    return "" if laid is None else " + ".join(map(rating_words, laid.swatches))


def swatch_marks(swatch: Swatch) -> str:
    """What must be seen of a swatch at a glance, parted by commas."""
    marks = [
        *(["owned"] if swatch.at_hand else []),
        *(["discontinued"] if swatch.discontinued else []),
        *([str(swatch.finish)] if swatch.finish is not Finish.PLAIN else []),
        *marks_of(swatch),
        *(departures(swatch) if swatch.coloured else ["no colour yet"]),
    ]
    return ", ".join(marks)


def price_words(price: float | None, *, assumed: bool) -> str:
    """A price, with a ? where it is the default; a dash where it cannot be bought."""
    return "–" if price is None else f"{price:.2f}{'?' if assumed else ''}"


ASSUMED = "A price with ? is guessed, since none is known."


def triple_words(values: Sequence[float], sign: str = "+") -> str:
    """Three numbers, parted by commas."""
    return ", ".join(f"{value:{sign}.2f}" for value in values)


def layers_data(stack: Stack) -> list[dict[str, object]]:
    """The layers of a stack in JSON, the first laid first."""
    return [{"swatch": swatch_data(layer.swatch), "pressure": layer.pressure} for layer in stack]


def stack_data(laid: LaidStack) -> dict[str, object]:
    """A swatch, or a recipe: its layers in order with their pressures, and the colour they make."""
    if not laid.recipe:
        return swatch_data(laid.swatches[0])
    return {
        "layers": layers_data(laid.stack),
        "lab": list(laid.lab),
    }


def stack_words(laid: LaidStack) -> str:
    """What is laid, in one line."""
    if not laid.recipe:
        return swatch_words(laid.swatches[0])
    return "; then ".join(f"{swatch_words(layer.swatch)}, {layer.pressure}" for layer in laid.stack)


def range_marks(names: Iterable[str]) -> dict[str, str]:
    """The shortest beginnings that tell ranges apart, with a dot; nothing where there is but one.

    Words that all of them begin with are left out: "Sea A" and "Sea B" are "A" and "B". Of several
    words the first letter and the last word are left, where these tell them apart as well.
    """
    every = sorted(set(names))
    if len(every) < 2:
        return dict.fromkeys(every, "")
    words = [name.split() for name in every]
    shared = len(list(takewhile(lambda each: len(set(each)) == 1, zip(*words, strict=False))))
    rests = [" ".join(own[shared:]) or name for own, name in zip(words, every, strict=True)]
    marks = {}
    for name, rest in zip(every, rests, strict=True):
        others = [other for other in rests if other != rest]
        lengths = range(1, len(rest) + 1)
        enough = next(
            (most for most in lengths if not any(each.startswith(rest[:most]) for each in others)),
            len(rest),
        )
        marks[name] = rest[:enough]
    brief = {
        name: min(mark, f"{mark[0]}…{mark.split()[-1]}", key=len) for name, mark in marks.items()
    }
    told = brief if len({*brief.values()}) == len(marks) else marks
    return {name: f"{mark}·" for name, mark in told.items()}


def stack_labels(laid: Sequence[LaidStack]) -> list[str]:
    """What is laid by its codes, for one strip; pressures where codes would not tell it apart.

    Where pencils of several ranges are in it, each code has its range's mark before it.
    """
    marks = range_marks(swatch.range for one in laid for swatch in one.swatches)
    codes = ["+".join(f"{marks[each.range]}{each.code}" for each in one.swatches) for one in laid]
    laid_as: dict[str, set[tuple[str, ...]]] = {}
    for code, one in zip(codes, laid, strict=True):
        laid_as.setdefault(code, set()).add(one.stack.pressures)
    return [
        f"{code} {', '.join(one.stack.pressures)}"
        if one.recipe and (len(one.stack) == 1 or len(laid_as[code]) > 1)
        else code
        for code, one in zip(codes, laid, strict=True)
    ]


def blend_strip(found: "Blend") -> Strip:
    """A blend as a strip."""
    return Strip(
        [
            Chip((point.lab,), label, rated=laid_rating(point.laid))
            for point, label in zip(found.points, point_labels(found.points), strict=True)
        ],
        found.steps,
        found.limit,
    )


def point_data(point: "Point") -> dict[str, object]:
    """A point of a blend in JSON: a swatch, a recipe, or label and Lab of a bare colour."""
    if point.laid is not None:
        return stack_data(point.laid)
    return {"label": point_label(point), "lab": list(point.lab)}


def point_words(point: "Point") -> str:
    """A point of a blend in one line."""
    return point_label(point) if point.laid is None else stack_words(point.laid)


def point_label(point: "Point") -> str:
    """A point of a blend in one word: its code, or the notation of a bare colour."""
    if point.laid is not None:
        (label,) = stack_labels([point.laid])
        return label
    return Figures(lab_text(point.lab, 0), colour_name(point.lab))


def point_labels(points: "Sequence[Point]") -> list[str]:
    """The points of one blend each in one word, with pressures where codes would be the same."""
    laid = iter(stack_labels([point.laid for point in points if point.laid is not None]))
    return [point_label(point) if point.laid is None else next(laid) for point in points]
