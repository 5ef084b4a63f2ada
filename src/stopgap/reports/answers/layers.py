"""The answers of layers: recipes beside stand-ins, what a stack looks like, what was learnt."""

from collections.abc import Sequence
from operator import attrgetter, itemgetter
from typing import TYPE_CHECKING

from stopgap.colorimetry import lab_text
from stopgap.difference import delta_E, grade
from stopgap.errors import Note, Remedy
from stopgap.layering import Layered, Recipe
from stopgap.reports.blocks import Block, Chip, Figures, Heading, Lab, Paragraph, Report, Say, said
from stopgap.reports.columns import (
    NOWHERE,
    RowField,
    asked_field,
    cells_of,
    data_of,
    decimal,
    grid_of,
    layer_cells,
    only_shown,
    plain,
    titles_of,
)
from stopgap.reports.terms import HOW_NEAR, colour_words, conditions_words
from stopgap.reports.wording import (
    layers_data,
    replaced_data,
    swatch_words,
    with_marks,
)
from stopgap.swatches import (
    Layer,
    LayingConditions,
    Stack,
    Swatch,
    Target,
    departure_notes,
    mark_sentences,
    marks_of,
)

if TYPE_CHECKING:
    pass


_ORDER_SHOWS = 1.0  # ΔE00 from which the opposite order is shown
_LAB_CELLS = dict(zip("Lab", map(itemgetter, range(3))))


def recipe_words(recipe: Recipe) -> list[str]:
    """A recipe in one line a layer, first layer first."""
    return [
        f"{place} {layer_words(layer.swatch)}, {layer.pressure}"
        for place, layer in zip(_places(recipe.stack), recipe.stack, strict=True)
    ]


def _places(stack: Stack) -> tuple[str, ...]:
    return ("alone",) if len(stack) == 1 else ("first", *["then"] * (len(stack) - 1))


def layer_words(swatch: Swatch) -> str:
    """A layer in few words: recipes are of owned pencils, so that only others are told apart."""
    marks = ", ".join([*([] if swatch.at_hand else ["not owned"]), *marks_of(swatch)])
    return with_marks(swatch, marks)


def recipes_data(recipes: Sequence[Recipe]) -> list[dict[str, object]]:
    """Recipes in JSON; `second` is null where one pencil is laid alone."""
    return data_of(_recipe_fields(), recipes)


def recipe_blocks(
    target: Lab,
    recipes: Sequence[Recipe],
    title: str = "Layered (strip: the layers, the result, the target)",
) -> list[Block]:
    """Recipes as strips: first, second, result, target."""
    shared = [
        caution
        for caution in recipes[0].cautions
        if all(caution in recipe.cautions for recipe in recipes)
    ]

    def remarks(recipe: Recipe) -> list[str]:
        chance = recipe.promise.chance
        marked = mark_sentences(recipe.stack.swatches)  # which its layers say themselves
        return [
            *recipe_words(recipe)[1:],
            *([chance] if chance else []),
            *(f"! {caution}" for caution in recipe.cautions if caution not in (*shared, *marked)),
        ]

    keys = ("chips", "delta_E", "interval", "grade", "laid")
    return [
        Heading(title),
        grid_of(_recipe_fields(target), keys, recipes, remarks),
        *(Paragraph(caution, mark="!") for caution in shared),
    ]


def _recipe_fields(*beside: Lab) -> list[RowField[Recipe]]:
    """The fields of a recipe, shown `beside` its target where it is known."""
    ends = ("target",) * len(beside)
    return [
        only_shown(
            "chips",
            lambda recipe: Chip(
                (*recipe_labs(recipe), *beside), captions=(*recipe_captions(recipe), *ends)
            ),
        ),
        RowField("first", lambda recipe: recipe.stack[:1], _layer_data, NOWHERE),
        RowField("second", lambda recipe: recipe.stack[1:], _layer_data, NOWHERE),
        RowField("layers", attrgetter("stack"), None, layer_cells("first", "second")),
        RowField("lab", lambda recipe: recipe.lab, list, _LAB_CELLS),
        decimal("delta_E", "ΔE00"),
        RowField(
            "interval",
            lambda recipe: recipe.interval,
            list,
            {"from": itemgetter(0), "to": itemgetter(1)},
            shown=lambda ends: "{:.1f} to {:.1f}".format(*ends),
            title=Figures("9 in 10"),
            number=True,
        ),
        RowField("grade", lambda recipe: recipe.promise.grade, title=f"{HOW_NEAR} at worst"),
        RowField("grade_probability", lambda recipe: recipe.promise.grade_probability),
        RowField("likely_grade", lambda recipe: recipe.promise.likely_grade),
        RowField("likely_probability", lambda recipe: recipe.promise.likely_probability),
        *plain("typical"),
        RowField("cautions", lambda recipe: recipe.cautions, list, {"cautions": "; ".join}),
        only_shown(
            "laid", lambda recipe: recipe_words(recipe)[0], "layers, in the order they are laid"
        ),
    ]


def _layer_data(layers: Sequence[Layer]) -> dict[str, object] | None:
    """One layer in JSON, null where there is none."""
    return layers_data(Stack(layers))[0] if layers else None


def recipe_rows(
    recipes: Sequence[Recipe], target: Target
) -> tuple[tuple[str, ...], list[tuple[object, ...]]]:
    """Recipes for a target in CSV: titles and rows."""
    fields = [asked_field(target), *_recipe_fields()]
    return titles_of(fields), cells_of(fields, recipes)


def layered_report(
    found: Layered, conditions: LayingConditions | None = None, say: Say = str
) -> Report:
    """JSON schema stopgap.layer/1; where figures come from is said with the conditions alone."""
    sources = [] if conditions is None else [said(conditions_note(conditions), say)]
    sources += [said(note, say) for note in found.notes]
    cautions = [*found.cautions, *map(str, departure_notes(found.stack.swatches))]
    (data,) = data_of(_STACK_FIELDS, [found])
    put = replaced_data(found.replaced)
    layers = [
        Chip((layer.swatch.lab,), f"{place} {swatch_words(layer.swatch)}, {layer.pressure}")
        for place, layer in zip(("first", "then", "then"), found.stack, strict=False)
    ]
    blocks: list[Block] = [
        Heading("Layers"),
        *layers,
        Heading("look like"),
        Chip((found.lab,), colour_words(found.lab)),
        Paragraph(_spread_words(found)),
    ]
    apart = float(delta_E(found.lab, found.reversed_lab))
    if apart >= _ORDER_SHOWS:
        blocks += [
            Heading("in the opposite order"),
            Chip((found.reversed_lab,), colour_words(found.reversed_lab)),
        ]
    elif len(found.stack) > 1:
        blocks.append(
            Paragraph(
                Figures(
                    f"In the opposite order it looks nearly the same (ΔE00 {apart:.1f} apart).",
                    "In the opposite order it looks nearly the same.",
                )
            )
        )
    blocks += [Paragraph(caution, mark="!") for caution in cautions]
    blocks += [Paragraph(source, mark="·") for source in sources]
    return Report(
        "stopgap.layer/1",
        {**data, "notes": [*cautions, *sources], "replaced": put, "paper": None, "marked": []},
        blocks,
        titles_of(_STACK_FIELDS),
        cells_of(_STACK_FIELDS, [found]),
    )


def _spread_words(found: Layered) -> Figures:
    """How near to the prediction those who lay it come."""
    half, most = grade(found.typical), grade(found.ninety)
    plain = f"Half of those who lay it come {half} to this or nearer, nine in ten {most}."
    if half == most:
        plain = f"Nine in ten who lay it come {most} to this or nearer."
    if most == "different":
        plain = "Not a few who lay it get a different colour."
    return Figures(
        f"Half of those who lay it come within ΔE00 {found.typical:.1f} of this, nine in ten "
        f"within {found.ninety:.1f}.",
        plain,
    )


_STACK_FIELDS: list[RowField[Layered]] = [
    RowField("layers", lambda found: found.stack, layers_data, NOWHERE),
    RowField("each", attrgetter("stack"), None, layer_cells("first", "second", "third")),
    RowField("lab", lambda found: found.lab, list, _LAB_CELLS),
    *plain("typical"),
    RowField("interval", lambda found: (0.0, found.ninety), list, {"nine_in_ten": itemgetter(1)}),
    RowField("reversed_lab", lambda found: found.reversed_lab, list, NOWHERE),
]


def conditions_note(conditions: LayingConditions) -> Note:
    """Where the figures of a prediction come from."""
    knobs = conditions_words(conditions.tooth, conditions.trapping)
    paper = f"on paper {lab_text(conditions.paper, 0)}, {knobs}"
    if conditions.samples:
        learnt = f"Learnt from {conditions.samples} layered swatches of yours"
        return Note(f"{learnt}, {paper}.", plain=f"{learnt}.")
    return Note(f"Estimated {paper}.", Remedy.CALIBRATE, plain="Estimated for a usual paper.")


def recipe_labs(recipe: Recipe) -> tuple[Lab, ...]:
    """The colours of the layers, first layer first, and of the result."""
    return (*(swatch.lab for swatch in recipe.stack.swatches), recipe.lab)


def recipe_captions(recipe: Recipe) -> tuple[str, ...]:
    """What each of `recipe_labs` is."""
    return (*_places(recipe.stack), "result")
