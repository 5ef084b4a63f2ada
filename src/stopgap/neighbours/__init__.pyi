from .batches import nearest_in_batches as nearest_in_batches
from .estimator import LabNeighbors as LabNeighbors
from .index import SwatchIndex as SwatchIndex
from .medians import choose_medians as choose_medians
from .medians import in_cells as in_cells
