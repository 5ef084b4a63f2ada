"""What a colour is called by an open standard, and when a label misleads."""

from stopgap.faces import attach

__getattr__, __dir__, __all__ = attach(__name__, __file__)
