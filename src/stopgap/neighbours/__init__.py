"""The exact nearest swatches to a colour."""

from stopgap.neighbours.index import SwatchIndex

__all__ = ["SwatchIndex"]
