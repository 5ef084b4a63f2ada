"""Writing a file whole or not at all."""

import os
import tempfile
from pathlib import Path

from stopgap.errors import InputError, Remedy


def write_whole(path: Path, content: str | bytes, *, overwrite: bool = False) -> None:
    """Write `content` to a temporary file beside `path`, then give it the name.

    Raises
    ------
    InputError
        If the file exists and may not be overwritten, or cannot be written.
    """
    check_free(path, overwrite=overwrite)
    data = content.encode("utf-8") if isinstance(content, str) else content
    partial = ""
    try:
        handle, partial = tempfile.mkstemp(prefix=f".{path.name}.", dir=path.parent)
        with os.fdopen(handle, "wb") as stream:
            stream.write(data)
        os.chmod(partial, 0o666 & ~_umask())
        os.replace(partial, path)
    except OSError as error:
        if partial:
            Path(partial).unlink(missing_ok=True)
        raise InputError(f"{path}: the file cannot be written: {error.strerror}.") from error


def check_free(path: Path, *, overwrite: bool = False) -> None:
    """Raise InputError unless `path` may be written, before somebody waits for the content."""
    if path.is_dir():
        raise InputError(f"{path}: this is a folder. Name a file in it.")
    if not path.parent.is_dir():
        raise InputError(f"{path}: there is no folder {path.parent}. Make it first.")
    if path.exists() and not overwrite:
        raise InputError(f"{path} exists already.", remedy=Remedy.OVERWRITE)


def _umask() -> int:
    mask = os.umask(0)
    os.umask(mask)
    return mask
