"""Reports of layers: recipes beside stand-ins, what a stack looks like, what was learnt."""

from collections.abc import Sequence

from stopgap.difference import grade
from stopgap.errors import Note, Remedy
from stopgap.layering import Layered, Recipe
from stopgap.naming import iscc_nbs
from stopgap.reports.blocks import Block, Chip, Column, Grid, Heading, Lab, Paragraph, Report, Say
from stopgap.reports.wording import layers_data, swatch_words
from stopgap.swatches import LayingConditions, Stack, Swatch, departure_notes


def recipe_data(recipe: Recipe) -> dict[str, object]:
    """A recipe in JSON; `second` is null where one pencil is laid alone."""
    first, second = [*layers_data(recipe.stack), None][:2]
    return {
        "first": first,
        "second": second,
        "lab": list(recipe.lab),
        "delta_E": recipe.delta_E,
        "interval": list(recipe.interval),
        "grade": grade(recipe.delta_E),
        "typical": recipe.typical,
        "cautions": list(recipe.cautions),
    }


def recipe_words(recipe: Recipe) -> list[str]:
    """A recipe in one line a layer, first layer first."""
    return [
        f"{place} {_layer_words(layer.swatch)}, {layer.pressure}"
        for place, layer in zip(_places(recipe.stack), recipe.stack, strict=True)
    ]


def _places(stack: Stack) -> tuple[str, ...]:
    return ("alone",) if len(stack) == 1 else ("first", *["then"] * (len(stack) - 1))


def _layer_words(swatch: Swatch) -> str:
    """A layer in few words: recipes are of owned pencils, so that only others are marked."""
    named = " ".join(part for part in (swatch.address, swatch.name) if part)
    return named if swatch.owned else f"{named} (not owned)"


def recipe_blocks(target: Lab, recipes: Sequence[Recipe]) -> list[Block]:
    """Recipes as strips: first, second, result, target."""
    columns = [
        Column(""),
        Column("ΔE00", number=True),
        Column("9 in 10", number=True),
        Column("grade"),
        Column("layers, in the order they are laid"),
    ]
    rows: list[list[str | Chip]] = []
    remarks = {}
    shared = [
        caution
        for caution in recipes[0].cautions
        if all(caution in recipe.cautions for recipe in recipes)
    ]
    for place, recipe in enumerate(recipes):
        first, *rest = recipe_words(recipe)
        low, high = recipe.interval
        rows.append(
            [
                Chip((*recipe_labs(recipe), target), captions=(*recipe_captions(recipe), "target")),
                f"{recipe.delta_E:.1f}",
                f"{low:.0f} to {high:.0f}",
                grade(recipe.delta_E),
                first,
            ]
        )
        cautions = [caution for caution in recipe.cautions if caution not in shared]
        remarks[place] = [*rest, *(f"! {caution}" for caution in cautions)]
    return [
        Paragraph(""),
        Heading("Layered (strip: the layers, the result, the target)"),
        Grid(columns, rows, remarks),
        *(Paragraph(caution, mark="!") for caution in shared),
    ]


def layered_report(found: Layered, conditions: LayingConditions, say: Say = str) -> Report:
    """JSON schema stopgap.layer/1."""
    source = say(conditions_note(conditions))
    cautions = [*found.cautions, *map(str, departure_notes(found.stack.swatches))]
    notes = [*cautions, source]
    differs = found.reversed_lab != found.lab
    data = {
        "layers": layers_data(found.stack),
        "lab": list(found.lab),
        "interval": [0.0, found.ninety],
        "typical": found.typical,
        "reversed_lab": list(found.reversed_lab),
        "notes": notes,
    }
    layers = [
        Chip((layer.swatch.lab,), f"{place} {swatch_words(layer.swatch)}, {layer.pressure}")
        for place, layer in zip(("first", "then", "then"), found.stack, strict=False)
    ]
    blocks: list[Block] = [
        Heading("Layers"),
        *layers,
        Heading("look like"),
        Chip((found.lab,), _colour_words(found.lab)),
        Paragraph(
            f"Half of those who lay it come within ΔE00 {found.typical:.1f} of this, nine in ten "
            f"within {found.ninety:.1f}."
        ),
    ]
    if differs:
        blocks += [
            Heading("in the opposite order"),
            Chip((found.reversed_lab,), _colour_words(found.reversed_lab)),
        ]
    elif len(found.stack) > 1:
        blocks.append(Paragraph("The order makes no difference to pencils that do not cover."))
    blocks += [Paragraph(caution, mark="!") for caution in cautions]
    blocks.append(Paragraph(source, mark="·"))
    columns = ("L", "a", "b", "typical", "nine_in_ten")
    return Report(
        "stopgap.layer/1", data, blocks, columns, [(*found.lab, found.typical, found.ninety)]
    )


def conditions_note(conditions: LayingConditions) -> Note:
    """Where the figures of a prediction come from."""
    L, a, b = conditions.paper
    paper = f"on paper lab({L:.0f} {a:.0f} {b:.0f}), tooth n = {conditions.tooth:.2f}"
    if conditions.samples:
        return Note(f"Learnt from {conditions.samples} layered swatches of yours, {paper}.")
    return Note(f"Estimated {paper}.", Remedy.CALIBRATE)


def recipe_labs(recipe: Recipe) -> tuple[Lab, ...]:
    """The colours of the layers, first layer first, and of the result."""
    return (*(swatch.lab for swatch in recipe.stack.swatches), recipe.lab)


def recipe_captions(recipe: Recipe) -> tuple[str, ...]:
    """What each of `recipe_labs` is."""
    return (*_places(recipe.stack), "result")


def _colour_words(lab: Lab) -> str:
    L, a, b = lab
    return f"lab({L:.1f} {a:.1f} {b:.1f}), {iscc_nbs(lab)}"
