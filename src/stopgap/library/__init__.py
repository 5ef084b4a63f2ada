"""The user's ranges in one SQLite file, and the file formats they come from."""

from stopgap.library.store import Library, open_library

__all__ = ["Library", "open_library"]
