"""A report as text for people and programs: one module for each output."""

from collections.abc import Callable, Mapping
from types import MappingProxyType

from stopgap.reports.blocks import Report


def _terminal(report: Report) -> str:
    from stopgap.reports.render.terminal import render_terminal

    return render_terminal(report)


def _json(report: Report) -> str:
    from stopgap.reports.render.data import render_json

    return render_json(report)


def _csv(report: Report) -> str:
    from stopgap.reports.render.data import render_csv

    return render_csv(report)


def _html(report: Report) -> str:
    from stopgap.reports.render.html import render_html

    return render_html(report)


RENDERERS: Mapping[str, Callable[[Report], str]] = MappingProxyType(
    {"terminal": _terminal, "json": _json, "csv": _csv, "html": _html}
)
"""The ways in which a report can be shown; what an output needs is imported where it is used."""
