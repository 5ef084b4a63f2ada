"""What scripts that damage input share: the damage, and batches in a process with limits.

A batch is forked from a process that has all its modules loaded, so that an input costs what its
reader costs; one that dies, hangs, prints or takes too much memory names the input it was at.
"""

import atexit
import json
import mmap
import os
import random
import resource
import signal
import sys
import tempfile
import traceback
from collections import Counter
from collections.abc import Callable, Sequence
from pathlib import Path
from shutil import rmtree
from typing import NoReturn

from long_runs import PEAK, together

BATCH = 250
WORDS = (
    *(b"<", b">", b"&", b'"', b"\0", b"\xff", b"\n", b",", b";", b"=1+1", b"</row>", b"<v>", b"-1"),
    *(b"2000000000", b"XFD1048576", b"1e999", b"END_DATA\n", b"<![CDATA[", b"]]>", b"<!--"),
    *(b"&#0;", b't="s"', b"<!DOCTYPE a>", b"NUMBER_OF_SETS 3\n", b"\t", b"\r", b"'", b"%", b"nan"),
    *(b'table:number-columns-repeated="99999"', b"code", b"L", b"nm400", b"hex", b"#c04a2b", b":"),
    *(b"lab(52 40 30)", b"rgb(1,2,3)", b"\xe2\x80\xae", b"\xc2\x9b", b"yes", b"0,5", b"M3", b"10"),
)
_PATIENCE = 20  # seconds an input
_MEMORY = 2**30  # bytes of address space, which holds numpy's libraries too
_MOST = 500  # MB that are in memory at once
_MOST_TOLD = 5


def changed(data: bytes, rng: random.Random, words: Sequence[bytes] = WORDS) -> bytes:
    """One to four changes: a byte, a word put in or over, a stretch lost, doubled or moved."""
    done = bytearray(data)
    for _ in range(rng.choice((1, 1, 2, 3, 4))):
        at = rng.randrange(len(done) + 1)
        end = min(len(done), at + rng.choice((1, 2, 8, 40, 200)))
        kind = rng.randrange(6)
        if kind == 0 and at < len(done):
            done[at] = rng.randrange(256)
        elif kind == 1:
            done[at:at] = rng.choice(words)
        elif kind == 2:
            word = rng.choice(words)
            done[at : at + len(word)] = word
        elif kind == 3:
            del done[at:end]
        elif kind == 4:
            done[at:at] = done[at:end] * rng.choice((1, 1, 30))
        else:
            stretch = done[at:end]
            del done[at:end]
            to = rng.randrange(len(done) + 1)
            done[to:to] = stretch
    return bytes(done)


Outcome = Callable[[int], str]


def tried(
    outcome: Outcome,
    numbers: range,
    at: Callable[[int, Counter[str]], object] = lambda _number, _found: None,
) -> Counter[str]:
    """What became of inputs; AssertionError tells the faults with their tracebacks."""
    found: Counter[str] = Counter()
    told: dict[str, str] = {}
    for number in numbers:
        at(number, found)
        try:
            found[outcome(number)] += 1
        except Exception:  # noqa: BLE001 (told, and gone on)
            text = traceback.format_exc()
            told.setdefault(text[-300:], f"input {number}:\n{text[-1500:]}")
    assert not told, "\n".join([*told.values()][:_MOST_TOLD])
    return found


def batch(outcome: Outcome, first: int, alone: Outcome | None = None) -> Counter[str]:
    """Let a process try a batch of inputs; AssertionError where one is a fault.

    An input that ends the process is tried again `alone`, where that is allowed.
    """
    numbers = range(first * BATCH, (first + 1) * BATCH)
    found: Counter[str] = Counter()
    while numbers:
        status, done, text = _forked(outcome, numbers)
        last = numbers.start + done.total() - done[PEAK]
        if os.WIFSIGNALED(status) and alone is not None:
            found = together(found, together(done, tried(alone, range(last, last + 1))))
            numbers = range(last + 1, numbers.stop)
            continue
        assert status == 0, f"input {last}, status {os.waitstatus_to_exitcode(status)}:\n{text}"
        assert not text, f"inputs {numbers}: what was said beside the answer is\n{text}"
        assert done[PEAK] < _MOST, f"inputs {numbers}: {done[PEAK]} MB"
        return together(found, done)
    return found


def _forked(outcome: Outcome, numbers: range) -> tuple[int, Counter[str], str]:
    """How a process ended that tried inputs, what became of them, and what it said."""
    counts = mmap.mmap(-1, 4096)
    with tempfile.TemporaryFile() as said:
        child = os.fork()
        if child == 0:
            _child(outcome, numbers, counts, said.fileno())
        _, status = os.waitpid(child, 0)
        said.seek(0)
        text = said.read().decode(errors="replace")[-6000:]
    return status, Counter(json.loads(counts[:].strip(b"\0 ") or b"{}")), text


def _child(outcome: Outcome, numbers: range, counts: mmap.mmap, said: int) -> NoReturn:
    status = 1
    try:
        os.dup2(said, 1)
        os.dup2(said, 2)
        resource.setrlimit(resource.RLIMIT_AS, (_MEMORY, _MEMORY))
        resource.setrlimit(resource.RLIMIT_CORE, (0, 0))

        def begin(_number: int, found: Counter[str]) -> None:
            counts[:] = json.dumps(found).encode().ljust(len(counts))
            signal.alarm(_PATIENCE)

        found = tried(outcome, numbers, begin)
        begin(numbers.stop, found | Counter({PEAK: peak()}))
        status = 0
    except BaseException as error:  # noqa: BLE001 (all that a forked process may do)
        os.write(said, str(error).encode(errors="backslashreplace"))
    finally:
        os._exit(status)


def peak() -> int:
    """The most megabytes that this process, or one that it waited for, had in memory."""
    of = (resource.RUSAGE_SELF, resource.RUSAGE_CHILDREN)
    return max(resource.getrusage(who).ru_maxrss for who in of) // 1024


def folder_in_memory() -> Path:
    """A folder of this process, gone at its end, where the system has them in memory."""
    shared = Path("/dev/shm")  # noqa: S108 (under a name that is drawn)
    folder = Path(tempfile.mkdtemp(dir=shared if shared.is_dir() else None))
    atexit.register(rmtree, folder, ignore_errors=True)
    return folder


def given(data: bytes) -> None:
    """Have it on standard input, where every reader of files takes it from."""
    import io

    sys.stdin = io.TextIOWrapper(io.BytesIO(data), encoding="utf-8")
