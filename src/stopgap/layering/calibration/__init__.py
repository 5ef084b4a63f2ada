"""What layered swatches of the user's own teach of paper, pressures and pencils."""

import lazy_loader

__getattr__, __dir__, __all__ = lazy_loader.attach_stub(__name__, __file__)
