"""Answers as rows for people and programs."""

from stopgap.faces import attach

__getattr__, __dir__, __all__ = attach(__name__, __file__)
