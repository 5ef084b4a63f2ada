"""Ranges of pencils: from a file, into the library, corrected, edited and written again."""
