"""`python tests/faults/fuzz_tables.py [FIRST:END] [--tally FILE] [FORM …]`: damaged files.

A seed is 250 of them, of every format or of those that are named; 200 seeds by default.
Each is refused in a sentence or read whole: no other exception, nothing on standard output or
standard error, no crash, no more than a bounded memory, and a file that was only cut off never
reads as less. A process of its own reads a few hundred at a time, so that one that dies names the
file that it died of, by its seed.
"""

import io
import os
import random
import signal
import subprocess
import sys
import tempfile
import zipfile
from collections import Counter
from collections.abc import Callable
from contextlib import suppress
from pathlib import Path

from long_runs import asked, run

from stopgap.errors import StopgapError
from stopgap.library.ranges.conversion import Convention
from stopgap.library.ranges.exporting import export_range
from stopgap.library.ranges.reading import read_range
from stopgap.library.ranges.understanding.proposal import propose_range
from stopgap.library.tables.formats import FORMATS, TextTable, read_table
from stopgap.swatches import Swatch

_DATA = Path(__file__).parents[1] / "library" / "data"
_WORDS = [
    *(b"<", b">", b"&", b'"', b"\0", b"\xff", b"\n", b",", b";", b"=1+1", b"</row>", b"<v>", b"-1"),
    *(
        b"2000000000",
        b"XFD1048576",
        b"1e999",
        b"END_DATA\n",
        b"<![CDATA[",
        b"]]>",
        b"<!--",
        b"&#0;",
    ),
    *(b'table:number-columns-repeated="99999"', b't="s"', b"<!DOCTYPE a>", b"NUMBER_OF_SETS 3\n"),
]
_BATCH = 250
_PATIENCE = 90  # seconds a file; an XLS may take its process 10 of work
_MEMORY = 2**30  # bytes of address space, which holds numpy's libraries too
_CUT_SHOWS = ("XLSX", "ODS", "XLS", "CGATS", "CxF")  # in CSV nothing says where it ends


def seeds() -> dict[str, bytes]:
    """A small whole file of each format."""
    swatches = [
        Swatch("Fen", "007", (45.2, -1.5, 0.1 + 0.2), name="Kelp", note="=1+1", price=2.5),
        Swatch("Fen", "8", (60.0, 0.0, -0.25), name="Möwe ✓", extra={"Tin": "upper"}),
    ]
    files = {form: export_range(swatches, form) for form, row in FORMATS.items() if row.write}
    return {**files, "ODS": _ods(), "XLS": (_DATA / "pencils.xls").read_bytes()}


def _ods() -> bytes:
    sys.path.insert(0, str(_DATA.parent))
    from workbook_parts import ods, ods_number, ods_row, ods_text

    heads = [ods_text(f"<text:p>{title}</text:p>") for title in ("code", "L", "a", "b", "note")]
    row = (ods_text("<text:p>007</text:p>"), *map(ods_number, (50, 1, -2.5)))
    note = ods_text('<text:p>a<text:s text:c="2"/>b<text:tab/></text:p>')
    return ods(
        ods_row(*heads) + ods_row(*row, note) + ods_row("<table:table-cell/>", repeated="1048000")
    )


def damaged(whole: bytes, rng: random.Random) -> tuple[bytes, bool]:
    """A file damaged somewhere, and whether it was only cut off."""
    if rng.random() < 0.1:
        return whole[: rng.randrange(len(whole))], True
    if whole.startswith(b"PK") and rng.random() < 0.9:
        return _damaged_part(whole, rng), False
    return _changed(whole, rng), False


def _damaged_part(whole: bytes, rng: random.Random) -> bytes:
    with zipfile.ZipFile(io.BytesIO(whole)) as archive:
        parts = {name: archive.read(name) for name in archive.namelist()}
    for _ in range(rng.randint(1, 2)):
        name = rng.choice([name for name in parts if parts[name]])
        parts[name] = _changed(parts[name], rng)
    stream = io.BytesIO()
    with zipfile.ZipFile(stream, "w") as archive:
        for name, content in parts.items():
            archive.writestr(name, content)
    return stream.getvalue()


def _changed(data: bytes, rng: random.Random) -> bytes:
    """One to four changes: a byte, a word put in or over, a stretch lost, doubled or moved."""
    changed = bytearray(data)
    for _ in range(rng.randint(1, 4)):
        at = rng.randrange(len(changed) + 1)
        end = min(len(changed), at + rng.choice((1, 2, 8, 40, 200)))
        kind = rng.randrange(6)
        if kind == 0 and at < len(changed):
            changed[at] = rng.randrange(256)
        elif kind == 1:
            changed[at:at] = rng.choice(_WORDS)
        elif kind == 2:
            word = rng.choice(_WORDS)
            changed[at : at + len(word)] = word
        elif kind == 3:
            del changed[at:end]
        elif kind == 4:
            changed[at:at] = changed[at:end] * rng.choice((1, 1, 30))
        else:
            stretch = changed[at:end]
            del changed[at:end]
            to = rng.randrange(len(changed) + 1)
            changed[to:to] = stretch
    return bytes(changed)


def outcome(path: Path, whole: TextTable | None) -> str:
    """What becomes of a file; `whole` is what it must read as, if it is read at all."""
    try:
        table = read_table(path)
    except StopgapError as error:
        assert str(error).endswith((".", ")")), f"no sentence: {error}"  # noqa: PT017
        return "refused"
    with suppress(StopgapError):
        assert propose_range(path, "Fen", Convention()).draft.swatches
    try:
        read_range(path, "Fen", Convention())
    except StopgapError:
        return "refused"
    if whole is not None:
        assert (table.header, table.rows) == (whole.header, whole.rows), "less than the whole file"
    return "read"


def work(form: str, start: int, count: int, folder: Path) -> None:
    """Read `count` damaged files; which one it is at stands in the file `at`."""
    _limit_memory()
    whole = seeds()[form]
    path = folder / "file"
    path.write_bytes(whole)
    table = read_table(path)
    found: Counter[str] = Counter()
    for seed in range(start, start + count):
        data, cut = damaged(whole, random.Random(f"{form} {seed}"))
        path.write_bytes(data)
        (folder / "at").write_text(str(seed))
        _alarm(_PATIENCE)
        found[outcome(path, table if cut and form in _CUT_SHOWS else None)] += 1
        _alarm(0)
    (folder / "found").write_text(f"{found['refused']} {found['read']}")


def _limit_memory() -> None:
    try:
        import resource
    except ImportError:
        return
    resource.setrlimit(resource.RLIMIT_AS, (_MEMORY, _MEMORY))


_alarm: Callable[[int], object] = getattr(signal, "alarm", lambda _seconds: None)


def batch(form: str, start: int, count: int, folder: Path) -> Counter[str]:
    """Let a process read `count` damaged files; AssertionError names the first that is a fault."""
    command = [sys.executable, __file__, "--work", form, str(start), str(count), str(folder)]
    done = subprocess.run(command, capture_output=True, env=dict(os.environ))
    at = (folder / "at").read_text() if (folder / "at").exists() else "none"
    said = done.stderr.decode(errors="replace")[-2000:]
    assert done.returncode == 0, f"{form}, file {at}, status {done.returncode}:\n{said}"
    assert not done.stdout, f"{form}, files {start} on: standard output has {done.stdout[:200]!r}"
    assert not done.stderr, f"{form}, files {start} on: standard error has\n{said}"
    refused, read = map(int, (folder / "found").read_text().split())
    return Counter(refused=refused, read=read)


def main() -> int:
    """Every format, or those that are named; how many batches were faults."""
    to_try = asked(__doc__, 200)
    faults = 0
    for form in to_try.words or seeds():
        with tempfile.TemporaryDirectory() as folder:
            faults += run(
                f"damaged {form}",
                to_try,
                lambda seed, form=form, folder=folder: batch(
                    form, seed * _BATCH, _BATCH, Path(folder)
                ),
            )
    return faults


if __name__ == "__main__":
    if sys.argv[1:2] == ["--work"]:
        work(sys.argv[2], int(sys.argv[3]), int(sys.argv[4]), Path(sys.argv[5]))
    else:
        sys.exit(main() > 0)
