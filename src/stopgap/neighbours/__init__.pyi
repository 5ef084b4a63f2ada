from .batches import nearest_in_batches as nearest_in_batches
from .index import SwatchIndex as SwatchIndex
