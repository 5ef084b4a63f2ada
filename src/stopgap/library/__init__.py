"""The user's ranges in one SQLite file, and the file formats they come from."""

from stopgap.faces import attach

__getattr__, __dir__, __all__ = attach(__name__, __file__)
