"""Answers as rows for people and programs."""

from stopgap.reports.blocks import Report
from stopgap.reports.render import RENDERERS

__all__ = ["RENDERERS", "Report"]
