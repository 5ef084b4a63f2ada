"""A spreadsheet as people keep it: what its columns hold, and a range file made of it."""
