"""Illuminants, observers, spectra, adaptation and sRGB: thin over colour-science."""
