"""Decisions: what stands in for a shade, what to use for a list, what to buy."""

from stopgap.faces import attach

__getattr__, __dir__, __all__ = attach(__name__, __file__)
