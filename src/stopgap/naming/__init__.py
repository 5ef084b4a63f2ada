"""What a colour is called by an open standard, and when a label misleads."""

from stopgap.naming.basic_terms import BASIC_TERMS, TermLimits, misleading_term
from stopgap.naming.iscc_nbs import (
    Category,
    ColourName,
    categories,
    colour_name,
    iscc_nbs,
    nearest_categories,
)

__all__ = [
    "BASIC_TERMS",
    "Category",
    "ColourName",
    "TermLimits",
    "categories",
    "colour_name",
    "iscc_nbs",
    "misleading_term",
    "nearest_categories",
]
