"""`python tests/faults/interrupts.py [FIRST:END] [--tally FILE]`: a start cut short a seed, 200.

Each starts the command line as its launcher does and interrupts it some moment within the first
300 ms. Once anything of stopgap is loading, what is said is one true sentence; what Python says
before that, of its own beginning, is Python's.
"""

import os
import random
import signal
import subprocess
import sys
import tempfile
import time
from pathlib import Path

from long_runs import Asked, asked, run

WITHIN = 0.3  # seconds
LAUNCHER = "import sys; from stopgap.cli import main; sys.exit(main())"
STOPPED = "stopgap: stopped before anything was changed."


def start(library: Path, *words: str) -> "subprocess.Popen[str]":
    """A command that has begun."""
    return subprocess.Popen(
        [sys.executable, "-c", LAUNCHER, "--library", str(library), *words],
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
    )


def outcome(library: Path, seed: int) -> str:
    """What one that was interrupted said."""
    begun = start(library, "match", "Fen:1")
    time.sleep(random.Random(f"interrupt {seed}").uniform(0, WITHIN))
    begun.send_signal(signal.SIGINT)
    said, error = begun.communicate()
    if error.strip() == STOPPED:
        return "told"
    if begun.returncode == 0 and said and not error:
        return "done before"
    if not error and begun.returncode == -signal.SIGINT:
        return "before Python listened"
    stopgap = os.sep + os.path.join("stopgap", "")
    assert stopgap not in error, error
    assert "KeyboardInterrupt" in error, error
    return "in the launcher's line" if 'File "<string>"' in error else "Python's own start"


def main(to_try: Asked) -> int:
    """Interrupt them one by one; how many were faults."""
    with tempfile.TemporaryDirectory() as folder:
        library = Path(folder) / "library.sqlite"
        for code in ("1", "2"):
            adding = ("swatch", "add", "Fen", code, "--lab", "50", "0", "0", "--new-range")
            assert start(library, *adding).wait() == 0
        signal.signal(signal.SIGINT, signal.default_int_handler)  # a shell's jobs ignore it
        return run("interrupts", to_try, lambda seed: outcome(library, seed))


if __name__ == "__main__":
    sys.exit(main(asked(__doc__, 200)) > 0)
