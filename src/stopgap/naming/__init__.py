"""What a colour is called by an open standard, and when a label misleads."""

import lazy_loader

__getattr__, __dir__, __all__ = lazy_loader.attach_stub(__name__, __file__)
