"""Answers as rows for people and programs."""

from collections.abc import Callable, Mapping
from types import MappingProxyType

from stopgap.reports.blocks import Report
from stopgap.reports.data import render_csv, render_json

__all__ = ["RENDERERS", "Report"]


def _render_terminal(report: Report) -> str:
    from stopgap.reports.terminal import render_terminal

    return render_terminal(report)


def _render_html(report: Report) -> str:
    from stopgap.reports.html import render_html

    return render_html(report)


RENDERERS: Mapping[str, Callable[[Report], str]] = MappingProxyType(
    {
        "terminal": _render_terminal,
        "json": render_json,
        "csv": render_csv,
        "html": _render_html,
    }
)
"""The ways in which a report can be shown; jinja2 is imported only where it is used.
"""
