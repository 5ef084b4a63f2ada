"""Answers about ranges: what was read, what they hold, how they were measured."""
