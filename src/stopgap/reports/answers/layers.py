"""The answers of layers: recipes beside stand-ins, what a stack looks like, what was learnt."""

from collections.abc import Sequence
from operator import attrgetter, itemgetter
from typing import TYPE_CHECKING, NamedTuple

from stopgap.difference import delta_E
from stopgap.errors import Note, Remedy
from stopgap.layering import Layered, Recipe
from stopgap.naming import iscc_nbs
from stopgap.reports.blocks import Block, Chip, Heading, Lab, Paragraph, Report, Say
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
from stopgap.reports.wording import layers_data, replaced_data, swatch_words, with_marks
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
    from stopgap.layering import LayeredSample
    from stopgap.planner import Learnt


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
            title="9 in 10",
            number=True,
        ),
        RowField("grade", lambda recipe: recipe.promise.grade, title="at worst"),
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
    sources = [] if conditions is None else [say(conditions_note(conditions))]
    sources += map(say, found.notes)
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
        Chip((found.lab,), _colour_words(found.lab)),
        Paragraph(
            f"Half of those who lay it come within ΔE00 {found.typical:.1f} of this, nine in ten "
            f"within {found.ninety:.1f}."
        ),
    ]
    apart = float(delta_E(found.lab, found.reversed_lab))
    if apart >= _ORDER_SHOWS:
        blocks += [
            Heading("in the opposite order"),
            Chip((found.reversed_lab,), _colour_words(found.reversed_lab)),
        ]
    elif len(found.stack) > 1:
        blocks.append(
            Paragraph(f"In the opposite order it looks nearly the same (ΔE00 {apart:.1f} apart).")
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
    L, a, b = conditions.paper
    knobs = _paper_words(conditions.tooth, conditions.trapping)
    paper = f"on paper lab({L:.0f} {a:.0f} {b:.0f}), {knobs}"
    if conditions.samples:
        return Note(f"Learnt from {conditions.samples} layered swatches of yours, {paper}.")
    return Note(f"Estimated {paper}.", Remedy.CALIBRATE)


def _paper_words(tooth: float, trapping: float) -> str:
    """The knobs of a paper."""
    return f"tooth n = {tooth:.2f}, trapping {trapping:.2f}"


def recipe_labs(recipe: Recipe) -> tuple[Lab, ...]:
    """The colours of the layers, first layer first, and of the result."""
    return (*(swatch.lab for swatch in recipe.stack.swatches), recipe.lab)


def recipe_captions(recipe: Recipe) -> tuple[str, ...]:
    """What each of `recipe_labs` is."""
    return (*_places(recipe.stack), "result")


def _colour_words(lab: Lab) -> str:
    L, a, b = lab
    return f"lab({L:.1f} {a:.1f} {b:.1f}), {iscc_nbs(lab)}"


class _Fit(NamedTuple):
    """A layered swatch, its ΔE00 to the prediction before and after, and if it is set aside."""

    sample: "LayeredSample"
    before: float
    after: float
    outlier: bool


def calibration_report(learnt: "Learnt", say: Say = str) -> Report:
    """JSON schema stopgap.calibration/1."""
    found, samples = learnt.calibration, learnt.samples
    data = {
        "tooth": found.tooth,
        "tooth_spread": found.spreads.tooth,
        "trapping": found.trapping,
        "trapping_spread": found.spreads.trapping,
        "pressures": dict(found.pressures),
        "opacity": {address: S.middle for address, S in found.opacity.items()},
        "opacity_between": {address: [S.low, S.high] for address, S in found.opacity.items()},
        "before": list(found.before),
        "after": list(found.after),
        "residual": found.residual,
        "outliers": list(found.outliers),
    }
    outliers = (place in found.outliers for place in range(len(samples)))
    rows = list(map(_Fit, samples, found.before, found.after, outliers))
    mean_before, mean_after = (sum(values) / len(rows) for values in (found.before, found.after))
    loads = ", ".join(f"{name} {load:.2f}" for name, load in found.pressures.items())
    opacity = ", ".join(
        f"{address} {S.middle:.2f} ({S.low:.2f} to {S.high:.2f})"
        for address, S in found.opacity.items()
    )
    blocks: list[Block] = [
        Heading(f"Learnt from {len(rows)} layered swatches"),
        grid_of(_FIT_FIELDS, ("before", "after", "outlier", "sample"), rows),
        Paragraph(f"Mean ΔE00 {mean_before:.1f} before, {mean_after:.1f} after."),
        Paragraph(f"Paper: {_paper_words(found.tooth, found.trapping)}; pressures: {loads}."),
        Paragraph(
            f"Opacity (0 is clear): {opacity}."
            if opacity
            else "No pencil was laid over a darker one, so nothing was learnt of opacity."
        ),
        Paragraph(say(Note("Kept in the library.", Remedy.TAKE_BACK))),
    ]
    if found.outliers:
        blocks.append(
            Paragraph("The samples set aside contradict the others: lay them again.", mark="!")
        )
    cells = cells_of(_FIT_FIELDS, rows)
    return Report("stopgap.calibration/1", data, blocks, titles_of(_FIT_FIELDS), cells)


def _sample_words(sample: "LayeredSample") -> str:
    return ", then ".join(f"{layer.swatch.address} {layer.pressure}" for layer in sample.stack)


_FIT_FIELDS: list[RowField[_Fit]] = [
    RowField(
        "sample",
        lambda fit: _sample_words(fit.sample),
        title="layered swatch",
    ),
    decimal("before", "before"),
    decimal("after", "after"),
    RowField("outlier", attrgetter("outlier"), shown=lambda is_one: "set aside" if is_one else ""),
]
