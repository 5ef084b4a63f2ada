"""What a browser sends: fields of forms, files, and what was pasted, read as every file is."""

import re
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import TYPE_CHECKING, NamedTuple
from urllib.parse import parse_qsl

from stopgap.errors import InputError

if TYPE_CHECKING:
    from stopgap.library import ListedBlend


class Sent(NamedTuple):
    """The fields of a form or an address, in their order, and files by their field: each what it
    was called, which opens nothing here, and what it holds.
    """

    pairs: Sequence[tuple[str, str]] = ()
    files: Mapping[str, tuple[str, bytes]] = {}

    def every(self, name: str) -> list[str]:
        """What was said under a name, without what was left empty."""
        return [text for key, value in self.pairs if key == name and (text := value.strip())]

    def text(self, name: str, default: str = "") -> str:
        """The first of them."""
        return next(iter(self.every(name)), default)

    def said(self, name: str) -> bool:
        """Whether anything was."""
        return bool(self.every(name))

    def one_of(self, name: str, known: Sequence[str]) -> str:
        """One of the values a form offers, the first where nothing was said."""
        found = self.text(name, known[0])
        if found not in known:
            raise InputError(f"expected one of {', '.join(known)}, found {found!r:.60}.")
        return found

    def number(self, name: str, default: float, least: float = 0.0) -> float:
        """A number, with a point or a comma."""
        text = self.text(name)
        if not text:
            return default
        try:
            value = float(text.replace(",", "."))
        except ValueError:
            value = float("nan")
        if not least <= value < float("inf"):
            raise InputError(f"expected a number of {least:g} or more, found {text!r:.60}.")
        return value

    def whole_number(self, name: str, default: int, most: int) -> int:
        """A whole number from 1 to `most`."""
        value = self.number(name, default, 1)
        if value != int(value) or value > most:
            raise InputError(f"expected a whole number from 1 to {most}, found {value:g}.")
        return int(value)


def read_form(kind: str, body: bytes) -> Sent:
    """What a form sent, by its content type: its fields, or parts with files (RFC 7578).

    Raises
    ------
    InputError
        If it is neither.
    """
    if kind.startswith("application/x-www-form-urlencoded"):
        return Sent(parse_qsl(body.decode("utf-8", "replace"), keep_blank_values=True))
    boundary = re.search(r'boundary="?([^";]{1,70})"?', kind)
    if not kind.startswith("multipart/form-data") or boundary is None:
        raise InputError("That is no form of this desk.")
    pairs, files = [], {}
    for part in body.split(b"--" + boundary[1].encode("latin-1"))[1:-1]:
        head, _, held = part.partition(b"\r\n\r\n")
        said = dict(_PARAMETER.findall(head.decode("utf-8", "replace")))
        held = held.removesuffix(b"\r\n")
        if "filename" in said:
            files[said.get("name", "")] = (said["filename"], held)
        else:
            pairs.append((said.get("name", ""), held.decode("utf-8", "replace")))
    return Sent(pairs, files)


_PARAMETER = re.compile(r'; *(name|filename)="((?:[^"\\]|\\.)*)"')


@contextmanager
def as_file(text: str | bytes, name: str) -> "Iterator[Path]":
    """What was pasted, or brought as a file, in a file of ours, to be read as every file is."""
    with TemporaryDirectory(prefix="stopgap-desk-") as folder:
        path = Path(folder, name)
        path.write_bytes(text.encode("utf-8") if isinstance(text, str) else text)
        yield path


def blends_of(text: str) -> "list[ListedBlend]":
    """The blends of a pasted table with its headings, else of lines `from; to` or
    `name; from; to`.
    """
    from stopgap.library import read_blends

    lines = [line for line in text.splitlines() if line.strip()]
    if lines and not re.match(r"\s*\w+\s*[;,\t].*[;,\t]", lines[0]):
        rows = [[part.strip() for part in line.split(";")] for line in lines]
        named = [row if len(row) != 2 else [f"{row[0]} to {row[1]}", *row] for row in rows]
        lines = ["name;from;to", *(";".join(row) for row in named)]
    with as_file("\n".join(lines), "your blends") as path:
        return read_blends(path)
