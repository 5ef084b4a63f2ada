"""The guide: the manual without what is for a terminal."""

from stopgap.desk.asking import Desk, Room
from stopgap.desk.forms import Sent
from stopgap.desk.words import WORDS
from stopgap.reports.manual import TOPICS, find_topic
from stopgap.reports.render.rooms import FormField, Panel

_LEFT_OUT = ("python", "api", "messages")
"""What is for people who write programs, or for a terminal alone."""
_SHOWN = tuple(name for name in TOPICS if name not in _LEFT_OUT)


def _fields(desk: Desk, sent: Sent) -> list[FormField]:
    del desk, sent
    return []


def _answer(desk: Desk, sent: Sent) -> Panel:
    del desk
    topics = [find_topic(name, WORDS) for name in _SHOWN]
    wanted = sent.text("topic", _SHOWN[0])
    shown = [topic for topic in topics if topic.name == wanted] or topics[:1]
    return Panel(
        topics=shown, links=[(f"/guide?topic={topic.name}", topic.title) for topic in topics]
    )


ROOM = Room("Guide", "How colours, pencils and papers are understood here.", _fields, _answer)
