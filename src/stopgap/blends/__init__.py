"""Families, light-to-dark order, blends between two colours, and their gaps."""

from stopgap.faces import attach

__getattr__, __dir__, __all__ = attach(__name__, __file__)
