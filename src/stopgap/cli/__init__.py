"""The `stopgap` command. Each command's module is loaded only when it is called."""

TYPE_CHECKING = False  # typing takes a while to load, and an interrupt meanwhile is to be told
if TYPE_CHECKING:
    from collections.abc import Sequence
    from typing import NoReturn


def main(arguments: "Sequence[str] | None" = None) -> "NoReturn":
    """Run the command line and end the process with its exit status."""
    try:
        from stopgap.cli.program import main as run_to_its_end

        run_to_its_end(arguments)
    except (KeyboardInterrupt, RuntimeError) as error:  # while modules load
        # before Python 3.12 one that comes while a class is made is wrapped in an error
        if not isinstance(error.__cause__ or error, KeyboardInterrupt):
            raise
        import os
        import sys

        sys.stderr.write("stopgap: stopped before anything was changed.\n")
        os._exit(1)


__all__ = ["main"]
