"""The `stopgap` command. Each command's module is loaded only when it is called."""

from stopgap.cli.program import main

__all__ = ["main"]
