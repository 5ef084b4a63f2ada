"""Every kind of file as a table of text cells, read cell by cell in one dialect."""
