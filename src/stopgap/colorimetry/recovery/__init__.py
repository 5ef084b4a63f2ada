"""The reflectance that lies behind a colour: the plainest, others as near, and what is likely."""

import lazy_loader

__getattr__, __dir__, __all__ = lazy_loader.attach_stub(__name__, __file__)
