"""JSON and CSV of a report."""

import json
from typing import Any

from stopgap.library.formulas import guard
from stopgap.reports.blocks import Report
from stopgap.swatches import Swatch, Target


def render_json(report: Report) -> str:
    """One JSON object, its schema first."""
    return json.dumps({"schema": report.schema, **report.data}, ensure_ascii=False, indent=2) + "\n"


def render_csv(report: Report) -> str:
    """CSV with a header; text that a spreadsheet might run is guarded by an apostrophe."""
    import csv
    import io

    stream = io.StringIO(newline="")
    writer = csv.writer(stream, lineterminator="\n")
    writer.writerow(report.columns)
    writer.writerows([_cell(value) for value in row] for row in report.rows)
    return stream.getvalue()


def swatch_data(swatch: Swatch) -> dict[str, Any]:
    """A swatch in JSON, everywhere the same fields."""
    return {
        "range": swatch.range,
        "code": swatch.code,
        "name": swatch.name,
        "lab": list(swatch.lab),
        "owned": swatch.owned,
        "status": str(swatch.status),
    }


def target_data(target: Target) -> dict[str, Any]:
    """A target in JSON: a swatch, or label and Lab of a free colour."""
    if isinstance(target, Swatch):
        return swatch_data(target)
    return {"label": target.label, "lab": list(target.lab)}


def _cell(value: Any) -> Any:
    if isinstance(value, bool):
        return "yes" if value else "no"
    return guard(value) if isinstance(value, str) else value
