"""The user's ranges in one SQLite file, and the file formats they come from."""

import lazy_loader

__getattr__, __dir__, __all__ = lazy_loader.attach_stub(__name__, __file__)
