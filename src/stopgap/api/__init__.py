"""Stopgap from Python: questions as commands ask them, frames, and answers that show themselves.

What stands here is what `import stopgap` gives. A question takes colours as text, as swatches or as
CIE L*, a*, b*, and pencils as a library, ranges, swatches, an array of colours or a frame.
"""

from stopgap.faces import attach

__getattr__, __dir__, __all__ = attach(__name__, __file__)
