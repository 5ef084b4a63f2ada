"""Answers as blocks, columns and data: one function an answer."""

from stopgap.faces import attach

__getattr__, __dir__, __all__ = attach(__name__, __file__)
