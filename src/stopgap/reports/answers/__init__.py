"""Answers as blocks, columns and data: one module an answer."""
