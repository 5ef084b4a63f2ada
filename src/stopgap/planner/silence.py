"""Keep a compiled library from writing to the process's standard output."""

import ctypes
import os
import sys
from collections.abc import Iterator
from contextlib import contextmanager


@contextmanager
def silent_standard_output() -> Iterator[None]:
    """Send what compiled code prints nowhere, so that it never stands among rows for programs.

    HiGHS prints a line of its own now and then, whatever its options say (seen with scipy 1.17.1).
    Only file descriptor 1 is turned away, and put back; Python's own `sys.stdout` is flushed
    before. Where the descriptor is closed or the system is not POSIX, nothing is done.
    """
    try:
        kept = os.dup(1) if os.name == "posix" else -1
    except OSError:
        kept = -1
    if kept < 0:
        yield
        return
    sys.stdout.flush()
    nowhere = os.open(os.devnull, os.O_WRONLY)
    os.dup2(nowhere, 1)
    try:
        yield
    finally:
        ctypes.CDLL(None).fflush(None)  # what C still holds back must go the same way
        os.dup2(kept, 1)
        os.close(kept)
        os.close(nowhere)
