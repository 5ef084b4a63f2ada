"""The `stopgap` command. Each command's module is loaded only when it is called."""

from stopgap.cli.process import main

__all__ = ["main"]
