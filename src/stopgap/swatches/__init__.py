"""What a pencil leaves on paper, as plain immutable values without any input or output."""

from stopgap.faces import attach

__getattr__, __dir__, __all__ = attach(__name__, __file__)
