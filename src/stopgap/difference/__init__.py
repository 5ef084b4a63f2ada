"""How far two colours are from each other, one formula a file.

The formulas are in METRICS; `delta_E` applies one of them.
"""

from stopgap.faces import attach

__getattr__, __dir__, __all__ = attach(__name__, __file__)
