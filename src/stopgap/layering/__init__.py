"""Optics of layers: what several pencils laid over each other look like.

`predict` gives their colour, `uncertainty` how sure it is, `best_recipes` searches them, and
`calibrate` learns paper, hand and pencils from layered swatches. Models are in MODELS.
"""

from stopgap.faces import attach

__getattr__, __dir__, __all__ = attach(__name__, __file__)
