"""Stand-ins, layering recipes and gaps for people who draw with coloured pencils.

Public names are resolved on first use, so that `import stopgap` costs next to nothing.

>>> import stopgap
>>> float(round(stopgap.difference.delta_E([50, 2.6772, -79.7751], [50, 0, -82.7485]), 4))
2.0425
"""

from stopgap.faces import attach

__version__ = "0.1.0"

__getattr__, __dir__, __all__ = attach(__name__, __file__)
