"""What a room is, and what it is put to."""

from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, field
from hashlib import sha256
from pathlib import Path
from secrets import token_urlsafe
from threading import Lock
from typing import TYPE_CHECKING, Any, NamedTuple

from stopgap.blends import families_named
from stopgap.defaults import STEP
from stopgap.desk.forms import Sent
from stopgap.desk.working import Orders, Work, families_showing
from stopgap.errors import InputError, StopgapError
from stopgap.library import LastRead, file_state
from stopgap.planner import Ground, Lately, RecipeCache, ground_of, user_filing
from stopgap.reports.render.rooms import Deed, FormField, Panel
from stopgap.swatches import Arrangement, Finish, Lightfastness, Selection, Swatch, Swatches

EVERY = Selection(finishes=tuple(Finish), include_discontinued=True)
"""Every pencil there is: what is looked at, not offered."""

if TYPE_CHECKING:
    from stopgap.blends import Family
    from stopgap.library import Library


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


_READING, _CHANGING = 2.0, 8.0
"""How long a page, and a change, waits for another program that has the library locked [s]."""
_GROUNDS = 4
"""For how many papers all pencils are kept in mind."""
_WAITING = 4
"""How many files may wait to be taken; the oldest goes first."""


@dataclass
class Desk:
    """The library that the desk stands on, and what is taken where nothing is said."""

    path: Path
    usual: Usual
    cache: RecipeCache = field(default_factory=lambda: RecipeCache.of_user(Lately()))
    brought: dict[str, Any] = field(default_factory=dict)
    ticked: dict[str, int] = field(default_factory=dict)
    grounds: dict[Any, Ground] = field(default_factory=dict)
    filed: list[Any] = field(default_factory=list)
    orders: Orders = field(default_factory=Orders)
    work: Work = field(default_factory=Work)
    last_read: LastRead = field(default_factory=LastRead)
    lock: Lock = field(default_factory=Lock)
    looking: Lock = field(default_factory=Lock)

    @contextmanager
    def reading(self) -> "Iterator[Library]":
        """The library to look at, as it is now."""
        from stopgap.library import lock_patience, open_library

        with lock_patience(_READING):
            opened = open_library(self.path, read_only=True)
        with opened as library:
            library.last_read = self.last_read
            yield library

    @contextmanager
    def changing(self) -> "Iterator[Library]":
        """The library for one change, which lands at the end of the block."""
        from stopgap.library import lock_patience
        from stopgap.planner.arranging import open_library

        with lock_patience(_CHANGING):
            opened = open_library(self.path, as_one=True)
        with opened as library, self.last_read.writing(library):
            yield library

    @contextmanager
    def filing(self) -> "Iterator[Library]":
        """The same for a change of families, which may begin with those that are proposed.

        Raises
        ------
        InputError
            While their orders are searched, which no request waits for.
        """
        missed: list[Any] = []
        with self.reading() as library:
            if user_filing(library) is None and (every := library.swatches()):
                families_named(every, ordered=self.orders.ordering(missed))
        if missed and not self.orders.search(missed):
            raise InputError(
                "Large families are still being brought from light to dark, so nothing was done. "
                "Do it again in a moment."
            )
        with self.changing() as library:
            yield library

    def ground(self, library: "Library", sent: Sent) -> Ground:
        """Every pencil on the paper that the form names, looked at once for what is there now."""
        return self.ground_on(library, sent.text("on") or self.usual.on)

    def ground_on(self, library: "Library", on: str | None) -> Ground:
        """The same on a paper."""
        with self.looking, library.reading():  # all of it at one moment, and by one thread alone
            key = (on, *self.file_state(), *library.changes()[:1])
            found = self.grounds.get(key)
            if found is None:
                found = ground_of(library, on)
                swatches = Swatches(found.swatches)
                for its in [its for (at, *_), its in self.grounds.items() if at == on][-1:]:
                    swatches.follow(its.swatches)
                found = found._replace(swatches=swatches)
        with self.lock:  # not before: who has it may wait for the library until nobody reads
            if key not in self.grounds and len(self.grounds) >= _GROUNDS:
                self.grounds.clear()
            return self.grounds.setdefault(key, found)

    def families(
        self, ground: Ground, selection: Selection, filing: Arrangement | None
    ) -> "tuple[tuple[Family, ...], bool]":
        """Every family of those pencils, and whether all are in their order, which is searched once
        for the same colours; one whose order is not found while a page can wait goes by lightness.
        """
        narrowed = ground.among(selection)
        swatches = selection.of(narrowed.swatches)
        for known, *asked, found in reversed(self.filed):
            if asked == [selection, narrowed.uncoloured, filing]:
                shown = families_showing(found, known, swatches)
                if shown is not None:
                    if known is not swatches:
                        self._keep(swatches, *asked, shown)
                    return shown, True

        def filed(missed: "list[Any]") -> "tuple[Family, ...]":
            how = self.orders.ordering(missed)
            return families_named(swatches, [], filing, narrowed.uncoloured, ordered=how)

        missed: list[Any] = []
        families = filed(missed)
        if missed:
            if not self.orders.search(missed):
                return families, False
            families = filed([])
        self._keep(swatches, selection, narrowed.uncoloured, filing, families)
        return families, True

    def _keep(self, *filed: Any) -> None:
        self.filed = [*self.filed[1 - _GROUNDS :], filed]

    def selection(self, library: "Library", sent: Sent, *, owned: bool) -> Selection:
        """Which pencils may be used, by the form's fields `which` and `range`."""
        words = ("owned", "any") if owned else ("any", "owned")
        return Selection(
            owned=sent.one_of("which", words) == "owned",
            ranges=tuple(library.known_range(name) for name in sent.every("range")),
            finishes=(Finish.PLAIN,),
            lightfast=self.usual.lightfast,
        )

    def wait(self, brought: object, instead_of: str = "") -> str:
        """Keep what was brought in memory until it is taken, a few at a time; return its key."""
        key = token_urlsafe(12)
        with self.lock:
            self.brought.pop(instead_of, None)
            while len(self.brought) >= _WAITING:
                del self.brought[next(iter(self.brought))]
            self.brought[key] = brought
        return key

    def is_empty(self) -> bool:
        """Whether there is no library yet, or no range in it; not so where it cannot be read."""
        if not self.path.exists():
            return True
        try:
            with self.reading() as library:
                return not library.range_names()
        except StopgapError:
            return False

    def file_state(self) -> tuple[int, ...]:
        """What the library's file is like from outside."""
        return file_state(self.path)

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
    """What a pencil is known by; whether it is owned is said outright, and colours may be those on
    a paper.
    """
    return mark_of(pencil.address, pencil.name, pencil.status)


class Done(NamedTuple):
    """What a deed came to: a sentence, where it is seen, what else a script is told, or the file
    that it made: its name, its kind and what it holds.
    """

    said: str
    there: str = ""
    told: Mapping[str, object] = {}
    file: tuple[str, str, bytes] | None = None


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


def own_deeds(pencil: Swatch, there: str) -> tuple[Deed, ...]:
    """The button by which a pencil becomes one's own, or no longer is."""
    wanted = not pencil.at_hand
    label = f"I own {pencil.code}" if wanted else f"I no longer own {pencil.code}"
    return (Deed("/wall/own", label, {"set": to_set(pencil, wanted), "there": there}),)


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
