"""`python tests/faults/processes.py [FIRST:END] [--tally FILE]`: many processes, one library.

A seed is a round, 50 by default: a first start of four at once, eight that decide, undo and redo at
random, whose outcome must be that of a serial model in the order in which they held the lock, and
restores beside a writer: what was told as done before one is in the copy that it kept, what after
in the library.
"""

import os
import random
import sys
import tempfile
from collections import Counter
from collections.abc import Callable
from functools import partial
from pathlib import Path

from long_runs import asked, run

from stopgap.library import Entry, EntryKind, backup, open_library, restore
from stopgap.library.store.history import one_change, whole
from stopgap.swatches import Swatch

MANY = 8
EACH = 12
RESTORES = 10


def outcome(seed: int) -> Counter[str]:
    """One round."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "library.sqlite"
        together(4, partial(start, path))
        with open_library(path, read_only=True) as library:
            assert len(library.pencils()) == 4, "a first start was lost"
        together(MANY, partial(work, path, f"round {seed}"))
        replay(path)
        beside_a_writer(path)
    return Counter(
        {"first starts of four": 1, f"steps of {MANY} at once": MANY * EACH, "restores": RESTORES}
    )


def together(many: int, does: Callable[[int], None]) -> None:
    """Let processes do something at once; all must end well."""
    children = []
    for process in range(many):
        child = os.fork()
        if child == 0:
            status = 1
            try:
                does(process)
                status = 0
            finally:
                os._exit(status)
        children.append(child)
    for child in children:
        assert os.waitpid(child, 0)[1] == 0, "a process failed; its error stands above"


def start(path: Path, process: int) -> None:
    """Bring a pencil into a library that may not be there yet."""
    swatch = Swatch("Fen", str(process), (50.0, 0.0, 0.0))
    with open_library(path, as_one=True) as library:
        library.add_swatch(swatch, Entry(EntryKind.LAB, swatch.lab), new_range=True, what="adding")


def work(path: Path, seed: str, process: int) -> None:
    """Decide, undo and redo; what was done is written down while the lock is held."""
    rng = random.Random(f"{seed} {process}")
    for number in range(EACH):
        kind = rng.choice(("decide", "decide", "undo", "redo"))
        with open_library(path) as library:
            connection = library._connection
            if kind == "decide":
                price = process * 1000 + number
                with one_change(connection):
                    swatch = Swatch("Fen", str(rng.randrange(4)), (50.0, 0.0, 0.0))
                    library.decide([swatch], {"price": price}, f"{swatch.code}={price}")
                    note(path, f"decide {swatch.code} {price}")
                continue
            with whole(connection):
                kept = [change.what for change in library.changes() if not change.undone]
                if kind == "undo" and kept[0] == "adding":
                    continue  # the model knows prices only
                done = library.take_back() if kind == "undo" else library.do_again()
                note(path, f"{kind} {done[0].what if done else 'nothing'}")


def note(path: Path, line: str) -> None:
    """A line more in the list of what was done."""
    with path.with_name("log").open("a", encoding="utf-8") as log:
        log.write(f"{line}\n")


def replay(path: Path) -> None:
    """The serial model: a stack of changes, and one of those taken back."""
    done: list[tuple[str, str, str]] = []
    undone: list[tuple[str, str, str]] = []
    prices: dict[str, str] = {}
    for line in path.with_name("log").read_text(encoding="utf-8").splitlines():
        kind, *rest = line.split()
        if kind == "decide":
            code, price = rest
            done.append((code, prices.get(code, ""), price))
            undone.clear()
            prices[code] = price
            continue
        stack, other = (done, undone) if kind == "undo" else (undone, done)
        if not stack:
            assert rest == ["nothing"], line
            continue
        code, before, after = stack.pop()
        assert rest == [f"{code}={after}"], line
        other.append((code, before, after))
        prices[code] = before if kind == "undo" else after
    with open_library(path, read_only=True) as library:
        found = {swatch.code: swatch.price for swatch in library.swatches()}
    assert found == {
        code: float(price) if price else None
        for code, price in {**dict.fromkeys(found, ""), **prices}.items()
    }, "not as in the serial model"


def beside_a_writer(path: Path) -> None:
    """Restore while another decides; nothing that was told as done is lost."""
    path = path.with_name("other.sqlite")
    start(path, 0)
    copy, told = path.with_name("copy.sqlite"), path.with_name("told")
    with open_library(path, read_only=True) as library:
        backup(library, copy)
    told.write_text("0")
    writer = os.fork()
    if writer == 0:
        for number in range(1, 10**6):
            decide(path, number)
            told.with_name("next").write_text(str(number))
            told.with_name("next").replace(told)
            if path.with_name("over").exists():
                os._exit(0)
    last = 0
    for _ in range(RESTORES):
        before = int(told.read_text())
        kept = restore(copy, path)
        assert kept is not None
        with open_library(kept, read_only=True) as library:
            (swatch,) = library.swatches()
        # one may have landed before the restore that was told as done after it
        assert (before <= last + 1) if swatch.price is None else (swatch.price >= before)
        last = int(told.read_text())
    path.with_name("over").touch()
    assert os.waitpid(writer, 0)[1] == 0
    with open_library(path, read_only=True) as library:
        (swatch,) = library.swatches()
    assert swatch.price == int(told.read_text())


def decide(path: Path, price: int) -> None:
    """One change, told as done when it returns."""
    with open_library(path, as_one=True) as library:
        library.decide([Swatch("Fen", "0", (50.0, 0.0, 0.0))], {"price": price}, "price")


if __name__ == "__main__":
    sys.exit(run("processes", asked(__doc__, 50), outcome) > 0)
