"""Coloured charts and what scanners and phones make of them, simulated from spectra.

Pencils and paper are those of the demo's generator, lamps CIE illuminants, sensors either smooth
parametric curves or cameras measured by others (colour-science). No real scan was ever tried.
"""
