"""JSON and CSV of a report."""

import json
from typing import Any

from stopgap.library import guard
from stopgap.reports.blocks import Report


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


def _cell(value: Any) -> Any:
    if isinstance(value, bool):
        return "yes" if value else "no"
    return guard(value) if isinstance(value, str) else value
