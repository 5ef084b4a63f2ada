"""Families, light-to-dark order, paths between two colours, and their gaps."""

from stopgap.blends.blending import (
    Blend,
    Point,
    blend,
    blend_of_family,
)
from stopgap.blends.family_table import FAMILIES, boundary_table, family_fits
from stopgap.blends.filing import Family, Filed, Pin, families, family_name, file_swatches
from stopgap.blends.gaps import Crossing, Filler, Gap, direction_words, find_gaps
from stopgap.blends.graph import DEFAULT_LIMIT, Prefer
from stopgap.blends.ordering import DEFAULT_TOLERANCE, Order, order

__all__ = [
    "DEFAULT_LIMIT",
    "DEFAULT_TOLERANCE",
    "FAMILIES",
    "Blend",
    "Crossing",
    "Family",
    "Filed",
    "Filler",
    "Gap",
    "Order",
    "Pin",
    "Point",
    "Prefer",
    "blend",
    "blend_of_family",
    "boundary_table",
    "direction_words",
    "families",
    "family_fits",
    "family_name",
    "file_swatches",
    "find_gaps",
    "order",
]
