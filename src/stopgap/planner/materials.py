"""Pencils and recipes to lay colours with, as they are handed in: checked, sorted, each once."""

from collections.abc import Callable, Iterable, Sequence

import numpy as np

from stopgap.arrays import Floats, as_lab, one_lab
from stopgap.errors import InputError, Note, UsageError
from stopgap.swatches import LaidStack, Selection, Swatch, Swatches, Target, meets

RecipeSource = Sequence[LaidStack] | Callable[[Sequence[Swatch], Floats], Iterable[LaidStack]]
"""Recipes as they are, or a function that makes them from the pencils there are and from the
colours aimed at, shape (n, 3)."""


def unique_swatches(swatches: Iterable[Swatch], name: str) -> list[Swatch]:
    """`swatches` without repetitions, sorted by address.

    Raises
    ------
    InputError
        If one address is borne by swatches that differ.
    """
    by_address: dict[str, Swatch] = {}
    for swatch in swatches:
        known = by_address.setdefault(swatch.address, swatch)
        if known is not swatch and known != swatch:
            raise InputError(
                f"{name}: {swatch.address} occurs twice with different contents; keep one of them."
            )
    try:
        as_lab([swatch.lab for swatch in by_address.values()] or np.empty((0, 3)))
    except InputError:  # then which
        for swatch in by_address.values():
            one_lab(swatch.lab, f"{name}: {swatch.address}")
    return [by_address[address] for address in sorted(by_address)]


def recipes_from(source: RecipeSource, swatches: Sequence[Swatch], aims: Floats) -> list[LaidStack]:
    """The recipes of `source` that can be laid with `swatches`, sorted, without repetitions.

    Raises
    ------
    InputError
        If one takes no pencil or is not of one colour.
    """
    offered = source(swatches, aims) if callable(source) else source
    if not callable(source) and not source:
        return []
    there = {swatch.address for swatch in swatches}
    usable: dict[tuple[object, ...], LaidStack] = {}
    for laid in offered:
        if not laid.stack:
            raise InputError("recipes: each must take at least one pencil; one takes none.")
        one_lab(laid.lab, f"recipe {laid.label!r}")
        if laid.recipe and laid.addresses <= there:
            usable[laid.key] = laid
    return [usable[key] for key in sorted(usable)]


def labs_of(laid: Sequence[LaidStack] | Sequence[Swatch] | Sequence[Target]) -> Floats:
    """Their colours, shape (n, 3)."""
    if isinstance(laid, Swatches):
        kept: Floats = laid.once("lab", lambda: labs_of(tuple(laid)), however_owned=True)
        return kept
    return np.array([one.lab for one in laid], dtype=np.float64).reshape(-1, 3)


def pencils_of(laid: Iterable[LaidStack]) -> list[Swatch]:
    """Every pencil that something is laid with."""
    return [swatch for one in laid for swatch in one.swatches]


def to_take(
    selection: Selection, swatches: Sequence[Swatch], keep: Sequence[Swatch] = ()
) -> tuple[tuple[Swatch, ...], tuple[Note, ...]]:
    """The pencils to choose among and what is to be said: where ranges are named, owned or not.

    Raises
    ------
    UsageError
        If a pencil of `keep` is not rated as the selection asks.
    """
    for one in keep:
        if not meets(one.lightfastness, selection.lightfast):
            rule = " or ".join(map(str, selection.lightfast))
            rated = one.lightfastness or "not at all"
            raise UsageError(f"{one.address} is rated {rated}, not {rule}.", argument="keep")
    if selection.ranges:
        selection = selection._replace(owned=False)
    return selection.at_hand(swatches)
