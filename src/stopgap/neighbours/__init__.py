"""The exact nearest swatches to a colour."""

from stopgap.neighbours.batches import nearest_in_batches
from stopgap.neighbours.index import SwatchIndex

__all__ = ["SwatchIndex", "nearest_in_batches"]
