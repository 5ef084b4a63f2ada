"""How far two colours are from each other, one formula a file.

The formulas are in METRICS; `delta_E` applies one of them.
"""

import lazy_loader

__getattr__, __dir__, __all__ = lazy_loader.attach_stub(__name__, __file__)
