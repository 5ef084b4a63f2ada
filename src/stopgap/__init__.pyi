from . import blends as blends
from . import colorimetry as colorimetry
from . import difference as difference
from . import errors as errors
from . import layering as layering
from . import naming as naming
from . import neighbours as neighbours
from . import planner as planner
from . import reports as reports
from .api import ColourRange as ColourRange
from .api import Swatch as Swatch
from .api import blend as blend
from .api import families as families
from .api import from_frame as from_frame
from .api import gaps as gaps
from .api import import_range as import_range
from .api import layer as layer
from .api import match as match
from .api import open_library as open_library
from .api import shop as shop
from .api import target as target
from .api import to_frame as to_frame
from .api import translate as translate
from .neighbours import LabNeighbors as LabNeighbors
from .planner.arranging import demo_library as demo_library

__version__: str
