"""What a room is, what a browser sends it, and what it is put to."""

import re
from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, field
from hashlib import sha256
from pathlib import Path
from tempfile import TemporaryDirectory
from threading import Lock
from typing import TYPE_CHECKING, Any, NamedTuple
from urllib.parse import parse_qsl

from stopgap.defaults import STEP
from stopgap.errors import InputError, StopgapError
from stopgap.planner import Ground, RecipeCache, ground_of
from stopgap.reports.render.rooms import Deed, FormField, Panel
from stopgap.swatches import Finish, Lightfastness, Selection, Swatch

if TYPE_CHECKING:
    from stopgap.blends import Family
    from stopgap.library import Library, ListedBlend


class Usual(NamedTuple):
    """What is taken where a form does not say: what the user keeps for good, else the defaults.

    `on` is the paper, `step` the largest step [ΔE00], `lamps` are CIE illuminants, `layer_owned`
    whether recipes use owned pencils alone, `lightfast` the least ratings of every pencil.
    """

    on: str | None = None
    step: float = STEP
    lamps: tuple[str, ...] = ()
    layer_owned: bool = True
    lightfast: tuple[Lightfastness, ...] = ()
    currency: str = ""


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


@dataclass
class Desk:
    """The library that the desk stands on, and what is taken where nothing is said."""

    path: Path
    usual: Usual
    cache: RecipeCache = field(default_factory=RecipeCache.of_user)
    brought: dict[str, Any] = field(default_factory=dict)
    ticked: dict[str, int] = field(default_factory=dict)
    lock: Lock = field(default_factory=Lock)

    @contextmanager
    def reading(self) -> "Iterator[Library]":
        """The library to look at, as it is now."""
        from stopgap.library import open_library

        with open_library(self.path, read_only=True) as library:
            yield library

    @contextmanager
    def changing(self) -> "Iterator[Library]":
        """The library for one change, which lands at the end of the block."""
        from stopgap.planner.arranging import open_library

        with open_library(self.path, as_one=True) as library:
            yield library

    def ground(self, library: "Library", sent: Sent) -> Ground:
        """Every pencil on the paper that the form names."""
        return ground_of(library, sent.text("on") or self.usual.on)

    def selection(self, library: "Library", sent: Sent, *, owned: bool) -> Selection:
        """Which pencils may be used, by the form's fields `which` and `range`."""
        words = ("owned", "any") if owned else ("any", "owned")
        return Selection(
            owned=sent.one_of("which", words) == "owned",
            ranges=tuple(library.known_range(name) for name in sent.every("range")),
            finishes=(Finish.PLAIN,),
            lightfast=self.usual.lightfast,
        )

    def is_empty(self) -> bool:
        """Whether there is no library yet, or no range in it; not so where it cannot be read."""
        if not self.path.exists():
            return True
        try:
            with self.reading() as library:
                return not library.range_names()
        except StopgapError:
            return False

    def mark(self) -> str:
        """What the library is like: another after every change, the same once it is taken back."""
        try:
            with self.reading() as library:
                changes = library.changes()
        except StopgapError as error:
            return mark_of(type(error).__name__, str(error))
        return mark_of(*((one.number, one.at, one.undone) for one in changes))


def mark_of(*seen: object) -> str:
    """A short mark of what somebody saw, to tell whether it is still so."""
    return sha256(repr(seen).encode("utf-8")).hexdigest()[:16]


def mark_of_pencil(pencil: Swatch) -> str:
    """What was seen of a pencil, but for whether it is owned, which is said outright."""
    lab = pencil.lab if pencil.coloured else None
    return mark_of(pencil.address, pencil.name, lab, pencil.status)


class Done(NamedTuple):
    """What a deed came to: a sentence, where it is seen, and what else a script is told."""

    said: str
    there: str = ""
    told: Mapping[str, object] = {}


Answer = Callable[[Desk, Sent], Panel | None]
Act = Callable[[Desk, Sent], Done]


class Room(NamedTuple):
    """A room: what it is called and for, its form, its answer, and what may be done in it.

    `answer` is None where nothing was asked yet. A deed is named by the last part of its address.
    """

    title: str
    about: str
    fields: Callable[[Desk, Sent], Sequence[FormField]]
    answer: Answer
    deeds: Mapping[str, Act] = {}
    ask: str = "Show"


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


def own_deeds(pencil: Swatch, there: str) -> tuple[Deed, ...]:
    """The button by which a pencil becomes one's own, or no longer is."""
    wanted = not pencil.at_hand
    label = f"I own {pencil.code}" if wanted else f"I no longer own {pencil.code}"
    return (Deed("/wall/own", label, {"set": to_set(pencil, wanted), "there": there}),)


def place_deeds(pencil: Swatch, families: "Sequence[Family]", there: str) -> tuple[Deed, ...]:
    """The buttons by which a pencil goes earlier or later in its family, or to another."""
    deeds = []
    mine = ""
    for family in families:
        line = [each.swatch.address for each in (*family.filed, *family.names)]
        if pencil.address not in line:
            continue
        mine, at = family.name, line.index(pencil.address)
        beside = {"family": family.name, "pencil": pencil.address, "there": there}
        if at:
            deeds.append(Deed("/wall/move", "Earlier", {**beside, "before": line[at - 1]}))
        if at + 1 < len(line):
            deeds.append(Deed("/wall/move", "Later", {**beside, "after": line[at + 1]}))
    options = [(family.name, family.name) for family in families]
    to = FormField("family", "its family", mine, "choice", options)
    sent = {"pencil": pencil.address, "there": there}
    return (*deeds, Deed("/wall/move", "File it there", sent, [to]))


def to_set(pencil: Swatch, owned: bool) -> str:
    """What a button sends to say that a pencil is owned, or is not."""
    return f"owned={int(owned)} {mark_of_pencil(pencil)} {pencil.address}"


def paper_field(desk: Desk, sent: Sent) -> FormField:
    """On which paper."""
    return FormField(
        "on",
        "paper",
        sent.text("on") or desk.usual.on or "",
        hint="white, cream, tan, grey, black, one of yours or a colour",
    )


def which_field(sent: Sent, *, owned: bool) -> FormField:
    """Which pencils may be used, what is usual first."""
    words = {"owned": "mine", "any": "any that can be had"}
    order = ("owned", "any") if owned else ("any", "owned")
    options = [(word, words[word]) for word in order]
    return FormField("which", "pencils", sent.text("which", order[0]), "choice", options)
