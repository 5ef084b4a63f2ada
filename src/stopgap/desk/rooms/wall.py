"""The wall: every pencil in its family, and which of them are one's own."""

from collections.abc import Sequence
from urllib.parse import urlencode

from stopgap.blends import Family, put
from stopgap.desk.arranging import ARRANGING, arranging_deeds
from stopgap.desk.asking import (
    EVERY,
    Desk,
    Done,
    Room,
    mark_of_pencil,
    paper_field,
    to_set,
    which_field,
)
from stopgap.desk.forms import Sent
from stopgap.desk.words import note_words
from stopgap.errors import InputError, UnknownSwatchError
from stopgap.library import find_swatch, open_library, own
from stopgap.planner import change_arrangement, user_filing
from stopgap.reports.answers import families_report, on_paper
from stopgap.reports.render.rooms import FormField, Panel
from stopgap.swatches import Arrangement, Swatch

_PAGES = 50
"""Of how many pages it is known which change their ticks were."""
MOST_CHIPS = 1500
"""How many pencils hang on one page of the wall; where there are more it has parts."""
_PART = 320
"""How many pencils a part has, which is laid below the others as one comes near."""
_AWAITED = "Large families go by lightness alone until their order is found."
_SIZES = (("usual", "usual"), ("small", "small"), ("large", "large"))
_TOUCHES = (("look", "finds its stand-ins"), ("tick", "says whether I own it"))


def _fields(desk: Desk, sent: Sent) -> list[FormField]:
    touch = sent.text("touch", "look")
    return [
        which_field(sent, owned=False)._replace(
            options=(("any", "all of them"), ("owned", "mine alone"))
        ),
        FormField("touch", "touching a pencil", touch, "choice", _TOUCHES),
        FormField("size", "size", sent.text("size", _SIZES[0][0]), "choice", _SIZES),
        paper_field(desk, sent),
        FormField("arrange", "change families", sent.text("arrange"), "check"),
    ]


def _answer(desk: Desk, sent: Sent) -> Panel:
    with desk.reading() as library:
        ground = desk.ground(library, sent)
        selection = desk.selection(library, sent, owned=False)
        filing = user_filing(library)
    selection = selection._replace(finishes=EVERY.finishes, include_discontinued=True)
    every, settled = desk.families(ground, selection, filing)
    awaited = "" if settled else _AWAITED
    found, links, further = _in_parts(every, sent)
    report = families_report(found, note_words, filing=filing, whole=False, wall=True)
    ground = ground.among(selection)
    report = on_paper(report, [ground], note_words)
    size = sent.one_of("size", [word for word, _ in _SIZES])
    shown = Panel(report, links=links, awaited=awaited, further=further, look=f"chips-{size}")
    if sent.one_of("touch", ("look", "tick")) == "look":
        shown = shown._replace(looked_up="/match?target=")
        if not sent.said("arrange"):
            return shown
        with desk.reading() as library:
            return shown._replace(deeds=arranging_deeds(every, library))
    there = [each.swatch for family in found for each in (*family.filed, *family.names)]
    return shown._replace(seen={one.address: mark_of_pencil(one) for one in there})


def _in_parts(
    every: Sequence[Family], sent: Sent
) -> tuple[Sequence[Family], list[tuple[str, str]], str]:
    """The families from the one that is asked for, as many as a page can show at once, the
    addresses of the parts where there are several, and that of the next.
    """
    starts, count = [0], 0
    if sum(len(family.filed) + len(family.names) for family in every) <= MOST_CHIPS:
        return every, [], ""
    for place, family in enumerate(every):
        size = len(family.filed) + len(family.names)
        if count and count + size > _PART:
            starts.append(place)
            count = 0
        count += size
    begin = next((at for at in starts if every[at].name == sent.text("from")), 0)
    end = next((at for at in starts if at > begin), len(every))
    kept = [pair for pair in sent.pairs if pair[0] in ("which", "touch", "on", "size")]
    links = []
    for at, until in zip(starts, [*starts[1:], len(every)]):
        names = f"{every[at].name} to {every[until - 1].name}"
        links.append((f"/wall?{urlencode([*kept, ('from', every[at].name)])}", names))
    further = "" if end == len(every) else links[starts.index(end)][0]
    return every[begin:end], links, further


def _own(desk: Desk, sent: Sent) -> Done:
    """Say that a pencil is owned, or is not, as a button sends it; saying so twice changes nothing.

    Raises
    ------
    InputError
        If the pencil is not what was seen of it.
    UnknownSwatchError
        If it is gone.
    """
    said, seen, address = (*sent.text("set").split(" ", 2), "", "", "")[:3]
    if said not in ("owned=0", "owned=1") or not address:
        raise InputError("expected a pencil, and whether it is owned.")
    owned = said == "owned=1"
    with desk.changing() as library:
        found = library.pencils(address)
        if not found:
            raise UnknownSwatchError(f"{address:.80} is not in the library any more.")
        pencil = found[0].first
        if mark_of_pencil(pencil) != seen:
            raise InputError(
                f"{address} was changed since this page was shown, so nothing was done. "
                f"It is now {pencil.name or 'without a name'}; look at it again."
            )
        words = f"{'own' if owned else 'no longer own'} {pencil.code} {pencil.name}".strip()
        changed = own(library, [pencil], owned=owned, what=f"you {words}")
    if changed and sent.said("page"):
        _join(desk, sent.text("page"))
    said = f"You {words}{'' if changed else ' already'}."
    return Done(said, told={"owned": owned, "set": to_set(pencil, not owned)})


def _move(desk: Desk, sent: Sent) -> Done:
    """File a pencil in a family, straight before or after another, or where it melts in best.

    Said again it changes nothing; nobody else moves.

    Raises
    ------
    InputError
        If the one beside it is not in that family any more.
    UnknownSwatchError
        If there is no such pencil or family.
    """
    with desk.filing() as library:
        known = [each.first for each in library.pencils()]
        pencil = find_swatch(sent.text("pencil"), known)
        beside = [
            find_swatch(sent.text(name), known).address if sent.said(name) else None
            for name in ("before", "after")
        ]
        if pencil.address in beside:
            raise InputError(f"{pencil.address} cannot stand beside itself.")
        family = sent.text("family")

        def change(found: Arrangement, swatches: Sequence[Swatch]) -> Arrangement:
            moved = [pencil.address]
            return put(found, swatches, moved, family, before=beside[0], after=beside[1])

        what = f"filing {pencil.address} under {family}"
        name = change_arrangement(library, None, change, what).family(family).name
    return Done(f"{pencil.code} {pencil.name} is filed under {name}.".replace("  ", " "))


def _join(desk: Desk, page: str) -> None:
    """Make ticks of one page within a minute one change."""
    with desk.lock, open_library(desk.path) as library:
        before = desk.ticked.pop(page[:40], 0)
        while len(desk.ticked) >= _PAGES:
            del desk.ticked[next(iter(desk.ticked))]
        with desk.last_read.writing(library):
            desk.ticked[page[:40]] = library.join_newest(before)


ROOM = Room(
    "Wall",
    "All pencils as chips that touch, a row a family, light to dark. Sharpened ones are yours.",
    _fields,
    _answer,
    {"own": _own, "move": _move, **ARRANGING},
)
