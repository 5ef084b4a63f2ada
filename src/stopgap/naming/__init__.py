"""What a colour is called by an open standard, and when a label misleads."""

from typing import TYPE_CHECKING

from stopgap.lazy import on_first_use

if TYPE_CHECKING:
    from stopgap.naming.basic_terms import BASIC_TERMS, TermLimits, misleading_term
    from stopgap.naming.centroids import (
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

__getattr__ = on_first_use(
    __name__,
    {
        "basic_terms": "BASIC_TERMS TermLimits misleading_term",
        "centroids": "Category ColourName categories colour_name iscc_nbs nearest_categories",
    },
)
