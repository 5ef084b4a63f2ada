"""Ranges beside each other: nearest swatches, and whether one lies off as a whole."""
