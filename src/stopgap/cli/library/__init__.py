"""Commands that change the library or show what is in it."""
