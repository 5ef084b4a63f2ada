from . import blends as blends
from . import colorimetry as colorimetry
from . import difference as difference
from . import layering as layering
from . import naming as naming
from . import neighbours as neighbours
from . import planner as planner
from . import reports as reports
from .planner.arranging import demo_library as demo_library
from .planner.arranging import open_library as open_library

__version__: str
