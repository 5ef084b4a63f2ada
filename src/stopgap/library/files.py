"""Files, pipes and the two standard streams: read within a bound, written whole or not at all.

`-` is standard input where something is read and standard output where something is written. Links
are followed. What is no regular file, such as a pipe, is read and written as a stream.
"""

import os
import signal
import sys
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from itertools import count
from pathlib import Path
from threading import current_thread, main_thread
from typing import BinaryIO

from stopgap.errors import InputError, Remedy, landed

STANDARD = Path("-")
LARGEST_FILE = 64 * 2**20
"""Bytes of a table that are read at most."""
APPLICATION_ID = 0x53544741
"""Where SQLite keeps whose file it is: "STGA"."""
LIBRARY = "a library of stopgap"
_HEAD = 2**16
_MARKS = (
    (b"%PDF-", "a PDF"),
    (b"\x89PNG\r\n", "a PNG picture"),
    (b"\xff\xd8\xff", "a JPEG picture"),
    (b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1", "a workbook or document of an older office program"),
)
_WITHIN = (
    (b"PK\x03\x04", b"spreadsheetml", "an XLSX workbook"),
    (b"PK\x03\x04", b"xl/", "an XLSX workbook"),
    (b"PK\x03\x04", b"opendocument.spreadsheet", "an ODS workbook"),
    (b"PK\x03\x04", b"", "an archive or document"),
    (b"<", b"<svg", "an SVG drawing"),
    (b"<", b"<html", "a web page"),
    (b"<", b"CxF", "a CxF file"),
    (b"<", b"", "an XML file"),
)


def called(path: Path) -> str:
    """What messages call a file that is read."""
    return "standard input" if path == STANDARD else path.name


def read_bounded(path: Path) -> bytes:
    """The bytes of a file, a pipe or standard input, refused beyond LARGEST_FILE.

    Raises
    ------
    InputError
        If it cannot be opened, is a folder or is too large.
    """
    try:
        with _opened(path) as stream:
            data = stream.read(LARGEST_FILE + 1)
    except IsADirectoryError as error:
        raise InputError(f"{path}: this is a folder. Name one file.") from error
    except OSError as error:
        raise InputError(f"{path}: the file cannot be read: {error.strerror}.") from error
    except ValueError as error:
        raise InputError(f"{str(path)!r}: this is no file name.") from error
    if len(data) > LARGEST_FILE:
        raise InputError(
            f"{called(path)}: the file is larger than {LARGEST_FILE // 2**20} MB, more than a "
            "range of pencils needs. Keep the swatches in a file of their own."
        )
    return data


@contextmanager
def as_file(path: Path) -> Iterator[Path]:
    """A regular file with the bytes of `path`: itself, or a temporary one for a stream."""
    if path.is_file() and path != STANDARD:
        yield path
        return
    import tempfile

    with tempfile.TemporaryDirectory() as folder, _opened(path) as stream:
        copy = Path(folder) / "stream"
        with copy.open("wb") as written:
            while chunk := stream.read(2**20):
                written.write(chunk)
        yield copy


def write_whole(
    path: Path, content: str | bytes, *, overwrite: bool = False, like: Path | None = None
) -> None:
    """Write `content` to a temporary file beside `path`, then give it the name.

    Where `path` is a link, the file that it leads to is written; a stream is written to as it is.
    A file has the rights of the one that it replaces, or of one that it is `like`.

    Raises
    ------
    InputError
        If the file exists and may not be overwritten, holds something of another kind, or cannot be
        written.
    """
    data = content.encode("utf-8") if isinstance(content, str) else content
    check_free(path, overwrite=overwrite, kind=kind_of(data))
    try:
        if path == STANDARD:
            _answer(data)
        elif _is_stream(path):
            with path.open("wb") as stream:
                stream.write(data)
            landed(f"{path} was written")
        else:
            _replace(path, data, None if path.exists() else like)
    except BrokenPipeError:
        raise
    except OSError as error:
        where = "standard output" if path == STANDARD else path
        raise InputError(f"{where}: the file cannot be written: {error.strerror}.") from error


def _answer(data: bytes) -> None:
    """Put bytes on standard output, whatever encoding its texts are in."""
    sys.stdout.flush()
    stream = getattr(sys.stdout, "buffer", None)
    if stream is None:  # somebody's own, for text alone
        sys.stdout.write(data.decode("utf-8"))
        return
    stream.write(data)
    stream.flush()


def check_free(path: Path, *, overwrite: bool = False, kind: str = "") -> None:
    """Raise InputError unless `path` may be written, before somebody waits for the content.

    With `kind`, as `kind_of` has it, a file that is there may be replaced if it is of that kind.
    """
    if path == STANDARD:
        return
    if path.is_dir():
        raise InputError(f"{path}: this is a folder. Name a file in it.")
    folder = Path(os.path.realpath(path)).parent if path.is_symlink() else path.parent
    if not folder.is_dir():
        raise InputError(f"{path}: there is no folder {folder}. Make it first.")
    if not path.exists() or _is_stream(path):
        return
    if not overwrite:
        raise InputError(f"{path} exists already.", remedy=Remedy.OVERWRITE)
    there = _kind_at(path)
    if kind and there not in ("", kind):
        raise InputError(
            f"{path} holds {there}, and what is to be written is {kind}. It was left as it is: "
            "choose another name, or remove it first."
        )


def kind_of(content: bytes) -> str:
    """What a file holds, by its first bytes; empty where it has none."""
    head = content[:_HEAD]
    if head.startswith(b"SQLite format 3\0"):
        ours = head[68:72] == APPLICATION_ID.to_bytes(4, "big")  # SQLite's file format, 1.3.17
        return LIBRARY if ours else "a database of another program"
    for mark, kind in _MARKS:
        if head.startswith(mark):
            return kind
    text = head.removeprefix(b"\xef\xbb\xbf").lstrip()
    for start, within, kind in _WITHIN:
        if text.startswith(start) and within.lower() in text.lower():
            return kind
    return _kind_of_text(text, whole=not head)


def _kind_of_text(text: bytes, *, whole: bool) -> str:
    if whole or not text:
        return ""
    if b"BEGIN_DATA" in text or text.startswith(b"CGATS"):
        return "a CGATS file"
    if b"\0" in text and not text.startswith((b"\xff\xfe", b"\xfe\xff")):
        return "a file of another kind"
    first = text.splitlines()[0]
    listed = any(mark in first for mark in b",;\t") and b" = " not in first  # as TOML writes a list
    return "a table in CSV" if listed else "a text"


def _kind_at(path: Path) -> str:
    try:
        with path.open("rb") as stream:
            return kind_of(stream.read(_HEAD))
    except OSError as error:
        raise InputError(f"{path}: the file cannot be read: {error.strerror}.") from error


def _is_stream(path: Path) -> bool:
    return path.exists() and not path.is_file() and not path.is_dir()


@contextmanager
def _opened(path: Path) -> Iterator[BinaryIO]:
    if path == STANDARD:
        if sys.stdin is None:  # as Python has it where it is closed
            raise InputError("Standard input is closed. Name a file.")
        yield sys.stdin.buffer
    else:
        with path.open("rb") as stream:
            yield stream


@contextmanager
def replacing(path: Path, *, like: Path | None = None) -> Iterator[Path]:
    """An empty file beside `path` that takes its place once it is whole and safe on the disk.

    Nobody can guess its name. It has the rights of what it replaces, or of a file that it is
    `like`.
    """
    import tempfile  # with shutil and what unpacks archives, which a question need not wait for

    path = Path(os.path.realpath(path))
    model = path if like is None else like
    mode = model.stat().st_mode & 0o777 if model.exists() else 0o666 & ~_umask()
    handle, name = tempfile.mkstemp(prefix=f".{path.name:.80}.", dir=path.parent)
    os.close(handle)
    try:
        yield Path(name)
        os.chmod(name, mode)
        _sync(name)
        with uninterrupted():
            os.replace(name, path)
            landed(f"{path.name} was written")
    finally:
        Path(name).unlink(missing_ok=True)
    _sync(path.parent)


@contextmanager
def uninterrupted() -> Iterator[None]:
    """Where an interrupt waits until what is done within has been noted."""
    before = signal.getsignal(signal.SIGINT)
    if before is None or current_thread() is not main_thread():
        yield
        return
    waiting: list[int] = []
    signal.signal(signal.SIGINT, lambda number, _: waiting.append(number))
    try:
        yield
    finally:
        signal.signal(signal.SIGINT, before)
    if waiting:
        signal.raise_signal(signal.SIGINT)


def _replace(path: Path, data: bytes, like: Path | None) -> None:
    with replacing(path, like=like) as partial:
        partial.write_bytes(data)


def reserved(path: Path) -> Path:
    """A new empty file called so; with a number behind it where there is something of that name."""
    for number in count(1):
        free = path if number == 1 else path.with_name(f"{path.name}-{number}")
        with suppress(FileExistsError):
            os.close(os.open(free, os.O_CREAT | os.O_EXCL | os.O_WRONLY, 0o600))
            return free
    raise AssertionError  # names never end


def _sync(path: str | Path) -> None:
    """Have the system put a file, or what a folder lists, on the disk; some cannot, of folders."""
    with suppress(PermissionError, NotADirectoryError, IsADirectoryError):
        handle = os.open(path, os.O_RDONLY)
        try:
            with suppress(OSError):
                os.fsync(handle)
        finally:
            os.close(handle)


def _umask() -> int:
    mask = os.umask(0)
    os.umask(mask)
    return mask
