"""The manual: its topics in Markdown, and every message of stopgap with what helps.

A topic is a file of the folder `manual`: a heading, a line that sums it up, and text in which
`<!-- terminal -->` and `<!-- everywhere -->` begin passages. What speaks of commands stands in
passages for the terminal, so that a page can leave them out; pictures lie in its folder `pictures`
(`.pictures/make_desk_pictures.py` takes them). Messages and public names stand in its folder
`data`, as `tests/house/make_manual.py` reads them from the source: a list kept by hand would not
stay true.
"""

import json
import re
from base64 import b64encode
from collections.abc import Mapping, Sequence
from functools import cache
from itertools import groupby
from pathlib import Path
from typing import NamedTuple

from stopgap.errors import Remedy, UsageError, nearest_spellings
from stopgap.reports.blocks import Block, Column, Command, Grid, Heading, Paragraph, Report

_MANUAL = Path(__file__).parents[1] / "manual"
_MADE = _MANUAL / "data"
VARIABLE = "…"
"""Stands in a message for what differs."""
TOPICS = (
    *("start", "ranges", "measuring", "nearness", "layering", "papers", "blends", "lists"),
    *("desk", "pages", "python", "api", "cautions", "changes", "messages"),
)
"""In the order in which they are read; the last is made of the messages where they stand."""
_PICTURE = re.compile(r"!\[([^\]]*)\]\(pictures/(\w+)\.webp\)")


class Passage(NamedTuple):
    """Markdown that belongs together; `at_terminal` where it speaks of commands."""

    text: str
    at_terminal: bool

    @property
    def told(self) -> str:
        """Its text without pictures, for where none can be shown."""
        return _PICTURE.sub("", self.text)

    @property
    def pictured(self) -> str:
        """Its text with the pictures in it, for a page of its own."""

        def within(found: re.Match[str]) -> str:
            held = (_MANUAL / "pictures" / f"{found[2]}.webp").read_bytes()
            return f"![{found[1]}](data:image/webp;base64,{b64encode(held).decode('ascii')})"

        return _PICTURE.sub(within, self.text)


class Topic(NamedTuple):
    """One topic: what it is asked for by, its heading, a line about it, and its text."""

    name: str
    title: str
    about: str
    passages: Sequence[Passage]

    @property
    def text(self) -> str:
        """All its passages as one text, without pictures."""
        return "\n".join(passage.told for passage in self.passages)


def manual(words: Mapping[Remedy, str]) -> tuple[Topic, ...]:
    """Every topic; `words` say what a remedy is where the manual is read.

    >>> [topic.title for topic in manual({})][:2]
    ['Begin', 'Ranges and pencils']
    """
    return tuple(_topic(name, words) for name in TOPICS)


def find_topic(name: str, words: Mapping[Remedy, str]) -> Topic:
    """The topic of that name; raises UsageError where there is none."""
    wanted = name.casefold().strip()
    if wanted not in TOPICS:
        raise UsageError(
            f"The guide has no topic {name!r:.60}.{nearest_spellings(name, TOPICS)} "
            f"Its topics are {', '.join(TOPICS)}."
        )
    return _topic(wanted, words)


def contents(command: str) -> Report:
    """What the manual holds, and the command by which a topic is read."""
    rows = [(name, _written(name)[1]) for name in TOPICS]
    blocks: list[Block] = [
        Heading("The guide to stopgap"),
        Paragraph(""),
        Grid((Column("topic"), Column("what it tells")), rows),
        Paragraph(""),
        Paragraph("Read one by its name:"),
        Command(f"{command} {TOPICS[0]}"),
    ]
    return Report("stopgap.guide/1", {}, blocks)


def _written(name: str) -> tuple[str, str, str]:
    """Heading, the line about it, and the text of a topic as its file holds them."""
    path = _MANUAL / f"{name}.md"
    heading, about, text = path.read_text(encoding="utf-8").split("\n\n", 2)
    return heading.removeprefix("# "), " ".join(about.split()), text


def _topic(name: str, words: Mapping[Remedy, str]) -> Topic:
    heading, about, text = _written(name)
    if name == "api":
        text += (_MADE / "names.txt").read_text(encoding="utf-8")
    if name == TOPICS[-1]:
        text += message_tables(words)
    marks = re.split(
        r"^<!-- (terminal|everywhere) -->\n", f"<!-- everywhere -->\n{text}", flags=re.M
    )
    passages = [
        Passage(said.strip("\n") + "\n", mark == "terminal")
        for mark, said in zip(marks[1::2], marks[2::2])
        if said.strip()
    ]
    return Topic(name, heading, about, passages)


class Message(NamedTuple):
    """What stopgap says somewhere, with `…` for what differs, and the keys of what would help."""

    room: str
    text: str
    remedies: tuple[Remedy, ...]


ROOMS = {
    "cli": "What is asked for",
    "library": "Files, ranges and the library",
    "swatches": "Pencils and swatches",
    "colorimetry": "Colours and spectra",
    "difference": "Differences",
    "naming": "Names of colours",
    "neighbours": "Nearest pencils",
    "layering": "Layers and calibration",
    "blends": "Families, blends and gaps",
    "planner": "Stand-ins, lists and shopping",
    "scanning": "Photographs and charts",
    "reports": "Answers and pages",
    "arrays": "Arrays, from Python",
    "api": "Questions, from Python",
    "desk": "At the desk",
}
"""What the rooms of the house are about, for who reads a message, in the manual's order."""


@cache
def messages() -> tuple[Message, ...]:
    """Every error that is raised and every remark with a remedy, in the order of `ROOMS`."""
    told = json.loads((_MADE / "messages.json").read_text(encoding="utf-8"))
    return tuple(Message(room, text, tuple(map(Remedy, keys))) for room, text, *keys in told)


def message_tables(words: Mapping[Remedy, str]) -> str:
    """The messages as tables in Markdown, a table a room; one that is said twice stands once."""
    parts = []
    for room, found in groupby(messages(), key=lambda message: message.room):
        rows = dict.fromkeys(_cells(message, words) for message in found)
        lines = [f"| {_escaped(said)} | {_escaped(mend)} |" for said, mend in rows]
        table = ["| stopgap says | what helps |", "| --- | --- |", *lines]
        parts.append("\n".join(["", f"## {ROOMS[room]}", "", *table, ""]))
    return "\n".join(parts)


_MEND = re.compile(
    r"(.{14,}?)(?:[.;] |[,:] (?=(?:expected|give|state|name|choose|leave|ask|say|keep) ))(.+)"
)


def _cells(message: Message, words: Mapping[Remedy, str]) -> tuple[str, str]:
    """What is wrong, and what helps: what the message says itself, then the words of its remedy."""
    text = re.sub(rf"\.{VARIABLE}$", ".", " ".join(message.text.split()))  # a spelling meant
    parted = _MEND.match(text)
    said, mend = parted.groups() if parted else (text, "")
    mend = f"{mend[:1].upper()}{mend[1:].rstrip('.')}." if mend else ""
    told = [re.sub(r"\{\w+\}", VARIABLE, words.get(key, "")) for key in message.remedies]
    mend = " ".join([mend, *told]).strip()
    return said.rstrip(".") + ".", mend


def _escaped(text: str) -> str:
    """Text that Markdown takes as it stands, in a cell."""
    return re.sub(r"([\\`*_{}\[\]<>#|~&])", r"\\\1", text)
