"""Families of one's own: the buttons that make, rename, join and part them or file a pencil, and
what these do.
"""

import re
from collections.abc import Callable, Mapping, Sequence
from typing import TYPE_CHECKING

from stopgap.blends import Family
from stopgap.desk.asking import Act, Desk, Done
from stopgap.desk.forms import Sent
from stopgap.errors import InputError
from stopgap.library import find_addresses, keep_arrangement, stored_arrangements, use_arrangement
from stopgap.planner import change_arrangement, proposed_arrangement
from stopgap.reports.render.rooms import Deed, FormField
from stopgap.swatches import (
    PROPOSAL,
    Arrangement,
    Swatch,
    add_family,
    change_family,
    join_families,
    key_of,
    plain_name,
    remove_family,
    split_family,
)

if TYPE_CHECKING:
    from stopgap.library import Library

HERE = "/wall?arrange=yes"
"""Where families are changed."""
_PROPOSED, _EMPTY = "proposal", "empty"
_BEGINS = ((_PROPOSED, "the families as they are proposed"), (_EMPTY, "empty"))


def arranging_deeds(families: Sequence[Family], library: "Library") -> list[Deed]:
    """What can be done with families, and which arrangements they may be shown by."""
    names = [(family.name, family.name) for family in families if not family.waiting]
    kept = [one.arrangement.name for one in stored_arrangements(library)]
    used = next((one.arrangement.name for one in stored_arrangements(library) if one.in_use), "")
    shown = [(PROPOSAL, "as they are proposed"), *((name, name) for name in kept)]

    def one(name: str, label: str) -> FormField:
        return FormField(name, label, kind="choice", options=names)

    pencils = FormField("pencils", "its pencils", hint="codes or spans, such as FM013-FM016; Q7")
    begins = FormField("begins", "begin with", kind="choice", options=_BEGINS)
    by = FormField("name", "show families by", used or PROPOSAL, "choice", shown)
    return [
        Deed("/wall/family", "Make the family", fields=[FormField("name", "a new family")]),
        Deed(
            "/wall/rename",
            "Rename it",
            fields=[one("family", "the family"), FormField("name", "is to be called")],
        ),
        Deed("/wall/join", "Join them", fields=[one("family", "put"), one("into", "into")]),
        Deed(
            "/wall/part",
            "Part them off",
            fields=[one("family", "out of"), pencils, FormField("name", "into a new family")],
        ),
        Deed("/wall/remove", "Take it away", fields=[one("family", "an empty family")]),
        *([Deed("/wall/use", "Show them so", fields=[by])] if kept else []),
        Deed(
            "/wall/begin",
            "Begin it",
            fields=[FormField("name", "another arrangement, called"), begins],
        ),
    ]


def place_deeds(
    pencil: Swatch, families: Sequence[Family], there: str, *, settled: bool
) -> tuple[Deed, ...]:
    """The buttons by which a pencil goes earlier or later in its family, where the order of that is
    `settled`, or to another.
    """
    deeds = []
    mine = ""
    for family in families:
        line = [each.swatch.address for each in (*family.filed, *family.names)]
        if pencil.address not in line:
            continue
        mine, at = family.name, line.index(pencil.address)
        beside = {"family": family.name, "pencil": pencil.address, "there": there}
        if at and settled:
            deeds.append(Deed("/wall/move", "Earlier", {**beside, "before": line[at - 1]}))
        if at + 1 < len(line) and settled:
            deeds.append(Deed("/wall/move", "Later", {**beside, "after": line[at + 1]}))
    options = [(family.name, family.name) for family in families]
    to = FormField("family", "its family", mine, "choice", options)
    sent = {"pencil": pencil.address, "there": there}
    return (*deeds, Deed("/wall/move", "File it there", sent, [to]))


def _changed(
    desk: Desk, change: Callable[[Arrangement], Arrangement], what: str, said: str
) -> Done:
    with desk.filing() as library:
        change_arrangement(library, None, lambda found, _: change(found), what)
    return Done(said, HERE)


def _new(desk: Desk, sent: Sent) -> Done:
    name = plain_name(sent.text("name"))
    said = f"There is a family {name} now, with nobody in it."
    return _changed(desk, lambda found: add_family(found, name), f"the family {name}", said)


def _rename(desk: Desk, sent: Sent) -> Done:
    old, name = sent.text("family"), plain_name(sent.text("name"))
    return _changed(
        desk,
        lambda found: change_family(found, old, new_name=name),
        f"calling the family {old} {name}",
        f"{old} is called {name} now.",
    )


def _join(desk: Desk, sent: Sent) -> Done:
    family, into = sent.text("family"), sent.text("into")
    return _changed(
        desk,
        lambda found: join_families(found, [family], into),
        f"joining {family} to {into}",
        f"{family} stands behind {into} now.",
    )


def _part(desk: Desk, sent: Sent) -> Done:
    family, name = sent.text("family"), plain_name(sent.text("name"))
    texts = [text for text in re.split(r"[;,\n]", sent.text("pencils")) if text.strip()]
    if not texts:
        raise InputError("expected the pencils that are to be parted off.")
    with desk.filing() as library:
        known = [each.first for each in library.pencils()]
        pencils = find_addresses(texts, known)
        change_arrangement(
            library,
            None,
            lambda found, _: split_family(found, family, name, pencils),
            f"parting {name} from {family}",
        )
    return Done(f"{name} holds {len(pencils)} of {family}.", HERE)


def _remove(desk: Desk, sent: Sent) -> Done:
    family = sent.text("family")
    said = f"There is no family {family} any more."
    change = f"removal of the family {family}"
    return _changed(desk, lambda found: remove_family(found, family), change, said)


def _use(desk: Desk, sent: Sent) -> Done:
    with desk.changing() as library:
        name = use_arrangement(library, sent.text("name", PROPOSAL))
    return Done(f"Families are shown by {name} now.", HERE)


def _begin(desk: Desk, sent: Sent) -> Done:
    """Begin another arrangement, which comes into use; the others stay as they are."""
    name = plain_name(sent.text("name"), "arrangement")
    begins = sent.one_of("begins", [word for word, _ in _BEGINS])
    with desk.filing() as library:
        taken = [key_of(one.arrangement.name) for one in stored_arrangements(library)]
        if key_of(name) in (*taken, PROPOSAL):
            raise InputError(f"An arrangement called {name!r} is there already.")
        empty = Arrangement(name, fills=False)
        found = empty if begins == _EMPTY else proposed_arrangement(library, name)
        keep_arrangement(library, found, f"the arrangement {name}")
    return Done(f"Families are shown by {name} now.", HERE)


ARRANGING: Mapping[str, Act] = {
    "family": _new,
    "rename": _rename,
    "join": _join,
    "part": _part,
    "remove": _remove,
    "use": _use,
    "begin": _begin,
}
"""What the buttons of `arranging_deeds` do, by the last parts of their addresses."""
