"""How values show themselves: one line of text, and in a notebook the blocks of the sheets.

What lies below knows nothing of reports, so the front door gives the classes their two methods,
once, when it is imported; what makes pages is imported when something is shown.
"""

from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING, Any

from stopgap.blends import Blend, Family, Gap
from stopgap.colorimetry import lab_text
from stopgap.layering import Layered
from stopgap.library import Library
from stopgap.planner import (
    GapsFound,
    Purchase,
    ShoppingList,
    StandIn,
    StandIns,
    TranslatedRow,
    Translation,
)
from stopgap.scanning import Scan
from stopgap.swatches import ColourRange, FreeColour, LaidStack, Stack, Swatch

if TYPE_CHECKING:
    from stopgap.reports import Report
    from stopgap.reports.blocks import Block

_REPORTS = {
    StandIns: "stand_ins_report",
    Translation: "translation_report",
    Blend: "blend_report",
    GapsFound: "gaps_report",
    ShoppingList: "shopping_report",
    Layered: "layered_report",
    Scan: "scan_report",
}
ANSWERS = (*_REPORTS, Family)
"""What questions are answered with."""
LONGEST = 120
"""Characters of a `repr` at most."""


def report_of(value: Any) -> "Report":
    """The report of an answer, as the command of its name shows it.

    Raises
    ------
    InputError
        If it is no answer.
    """
    from stopgap import reports
    from stopgap.errors import InputError
    from stopgap.planner import ground_of_pencils
    from stopgap.reports import answers

    if name := _REPORTS.get(type(value)):
        found: Report = getattr(answers, name)(value)
        return found._replace(figures=True)  # who asks from Python measures
    match value:
        case Family():
            return answers.families_report([value], whole=True)._replace(figures=True)
        case ColourRange():
            found = answers.range_report(value, ground_of_pencils(value.pencils))
            return found._replace(figures=True)
        case Swatch() | FreeColour():
            return reports.Report("", {}, _chip(value))
        case _:
            raise InputError(f"expected an answer, found {value!r:.60}.", argument="answer")


def _chip(value: Swatch | FreeColour) -> "Sequence[Block]":
    from stopgap.reports.blocks import Chip, Paragraph
    from stopgap.reports.wording import target_facts, target_title

    title = target_title(value)
    if isinstance(value, Swatch) and not value.coloured:
        return [Paragraph(title)]
    return [Chip((value.lab,), f"{title}, {target_facts(value)}")]


def _page(value: Any) -> str:
    """HTML that stands in a page of somebody else."""
    from stopgap.reports.render.html import render_fragment

    return render_fragment(report_of(value))


def _swatch(one: Swatch) -> str:
    named = " ".join(part for part in (one.address, one.name) if part)
    colour = lab_text(one.lab) if one.coloured else "no colour yet"
    return f"{named}, {colour}{', owned' if one.at_hand else ''}"


def _stand_ins(one: StandIns) -> str:
    asked = one.target.address if isinstance(one.target, Swatch) else one.target.label
    best = f"{one.matches[0].swatch.address} ΔE {one.matches[0].delta_E:.1f}" if one.matches else ""
    return (
        f"for {asked}: {best or 'no pencil'}, {len(one.matches)} pencils, {len(one.layers)} recipes"
    )


def _stand_in(one: StandIn) -> str:
    from stopgap.reports.terms import nearness_words

    return f"{one.swatch.address} ΔE {one.delta_E:.1f}, {nearness_words(one)}: {one.words}"


def _off(delta_E: float | None) -> str:
    return "" if delta_E is None else f"ΔE {delta_E:.1f}"


def _blend(one: Blend) -> str:
    steps = f"largest step {one.largest_step:.1f}, {len(one.over_limit)} gaps"
    return f"{one.name or 'blend'}: {len(one.points)} colours, {steps}"


_TOLD: dict[type, Callable[[Any], str]] = {
    Swatch: _swatch,
    FreeColour: lambda one: f"{one.label} {lab_text(one.lab)}",
    ColourRange: lambda one: f"{one.name}: {len(one.pencils)} pencils",
    Stack: lambda one: one.label,
    StandIns: _stand_ins,
    StandIn: _stand_in,
    LaidStack: lambda one: f"{one.label} {lab_text(one.lab)}",
    TranslatedRow: lambda one: (
        f"{one.asked.label}: {one.given.label if one.given else 'nothing'} {_off(one.delta_E)}"
    ),
    Gap: lambda one: f"{one.blend}: step {one.step:.1f}, {one.words}",
    Purchase: lambda one: f"{one.swatch.address} {one.price:.2f}",
    Translation: lambda one: f"{len(one.rows)} colours, {len(one.without)} without a pencil",
    Blend: _blend,
    GapsFound: lambda one: f"{len(one.blends)} blends, {len(one.gaps)} gaps",
    ShoppingList: lambda one: f"{one.status}: {len(one.buy)} pencils to buy, {one.cost:.2f}",
    Family: lambda one: f"{one.name}: {len(one.filed)} pencils",
    Layered: lambda one: f"{one.stack.label}: {lab_text(one.lab)}",
    Scan: lambda one: (
        f"{len(one.boxes)} boxes of edition {one.edition.number}, {len(one.kept)} read"
    ),
    Library: lambda one: str(one.path),
}
_IN_A_LINE = (Stack, Library, StandIn, LaidStack, TranslatedRow, Gap, Purchase)
"""What does not stand alone in a notebook."""


def _line(value: Any) -> str:
    """The `repr`: what it is, and what it says in a few words."""
    from stopgap.reports.text import harmless

    name = type(value).__name__
    kind = next(kind for kind in _TOLD if isinstance(value, kind))
    text = f"{name} {' '.join(_TOLD[kind](value).split())}"
    return f"<{harmless(text, LONGEST - 2)}>"


for _kind in _TOLD:
    for _name, _method in (("__repr__", _line), ("_repr_html_", _page)):
        if _method is _line or _kind not in _IN_A_LINE:
            setattr(_kind, _name, _method)
