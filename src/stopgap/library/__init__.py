"""The user's ranges in one SQLite file, and the file formats they come from."""
