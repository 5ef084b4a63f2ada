"""The answers of `translate` and `table`: what to use for each colour of a list, or of a range."""

from collections.abc import Mapping, Sequence
from operator import attrgetter

from stopgap.planner import BY_HUE, CrossTable, TableRow, TranslatedRow, Translation
from stopgap.reports.blocks import Block, Chip, Heading, Paragraph, Report, Say, remarks
from stopgap.reports.columns import (
    NOWHERE,
    RowField,
    cells_of,
    data_of,
    decimal,
    grid_of,
    only_shown,
    plain,
    swatch_field,
    titles_of,
)
from stopgap.reports.wording import stack_data, stack_words, swatch_data, swatch_words, target_data
from stopgap.swatches import LaidStack, Swatch


def translation_report(found: Translation, say: Say = str) -> Report:
    """JSON schema stopgap.translate/1."""
    fields = _fields(found)
    notes = remarks(found.notes, say)
    grid = grid_of(fields, ("chips", "delta_E", "shown grade", "shown asked"), found.rows, _remarks)
    worst = found.worst
    return Report(
        "stopgap.translate/1",
        {
            "rows": data_of(fields, found.rows),
            "total": found.total,
            "mean": found.mean,
            "worst": worst.delta_E if worst else None,
            "proved": found.proved,
            "notes": [note.text for note in notes],
            "paper": None,
            "marked": [],
        },
        [grid, *_summary(found), *notes],
        titles_of(fields),
        cells_of(fields, found.rows),
    )


def _fields(found: Translation) -> list[RowField[TranslatedRow]]:
    impossible = {id(row) for row in found.impossible}
    return [
        only_shown("chips", _chips),
        only_shown("shown grade", lambda row: row.grade or "none", "grade"),
        only_shown("shown asked", _asked_words, "asked, and what to use"),
        RowField("asked", _itself, _asked_data, {"asked": lambda row: row.asked.label}),
        RowField("label", lambda row: row.asked.caption),
        RowField("paper", lambda row: row.asked.paper or None),
        RowField("weight", lambda row: row.asked.weight, cells=NOWHERE),
        RowField("given", lambda row: row.given, _laid_data, {"given": _laid_words}),
        decimal("delta_E", "ΔE00"),
        *plain("grade", "likely_grade", "words"),
        RowField("second", lambda row: row.second, _laid_data, {"second": _laid_words}),
        *plain("second_delta_E"),
        RowField("tied", lambda row: row.tied, cells=NOWHERE),
        RowField("ranked_by", lambda row: BY_HUE if row.by_hue else "delta_E", cells=NOWHERE),
        *plain("cost_of_distinctness"),
        RowField("impossible", lambda row: id(row) in impossible, cells=NOWHERE),
        RowField("note", lambda row: row.asked.note or row.reason),
    ]


def _itself(row: TranslatedRow) -> TranslatedRow:
    return row


def _laid_data(laid: LaidStack | None) -> dict[str, object] | None:
    return stack_data(laid) if laid else None


def _laid_words(laid: LaidStack | None) -> str:
    return stack_words(laid) if laid else ""


def _asked_data(row: TranslatedRow) -> dict[str, object]:
    if row.asked.target is None:
        return {"label": row.asked.label, "lab": None}
    return target_data(row.asked.target)


def _asked_words(row: TranslatedRow) -> str:
    asked = f"{row.asked.label} {row.asked.caption}".strip()
    asked += f", on {row.asked.paper}" * bool(row.asked.paper)
    return f"{asked} ({row.asked.note})" if row.asked.note and row.given else asked


def _chips(row: TranslatedRow) -> Chip:
    labs = tuple(lab for lab in (row.asked.lab, row.given and row.given.lab) if lab)
    return Chip(labs, captions=("asked", "use")[: len(labs)])


def _remarks(row: TranslatedRow) -> Sequence[str]:
    if row.given is None:
        return [f"! {row.reason}"]
    said = [f"→ {stack_words(row.given)}", f"{_predicted(row.given)}{row.words}"]
    if row.promise is not None and row.promise.chance:
        said.append(row.promise.chance)
    if row.by_hue:
        said.append("nothing is near: the hue is kept, rather than ΔE00 least")
    cost = row.cost_of_distinctness or 0.0
    if cost > 0.05 and row.nearest is not None:
        said.append(f"{cost:.1f} farther than {stack_words(row.nearest)}, needed elsewhere")
    elif row.second is not None and row.tied:
        said.append(f"≈ cannot be told apart from {stack_words(row.second)}")
    return said


def _predicted(laid: LaidStack) -> str:
    return "predicted: " if laid.recipe else ""


def _summary(found: Translation) -> list[Block]:
    blocks: list[Block] = []
    if found.mean is not None and found.worst is not None:
        blocks.append(
            Paragraph(
                f"Weighted mean ΔE {found.mean:.1f}; the worst is {found.worst.delta_E:.1f}, "
                f"{found.worst.asked.label}."
            )
        )
    if found.impossible:
        names = ", ".join(row.asked.label for row in found.impossible)
        blocks.append(Paragraph(f"Cannot really be had: {names}.", mark="!"))
    if not found.proved:
        blocks.append(Paragraph("The time ran out before this was proved to be best.", mark="!"))
    return blocks


def table_report(tables: Mapping[str, CrossTable], say: Say = str) -> Report:
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
                        "lab": list(table.shift.lab),
                        "pairs": table.shift.pairs,
                        "significant": table.shift.significant,
                        "removed": table.removed,
                        "flare": table.correction.flare if table.correction else None,
                        "gain": table.correction.gain if table.correction else None,
                    },
                    "warning": table.warning,
                }
                for name, table in tables.items()
            ],
            "paper": None,
            "marked": [],
        },
        [block for name, table in tables.items() for block in _blocks(name, table, say)],
        titles_of(fields),
        cells_of(fields, rows),
    )


def _table_fields(name: str) -> list[RowField[TableRow]]:
    """The fields, as a table against the range of that name is headed."""
    return [
        only_shown(
            "chips", lambda row: Chip((row.swatch.lab, row.best.lab), captions=("swatch", "best"))
        ),
        only_shown("mark", lambda row: "=" if row.mutual else ""),
        swatch_field(
            ("range", "code", "name"),
            shown=swatch_words,
            title=f"swatch, its best in {name}, the second",
        ),
        RowField("best", lambda row: row.best, swatch_data, {"best": attrgetter("address")}),
        decimal("delta_E", "ΔE00"),
        RowField("second", lambda row: row.second, _second_data, {"second": _second_address}),
        *plain("second_delta_E", "mutual"),
    ]


def _second_data(second: Swatch | None) -> dict[str, object] | None:
    return swatch_data(second) if second else None


def _second_address(second: Swatch | None) -> str:
    return second.address if second else ""


def _blocks(name: str, table: CrossTable, say: Say) -> list[Block]:
    keys = ("chips", "mark", "delta_E", "swatch")
    return [
        Heading(f"against {name}"),
        grid_of(_table_fields(name), keys, table.rows, _table_remarks),
        Paragraph("'=' marks two that are the nearest of each other."),
        *([Paragraph(say(table.note), mark="!")] if table.note else []),
        Paragraph(""),
    ]


def _table_remarks(row: TableRow) -> Sequence[str]:
    said = [f"→ {swatch_words(row.best)}"]
    if row.second is not None:
        said.append(f"  {row.second_delta_E:.1f} {swatch_words(row.second)}")
    return said
