"""Shop: the cheapest pencils to buy for blends and colours, and what is then one's own."""

import math
from urllib.parse import urlencode

from stopgap.defaults import PATH, TIME_LIMIT, TOLERANCE
from stopgap.desk.asking import Desk, Done, Room, paper_field
from stopgap.desk.forms import Sent, as_file, blends_of
from stopgap.desk.words import error_words, note_words
from stopgap.errors import InputError
from stopgap.library import (
    Listed,
    ListedBlend,
    by_paper,
    decide_owned,
    read_list,
)
from stopgap.planner import ListedNeeds, ShoppingList, Terms, plan_on_papers
from stopgap.reports.answers import on_paper, shopping_report
from stopgap.reports.render.rooms import Deed, FormField, Panel, Slider
from stopgap.swatches import Selection


def _fields(desk: Desk, sent: Sent) -> list[FormField]:
    return [
        FormField(
            "blends",
            "blends without gaps, one a line",
            sent.text("blends"),
            "long",
            hint="from; to",
        ),
        FormField(
            "list",
            "colours to come close to, one a line",
            sent.text("list"),
            "long",
            hint="a code, a name or a colour",
        ),
        FormField(
            "budget", "spend at most", sent.text("budget"), "number", hint="empty for no limit"
        ),
        FormField("step", "largest step", sent.text("step", f"{desk.usual.step:g}"), "number"),
        FormField(
            "tolerance",
            "how far off",
            sent.text("tolerance", f"{TOLERANCE:g}"),
            "number",
            hint="ΔE",
        ),
        FormField("alone", "without layers", sent.text("alone"), "check"),
        paper_field(desk, sent),
    ]


def _listed(sent: Sent) -> list[Listed | ListedBlend]:
    """The blends and colours that were sent."""
    listed: list[Listed | ListedBlend] = []
    if sent.said("blends"):
        listed += blends_of(sent.text("blends"))
    if sent.said("list"):
        with as_file(sent.text("list"), "your list") as path:
            listed += read_list(path)
    return listed


def _answer(desk: Desk, sent: Sent) -> Panel | None:
    if not (sent.said("blends") or sent.said("list")):
        return None
    papers = by_paper(_listed(sent), sent.text("on") or desk.usual.on)
    with desk.reading() as library:
        asked = ListedNeeds.of([(desk.ground_on(library, paper), rows) for paper, rows in papers])
        selection = Selection(lightfast=desk.usual.lightfast)
    said = [error_words(error) for error in asked.left if error is not None]
    if not asked:
        return Panel(said=said)
    needs = asked.needs(
        layers=not sent.said("alone"),
        step=sent.number("step", desk.usual.step),
        path=PATH,
        tolerance=sent.number("tolerance", TOLERANCE),
    )
    budget = sent.number("budget", 0.0) if sent.said("budget") else None
    found = plan_on_papers(
        needs,
        selection=selection,
        terms=Terms(budget, None, time_limit=TIME_LIMIT, currency=desk.usual.currency),
        cache=desk.cache,
    )
    grounds = [ground.using(selection) for ground in asked.grounds]
    report = on_paper(shopping_report(found, note_words), grounds, note_words)
    deeds, slider = _buying(sent, found, budget)
    return Panel(report, deeds, said=said, slider=slider)


def _buying(
    sent: Sent, found: ShoppingList, budget: float | None
) -> tuple[list[Deed], Slider | None]:
    """The buttons by which what a plan names is ticked off, and the slider of what it may cost."""
    kept = [pair for pair in sent.pairs if pair[0] not in ("said", "page")]
    here = f"/shop?{urlencode(kept)}"
    each = [
        Deed("/shop/bought", f"I bought {one.code}", {"pencils": one.address, "there": here})
        for one in found.brought
    ]
    if len(each) > 1:
        every = ";".join(one.address for one in found.brought)
        each.append(Deed("/shop/bought", "I bought all of these", {"pencils": every}))
    most = max(math.ceil(found.cost), sent.number("most", 0.0))
    if not most:
        return each, None
    others = [pair for pair in kept if pair[0] not in ("budget", "most")]
    value = min(most, most if budget is None else budget)
    label = f"spend at most, of {most:g}"
    return each, Slider("/shop", [*others, ("most", f"{most:g}")], "budget", label, value, most)


def _bought(desk: Desk, sent: Sent) -> Done:
    """Say that the pencils of a plan are owned, as one change."""
    named = [one for one in sent.text("pencils").split(";") if one]
    if not named:
        raise InputError("expected the pencils that were bought.")
    with desk.changing() as library:
        change = decide_owned(library, named, owned=True)
    missed = f" {len(change.unknown)} are not known any more." if change.unknown else ""
    if len(named) == 1 and change.changed:
        return Done(f"You own {named[0]} now.", sent.text("there"))
    return Done(f"{change.changed} more pencils are yours.{missed}", sent.text("there") or "/wall")


ROOM = Room(
    "Shop",
    "The cheapest pencils to buy, beside what you own, so that blends have no gap and colours have "
    "a pencil near them.",
    _fields,
    _answer,
    {"bought": _bought},
    ask="Plan",
)
