"""Which family a swatch belongs to, and the order of a family from light to dark."""
