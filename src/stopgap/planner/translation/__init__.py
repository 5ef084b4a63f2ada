"""Somebody else's list of colours, laid with the pencils at hand."""
