"""How the process of a command begins and ends, without what a short command need not wait for."""

import gc
import os
import sys
from collections.abc import Sequence
from contextlib import suppress
from typing import NoReturn

from stopgap.cli.program import run

# Importing makes some hundred thousand objects and hardly any cycle to collect, and looking through
# them takes 10 ms; arrays are freed without collecting.
_OBJECTS_BETWEEN_COLLECTIONS = 1_000_000


def main(arguments: Sequence[str] | None = None) -> NoReturn:
    """Run the command line and end the process with its exit status."""
    gc.set_threshold(_OBJECTS_BETWEEN_COLLECTIONS)
    for stream in (sys.stdout, sys.stderr):
        if hasattr(stream, "reconfigure"):
            stream.reconfigure(errors="replace")
    _leave(run(arguments))


def _leave(status: int) -> NoReturn:
    """End the process; memory is left to the system, which saves a sixth of a short command."""
    if "multiprocessing" not in sys.modules:  # else workers are to be dismissed first
        for stream in (sys.stdout, sys.stderr):
            with suppress(OSError, ValueError):
                stream.flush()
        os._exit(status)
    sys.exit(status)
