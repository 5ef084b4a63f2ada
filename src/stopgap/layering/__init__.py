"""Optics of layers: what several pencils laid over each other look like.

`predict` gives their colour, `uncertainty` how sure it is, `best_recipes` searches them, and
`calibrate` learns paper, hand and pencils from layered swatches. Models are in MODELS.
"""

import lazy_loader

__getattr__, __dir__, __all__ = lazy_loader.attach_stub(__name__, __file__)
