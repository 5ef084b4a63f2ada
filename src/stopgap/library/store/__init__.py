"""The library file: one SQLite file whose every change lands whole and can be undone."""
