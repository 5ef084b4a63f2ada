"""Reports of a list translated and of one range against others."""

from collections.abc import Sequence

from stopgap.planner import CrossTable, TranslatedRow, Translation
from stopgap.reports.blocks import Block, Chip, Column, Grid, Heading, Paragraph, Report
from stopgap.reports.data import swatch_data, target_data
from stopgap.reports.stacks import stack_data, stack_words
from stopgap.reports.words import swatch_words

_TRANSLATION_COLUMNS = (
    "asked",
    "label",
    "given",
    "delta_E",
    "grade",
    "words",
    "second",
    "second_delta_E",
    "cost_of_distinctness",
    "note",
)
_TABLE_COLUMNS = (
    "range",
    "code",
    "name",
    "best",
    "delta_E",
    "second",
    "second_delta_E",
    "mutual",
)


def translation_report(found: Translation, labels: Sequence[str]) -> Report:
    """JSON schema stopgap.translate/1; `labels` are the list's own, row by row."""
    impossible = {id(row) for row in found.impossible}
    worst = found.worst
    data = {
        "rows": [
            {
                "asked": _asked_data(row),
                "label": label,
                "weight": row.asked.weight,
                "given": stack_data(row.given) if row.given else None,
                "delta_E": row.delta_E,
                "grade": row.grade,
                "words": row.words,
                "second": stack_data(row.second) if row.second else None,
                "second_delta_E": row.second_delta_E,
                "tied": row.tied,
                "cost_of_distinctness": row.cost_of_distinctness,
                "impossible": id(row) in impossible,
                "note": row.asked.note or row.reason,
            }
            for row, label in zip(found.rows, labels, strict=True)
        ],
        "total": found.total,
        "mean": found.mean,
        "worst": worst.delta_E if worst else None,
        "proved": found.proved,
    }
    rows = [
        (
            row.asked.label,
            label,
            stack_words(row.given) if row.given else "",
            row.delta_E,
            row.grade,
            row.words,
            stack_words(row.second) if row.second else "",
            row.second_delta_E,
            row.cost_of_distinctness,
            row.asked.note or row.reason,
        )
        for row, label in zip(found.rows, labels, strict=True)
    ]
    blocks: list[Block] = [_translation_grid(found, labels), *_summary(found)]
    return Report("stopgap.translate/1", data, blocks, _TRANSLATION_COLUMNS, rows)


def table_report(tables: Sequence[tuple[str, CrossTable]]) -> Report:
    """JSON schema stopgap.table/1: one table for each of the other ranges."""
    data = {
        "tables": [
            {
                "range": name,
                "rows": [
                    {
                        "swatch": swatch_data(row.swatch),
                        "best": swatch_data(row.best),
                        "delta_E": row.delta_E,
                        "second": swatch_data(row.second) if row.second else None,
                        "second_delta_E": row.second_delta_E,
                        "mutual": row.mutual,
                    }
                    for row in table.rows
                ],
                "shift": {
                    "lab": list(table.shift.lab),
                    "pairs": table.shift.pairs,
                    "significant": table.shift.significant,
                    "removed": table.removed,
                },
                "warning": table.warning,
            }
            for name, table in tables
        ]
    }
    rows = [
        (
            row.swatch.range,
            row.swatch.code,
            row.swatch.name,
            row.best.address,
            row.delta_E,
            row.second.address if row.second else "",
            row.second_delta_E,
            row.mutual,
        )
        for _, table in tables
        for row in table.rows
    ]
    blocks = [block for name, table in tables for block in _table_blocks(name, table)]
    return Report("stopgap.table/1", data, blocks, _TABLE_COLUMNS, rows)


def _asked_data(row: TranslatedRow) -> dict[str, object]:
    if row.asked.target is None:
        return {"label": row.asked.label, "lab": None}
    return target_data(row.asked.target)


def _translation_grid(found: Translation, labels: Sequence[str]) -> Grid:
    columns = [
        Column(""),
        Column("ΔE00", number=True),
        Column("grade"),
        Column("asked, and what to use"),
    ]
    rows: list[list[str | Chip]] = []
    remarks = {}
    for place, (row, label) in enumerate(zip(found.rows, labels, strict=True)):
        colours = [lab for lab in (row.asked.lab, row.given and row.given.lab) if lab]
        asked = f"{row.asked.label} {label}".strip()
        rows.append(
            [
                Chip(tuple(colours), captions=("asked", "use")[: len(colours)]),
                "" if row.delta_E is None else f"{row.delta_E:.1f}",
                row.grade or "none",
                f"{asked} ({row.asked.note})" if row.asked.note and row.given else asked,
            ]
        )
        remarks[place] = _row_remarks(row)
    return Grid(columns, rows, remarks)


def _row_remarks(row: TranslatedRow) -> list[str]:
    if row.given is None:
        return [f"! {row.reason}"]
    remarks = [f"→ {stack_words(row.given)}", row.words]
    cost = row.cost_of_distinctness or 0.0
    if cost > 0.05 and row.nearest is not None:
        remarks.append(f"{cost:.1f} farther than {stack_words(row.nearest)}, needed elsewhere")
    elif row.tied and row.second is not None:
        remarks.append(f"≈ cannot be told apart from {stack_words(row.second)}")
    return remarks


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


def _table_blocks(name: str, table: CrossTable) -> list[Block]:
    columns = [
        Column(""),
        Column("", number=False),
        Column("ΔE00", number=True),
        Column(f"swatch, its best in {name}, the second"),
    ]
    rows: list[list[str | Chip]] = [
        [
            Chip((row.swatch.lab, row.best.lab), captions=("swatch", "best")),
            "=" if row.mutual else "",
            f"{row.delta_E:.1f}",
            swatch_words(row.swatch),
        ]
        for row in table.rows
    ]
    remarks = {}
    for place, row in enumerate(table.rows):
        remarks[place] = [f"→ {swatch_words(row.best)}"]
        if row.second is not None:
            remarks[place].append(f"  {row.second_delta_E:.1f} {swatch_words(row.second)}")
    return [
        Heading(f"against {name}"),
        Grid(columns, rows, remarks),
        Paragraph("'=' marks two that are the nearest of each other."),
        *([Paragraph(table.warning, mark="!")] if table.warning else []),
        Paragraph(""),
    ]
