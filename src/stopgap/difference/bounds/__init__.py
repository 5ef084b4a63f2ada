"""Proved lower bounds of each difference over a box of colours."""
