"""Formulas of colour difference, one a file, named for author or standard and year."""
