"""Families, light-to-dark order, blends between two colours, and their gaps."""

import lazy_loader

__getattr__, __dir__, __all__ = lazy_loader.attach_stub(__name__, __file__)
