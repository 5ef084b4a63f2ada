"""Pencils over each other, in JSON, in words and in strips."""

from collections.abc import Sequence

from stopgap.reports.blocks import Chip, Lab
from stopgap.reports.data import swatch_data
from stopgap.reports.words import swatch_words
from stopgap.swatches import LaidStack, Stack


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


def stack_labels(laid: Sequence[LaidStack]) -> list[str]:
    """What is laid by its codes, for one strip; pressures where codes would not tell it apart."""
    codes = ["+".join(swatch.code for swatch in one.swatches) for one in laid]
    laid_as: dict[str, set[tuple[str, ...]]] = {}
    for code, one in zip(codes, laid, strict=True):
        laid_as.setdefault(code, set()).add(one.stack.pressures)
    return [
        f"{code} {', '.join(one.stack.pressures)}"
        if one.recipe and (len(one.stack) == 1 or len(laid_as[code]) > 1)
        else code
        for code, one in zip(codes, laid, strict=True)
    ]


def stack_chip(laid: LaidStack, *beside: Lab) -> Chip:
    """The colour of what is laid beside others."""
    return Chip((*beside, laid.lab))
