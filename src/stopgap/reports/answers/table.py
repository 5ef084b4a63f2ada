"""The answer of `table`: a range set beside others."""

from collections.abc import Mapping, Sequence
from operator import attrgetter

from stopgap.planner import CrossTable, TableRow
from stopgap.reports.blocks import Block, Chip, Heading, Paragraph, Report
from stopgap.reports.columns import (
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
from stopgap.reports.wording import swatch_data, swatch_words
from stopgap.swatches import Swatch


def table_report(tables: Mapping[str, CrossTable]) -> Report:
    """JSON schema stopgap.table/1: one table for each of the other ranges, by its name."""
    fields = _fields("")
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
                    },
                    "warning": table.warning,
                }
                for name, table in tables.items()
            ]
        },
        [block for name, table in tables.items() for block in _blocks(name, table)],
        titles_of(fields),
        cells_of(fields, rows),
    )


def _fields(name: str) -> list[RowField[TableRow]]:
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


def _blocks(name: str, table: CrossTable) -> list[Block]:
    keys = ("chips", "mark", "delta_E", "swatch")
    return [
        Heading(f"against {name}"),
        grid_of(_fields(name), keys, table.rows, _remarks),
        Paragraph("'=' marks two that are the nearest of each other."),
        *([Paragraph(table.warning, mark="!")] if table.warning else []),
        Paragraph(""),
    ]


def _remarks(row: TableRow) -> Sequence[str]:
    said = [f"→ {swatch_words(row.best)}"]
    if row.second is not None:
        said.append(f"  {row.second_delta_E:.1f} {swatch_words(row.second)}")
    return said
