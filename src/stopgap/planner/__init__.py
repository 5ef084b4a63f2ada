"""Decisions: what stands in for a shade, what to use for a list, what to buy."""

import lazy_loader

__getattr__, __dir__, __all__ = lazy_loader.attach_stub(__name__, __file__)
