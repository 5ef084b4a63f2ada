"""Illuminants, observers, spectra, adaptation and sRGB: thin over colour-science.

colour-science takes over half a second to import, so that it is imported on the first call that
needs it: whites other than D50 and D65, adaptation, spectra. Lab, sRGB, colours typed as text and
the optimal colour solid do without.
"""

from stopgap.faces import attach

__getattr__, __dir__, __all__ = attach(__name__, __file__)
