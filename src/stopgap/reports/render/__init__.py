"""A report as text for people and programs: JSON and CSV here, one module for each page."""

from collections.abc import Callable, Mapping
from types import MappingProxyType
from typing import Any

from stopgap.reports.blocks import Report


def _terminal(report: Report) -> str:
    from stopgap.reports.render.terminal import render_terminal

    return render_terminal(report)


def _json(report: Report) -> str:
    """One JSON object, its schema first."""
    import json

    from stopgap.library import written_out

    text = json.dumps({"schema": report.schema, **report.data}, ensure_ascii=False, indent=2)
    return written_out(text) + "\n"


def _csv(report: Report) -> str:
    """CSV with a header; text that a spreadsheet might run is guarded by an apostrophe."""
    import csv
    import io

    from stopgap.library import guard, written_out

    def cell(value: Any) -> Any:
        if isinstance(value, bool):
            return "true" if value else "false"
        return guard(written_out(value)) if isinstance(value, str) else value

    stream = io.StringIO(newline="")
    writer = csv.writer(stream, lineterminator="\n")
    writer.writerow(report.columns)
    writer.writerows([cell(value) for value in row] for row in report.rows)
    return stream.getvalue()


def _html(report: Report) -> str:
    from stopgap.reports.render.html import render_html

    return render_html(report)


RENDERERS: Mapping[str, Callable[[Report], str]] = MappingProxyType(
    {"terminal": _terminal, "json": _json, "csv": _csv, "html": _html}
)
"""The ways in which a report can be shown; what an output needs is imported where it is used."""
