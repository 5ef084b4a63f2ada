"""The answers of `match` and `table`: stand-ins for a colour, or for every one of a range."""

from collections.abc import Mapping, Sequence
from operator import attrgetter
from typing import TYPE_CHECKING

from stopgap.defaults import METRIC
from stopgap.planner import BY_HUE, Over, StandIn, StandIns
from stopgap.reports.blocks import (
    Block,
    Chip,
    Figures,
    Heading,
    Lab,
    Paragraph,
    Report,
    Say,
    remarks,
    said,
    worded,
)
from stopgap.reports.columns import (
    NAMED,
    NOWHERE,
    RowField,
    asked_field,
    cells_of,
    data_of,
    decimal,
    grid_of,
    key_cells,
    only_shown,
    plain,
    swatch_field,
    titles_of,
)
from stopgap.reports.terms import BY_HUE_WORDS, HOW_NEAR, light_words, nearness_words, off_words
from stopgap.reports.wording import (
    layers_data,
    swatch_data,
    swatch_words,
    target_called,
    target_data,
    target_facts,
    target_title,
)
from stopgap.swatches import fades_sooner, marks_of

if TYPE_CHECKING:
    from stopgap.layering import Recipe
    from stopgap.planner import CrossTable, TableRow
    from stopgap.swatches import Swatch

_SWATCH = ("range", "code", "name", "owned", "status", "L", "a", "b", "lightfastness")


def stand_ins_report(answer: StandIns, say: Say = str) -> Report:
    """Stand-ins and recipes, the best answer first: JSON schema stopgap.match/1."""
    delta_E = "ΔE00" if answer.metric == METRIC else answer.metric
    fields = _fields(answer, delta_E, marked=answer.ranked_by != BY_HUE)
    notes = remarks(answer.notes, say)
    keys = ("chips", "mark", "delta_E", "sigma", "shown grade", "swatch")
    grid = grid_of(fields, keys, answer.matches, _remarks)
    layers_data, layers_blocks = _layers(answer)
    over: dict[str, object] | None = None
    columns, rows = titles_of(fields), cells_of(fields, answer.matches)
    alone: list[Block] = [grid] if answer.matches else []
    if answer.over is not None:
        from stopgap.reports.answers.layers import recipe_rows

        columns, rows = recipe_rows((*answer.layers, *answer.over.pencils), answer.target)
        over = _over_data(answer.over)
        shown = [*_over_blocks(answer.target.lab, answer.over, answer.layers), *notes]
    elif answer.layers_first:
        below = [Paragraph(""), Heading("Pencils alone"), *alone] if alone else []
        shown = [*layers_blocks, *below, *notes]
    else:
        between = [Paragraph("")] if layers_blocks else []
        shown = [*alone, *notes, *between, *layers_blocks]
    return Report(
        schema="stopgap.match/1",
        data={
            "target": target_data(answer.target),
            "called": target_called(answer.target)._asdict(),
            "metric": answer.metric,
            "ranked_by": answer.ranked_by,
            "matches": data_of(fields, answer.matches),
            "layers": layers_data,
            "layers_first": answer.layers_first,
            "over": over,
            "notes": [note.text for note in notes],
            "paper": None,
            "marked": [],
        },
        blocks=[
            Heading(f"Stand-ins for {target_title(answer.target)}"),
            Chip((answer.target.lab,), target_facts(answer.target)),
            Paragraph(""),
            *shown,
        ],
        columns=columns,
        rows=rows,
    )


def _fields(answer: StandIns, delta_E: str, *, marked: bool) -> list[RowField[StandIn]]:
    target, doubts = answer.target, answer.doubts()
    return [
        asked_field(target),
        only_shown(
            "chips",
            lambda match: Chip((target.lab, match.swatch.lab), captions=("target", "stand-in")),
        ),
        only_shown("mark", lambda match: "≈" if marked and match.tied else ""),
        swatch_field(_SWATCH, shown=swatch_words, title="stand-in, and how it is off"),
        decimal("delta_E", delta_E),
        only_shown("shown grade", nearness_words, title=HOW_NEAR),
        *plain("grade", "delta_L", "delta_C", "delta_H", "words"),
        decimal("sigma", "±", lambda match: doubts[match.swatch.address][0]),
        *plain("tied"),
        RowField("cautions", lambda match: match.cautions, list, {"cautions": "; ".join}),
        RowField("upper", lambda match: doubts[match.swatch.address][1]),
        *plain("probability", "grade_probability", "besides"),
        RowField("given", attrgetter("swatch"), None, key_cells("given")),
        RowField(
            "under",
            lambda match: match.under,
            lambda under: [light._asdict() for light in under],
            {"under": lambda under: "; ".join(map(light_words, under))},
        ),
    ]


def _remarks(match: StandIn) -> Sequence[str]:
    return [
        match.words,
        *([match.besides] if match.besides else []),
        *map(light_words, match.under),
        *(f"! {caution}" for caution in match.cautions if caution not in marks_of(match.swatch)),
    ]


def _layers(answer: StandIns) -> tuple[list[dict[str, object]], list[Block]]:
    if not answer.layers:
        return [], []
    from stopgap.reports.answers.layers import recipe_blocks, recipes_data

    return recipes_data(answer.layers), recipe_blocks(answer.target.lab, answer.layers)


def _over_data(over: Over) -> dict[str, object]:
    """What lies on the work already, in JSON."""
    from stopgap.reports.answers.layers import recipes_data

    return {
        "layers": layers_data(over.ground.stack),
        "lab": list(over.ground.lab),
        "interval": [0.0, over.ground.ninety],
        "delta_E": over.delta_E,
        "pencils": recipes_data(over.pencils),
        "under": [[light._asdict() for light in lights] for lights in over.under],
        "on_paper": recipes_data([over.on_paper])[0],
        "lightest": over.lightest,
        "out_of_reach": over.out_of_reach,
    }


def _over_blocks(target: Lab, over: Over, recipes: "Sequence[Recipe]") -> list[Block]:
    """What lies there, what to lay over it, the best pencils, and where another lands."""
    from stopgap.reports.answers.layers import layer_words, recipe_blocks

    there = over.ground
    blocks: list[Block] = [
        Heading("Over what lies there"),
        *(
            Chip((layer.swatch.lab,), f"{swatch_words(layer.swatch)}, {layer.pressure}")
            for layer in there.stack
        ),
        Chip(
            (there.lab, target), worded("as it is, ", off_words(over.delta_E), " beside the target")
        ),
    ]
    if recipes:
        title = "Lay over it (strip: the layers, the result, the target)"
        blocks += [Paragraph(""), *recipe_blocks(target, recipes, title)]
    title = "One pencil (strip: itself, the result, the target)"
    if over.pencils:
        blocks += [Paragraph(""), *recipe_blocks(target, over.pencils, title)]
    blocks += [
        Paragraph(worded(layer_words(pencil.stack[0].swatch), " ", light_words(light)))
        for pencil, lights in zip(over.pencils, over.under)
        for light in lights
    ]
    landed = over.on_paper
    if all(one.stack.addresses != landed.stack.addresses for one in over.pencils):
        (layer,) = landed.stack
        here = f"{layer_words(layer.swatch)} is the nearest on bare paper; here, laid "
        comes = f"{layer.pressure}, it comes out "
        blocks.append(Paragraph(worded(here, comes, off_words(landed.delta_E), ".")))
    return blocks


def table_report(tables: "Mapping[str, CrossTable]", say: Say = str) -> Report:
    """JSON schema stopgap.table/1: one table for each of the other ranges, by its name."""
    fields = _table_fields("")
    rows = [row for table in tables.values() for row in table.rows]
    return Report(
        "stopgap.table/1",
        {
            "tables": [
                {
                    "range": name,
                    "rows": data_of(fields, table.rows),
                    "shift": {
                        "lab": list(table.offset),
                        "pairs": table.pairs,
                        "significant": table.correction is not None,
                        "removed": table.removed,
                        "flare": table.correction.flare if table.correction else None,
                        "gain": table.correction.gain if table.correction else None,
                    },
                    "warning": table.warning,
                }
                for name, table in tables.items()
            ],
            "notes": [table.warning for table in tables.values() if table.note],
            "paper": None,
            "marked": [],
        },
        [block for name, table in tables.items() for block in _blocks(name, table, say)],
        titles_of(fields),
        cells_of(fields, rows),
    )


def _table_fields(name: str) -> "list[RowField[TableRow]]":
    """The fields, as a table against the range of that name is headed."""
    return [
        only_shown(
            "chips", lambda row: Chip((row.swatch.lab, row.best.lab), captions=("swatch", "best"))
        ),
        only_shown("mark", lambda row: "=" if row.mutual else ""),
        swatch_field(
            NAMED,
            shown=swatch_words,
            title=f"swatch, its best in {name}, the second",
        ),
        RowField("asked", attrgetter("swatch"), None, key_cells("asked")),
        RowField("best", lambda row: row.best, swatch_data, {"best": attrgetter("address")}),
        RowField("given", attrgetter("best"), None, key_cells("given")),
        decimal("delta_E", "ΔE00"),
        RowField(
            "second",
            lambda row: row.second,
            _second_data,
            {"second": _second_address, **key_cells("second")},
        ),
        *plain("second_delta_E", "mutual", "tied", "grade", "grade_probability"),
        RowField("ranked_by", lambda row: BY_HUE if row.by_hue else "delta_E", cells=NOWHERE),
        RowField("cautions", _fading, list, {"cautions": "; ".join}),
    ]


def _fading(row: "TableRow") -> list[str]:
    """Which of the best and the second is known to fade sooner than the swatch."""
    pencils = [row.best, *([row.second] if row.second else [])]
    return [f"{one.address} {said}" for one in pencils if (said := fades_sooner(row.swatch, one))]


def _second_address(second: "Swatch | None") -> str:
    return second.address if second else ""


def _second_data(second: "Swatch | None") -> dict[str, object] | None:
    return swatch_data(second) if second else None


def _blocks(name: str, table: "CrossTable", say: Say) -> list[Block]:
    keys = ("chips", "mark", "delta_E", "swatch")
    return [
        Heading(f"against {name}"),
        grid_of(_table_fields(name), keys, table.rows, _table_remarks),
        Paragraph(
            "'=' marks two that are the nearest of each other, ≈ a second that cannot be told "
            "apart from the best."
        ),
        *([Paragraph(said(table.note, say), mark="!")] if table.note else []),
        Paragraph(""),
    ]


def _table_remarks(row: "TableRow") -> Sequence[str]:
    lines = [f"→ {swatch_words(row.best)}: {nearness_words(row)}"]
    if row.second is not None:
        tied = "≈" if row.tied else " "
        words = swatch_words(row.second)
        lines.append(Figures(f"{tied} {row.second_delta_E:.1f} {words}", f"{tied} {words}"))
    return [*lines, *[BY_HUE_WORDS] * row.by_hue, *(f"! {said}" for said in _fading(row))]
