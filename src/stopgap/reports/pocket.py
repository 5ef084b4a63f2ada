"""The library as a page for the phone: one file that works without a connection.

Everything that needs the library or the optics of layers is worked out here; the page's script
searches, ticks, and compares a typed colour with what is owned.
"""

import json
from collections.abc import Mapping, Sequence
from hashlib import sha256
from math import hypot
from types import MappingProxyType
from typing import TYPE_CHECKING, Any

from stopgap.defaults import LAMPS, POCKET_TITLE
from stopgap.difference import GRADES
from stopgap.errors import Note
from stopgap.planner.nearness import FAR, HUE_LOST, HUE_WEIGHT, KEPT_CHROMA, KEPT_SHARE
from stopgap.planner.stand_ins.carried import CarriedStandIn
from stopgap.reports.blocks import Lab, plainly, said
from stopgap.reports.render.filling import page, source
from stopgap.reports.render.paint import Lit, Paint, paints
from stopgap.reports.terms import nearness_words
from stopgap.reports.text import harmless
from stopgap.reports.walls import on_the_wall
from stopgap.reports.wording import SHORT_RATINGS, range_marks, rating_words, short_rating
from stopgap.swatches import Finish, Swatch, marks_of

if TYPE_CHECKING:
    from stopgap.blends import Family
    from stopgap.layering import Recipe
    from stopgap.planner import PrecomputedStandIns, ToBuy

_FINISHES = {Finish.PLAIN: "", Finish.METALLIC: "metallic", Finish.FLUORESCENT: "fluorescent"}
_OWNED, _DISCONTINUED, _OUTSIDE, _FINISH = 1, 2, 4, 8  # bits of a swatch's flags
_VERDICTS = {
    "same": "You own one that is the same to the eye.",
    "very close": "You own one that is very close.",
    "close": "You own one that is close.",
    "noticeable": "What you own nearest is noticeably off.",
    "different": "You own nothing like it.",
}


SIZES = (0.0, 0.3, 0.5, 0.7, 1.0, 1.4, 2.0, 2.8, 4.0, 5.0, 7.0, 10.0)
APART = (*(step / 10 for step in range(1, 51)), *(5.0 + step / 2 for step in range(1, 31)))
"""Standard uncertainties of a difference, and ends of steps of it (ΔE00), for which the page has a
word (`templates/pocket_nearness.json`); the ends of grades are among them."""


class _Words:
    """Texts that repeat, each kept once: a text's number, 0 for none."""

    def __init__(self) -> None:
        self._places = {"": 0}
        self._known: dict[str, int] = {}

    def __call__(self, text: str) -> int:
        place = self._known.get(text)
        if place is None:
            place = self._places.setdefault(harmless(text, 2000), len(self._places))
            self._known[text] = place
        return place

    def listed(self) -> list[str]:
        return list(self._places)


def render_pocket(
    answers: "Sequence[PrecomputedStandIns]",
    *,
    title: str = POCKET_TITLE,
    families: "Sequence[Family]" = (),
    to_buy: "Sequence[ToBuy]" = (),
    lit: Lit = MappingProxyType({}),
    notes: Sequence[Note] = (),
    figures: bool = False,
) -> str:
    """The page for the swatches of `answers`, which hang on its wall by `families`.

    `lit` has their colours under lamps, where they are known; `figures` says that who looks at it
    measures.
    """
    script = "".join(
        source(f"{name}.js") for name in ("colour", "edge", "pocket", "pocket_wall", "pocket_list")
    )
    styles = "".join(source(f"{name}.css") for name in ("ground", "wall", "pocket", "edge"))
    return page(
        "pocket.html",
        styles=styles,
        script=script,
        title=title,
        notes=[harmless(_told(note, figures), 2000) for note in notes],
        figures=figures,
        ratings=SHORT_RATINGS,
        lamps=("Daylight", *LAMPS.values()),
        data=_embedded({**pocket_data(answers, families, to_buy, lit), "figures": figures}),
    )


def pocket_data(
    answers: "Sequence[PrecomputedStandIns]",
    families: "Sequence[Family]",
    to_buy: "Sequence[ToBuy]",
    lit: Lit = MappingProxyType({}),
) -> dict[str, Any]:
    """What the page's script reads; swatches are known by their place, texts by their number."""
    rows = _Rows(answers, families)
    swatches = [answer.swatch for answer in answers]
    return {
        "schema": "stopgap.pocket/1",
        "ranges": [harmless(name, 200) for name in rows.ranges],
        "range_marks": [harmless(rows.marks[name], 200) for name in rows.ranges],
        "owned": sum(swatch.at_hand for swatch in swatches),
        "finishes": list(_FINISHES.values()),
        "grades": [[name, most if most < 1e9 else None] for name, most in GRADES.items()],
        "verdicts": _VERDICTS,
        "hue": {
            "beyond": FAR,
            "kept_chroma": KEPT_CHROMA,
            "kept_share": KEPT_SHARE,
            "lost": HUE_LOST,
            "weight": HUE_WEIGHT,
            "said": "The nearest in hue stand first.",
        },
        "sizes": SIZES,
        "apart": APART,
        "nearness": rows.nearness(),
        "errors": rows.errors(swatches),
        "swatches": [rows.swatch(swatch) for swatch in swatches],
        "answers": [rows.answer(answer) for answer in answers],
        "lit": rows.lit(swatches, lit),
        "list": _identity(to_buy),
        "buy": [rows.to_buy(one) for one in to_buy],
        "prices": [rows.price(swatch) for swatch in swatches if swatch.price is not None],
        "wall": [rows.on_wall(family) for family in families if family.filed],
        "words": rows.words.listed(),
    }


def _told(note: Note, figures: bool) -> str:
    text = said(note, str)
    return text if figures else plainly(text)


class _Rows:
    """Rows of the page's data, which name swatches and texts by numbers."""

    def __init__(
        self, answers: "Sequence[PrecomputedStandIns]", families: "Sequence[Family]"
    ) -> None:
        self.places = {answer.swatch.address: place for place, answer in enumerate(answers)}
        self.ranges = list(dict.fromkeys(answer.swatch.range for answer in answers))
        self.marks = range_marks(self.ranges)
        self.families = {each.swatch.address: one.name for one in families for each in one.filed}
        self.words = _Words()
        self._paints = paints(
            lab
            for answer in answers
            for lab in (answer.swatch.lab, *(recipe.lab for recipe in answer.recipes))
        )

    def swatch(self, swatch: Swatch) -> list[Any]:
        paint = self._paints[swatch.lab]
        return [
            self.ranges.index(swatch.range),
            harmless(swatch.code, 200),
            harmless(swatch.name, 1000),
            *_rounded(swatch.lab),
            paint.hex,
            _flags(swatch, paint),
            self.words(paint.words),
            self.words(self.families.get(swatch.address, "")),
            self.words(rating_words(swatch)),
            self.words(swatch.also),
            self.words(", ".join(marks_of(swatch))),
            self.words(short_rating(swatch)),
        ]

    def nearness(self) -> list[list[int]]:
        """The words of `_nearness`."""
        return [[self.words(word) for word in words] for words in _nearness()]

    def errors(self, swatches: Sequence[Swatch]) -> list[list[float]]:
        """What each errs by itself and with others, and the number of those who share that."""
        groups = list(dict.fromkeys(swatch.error_group for swatch in swatches))
        return [
            [
                round(hypot(swatch.uncertainty, swatch.ground_uncertainty), 2),
                round(swatch.shared_uncertainty, 2),
                groups.index(swatch.error_group),
            ]
            for swatch in swatches
        ]

    def lit(self, swatches: Sequence[Swatch], lit: Lit) -> list[list[Any]]:
        """The places of those known under lamps, each with its colours there."""
        looks = paints(lab for labs in lit.values() for lab in labs)
        return [
            [place, *(_painted(lab, looks[lab]) for lab in lit[swatch.lab])]
            for place, swatch in enumerate(swatches)
            if swatch.lab in lit
        ]

    def answer(self, answer: "PrecomputedStandIns") -> list[Any]:
        return [
            [self._stand_in(one) for one in answer.owned],
            [self._stand_in(one) for one in answer.others],
            [self._recipe(one) for one in answer.recipes],
            int(answer.layers_first),
        ]

    def to_buy(self, one: "ToBuy") -> list[Any]:
        return [
            self.places[one.swatch.address],
            one.price,
            harmless(one.purpose, 500),
            harmless(one.swatch.currency, 10),
        ]

    def on_wall(self, family: "Family") -> list[Any]:
        there = [each for each in on_the_wall(family) if each.coloured]
        return [self.words(family.name), [self.places[each.address] for each in there]]

    def price(self, swatch: Swatch) -> list[Any]:
        return [self.places[swatch.address], swatch.price, harmless(swatch.currency, 10)]

    def _stand_in(self, found: CarriedStandIn) -> list[Any]:
        marks = marks_of(found.swatch)  # which stand beside its name
        caution = self.words("; ".join(one for one in found.cautions if one not in marks))
        place = self.places[found.swatch.address]
        word = self.words(nearness_words(found))
        delta_E = round(found.delta_E, 2)
        return [place, delta_E, self.words(found.words), caution, int(found.tied), word]

    def _recipe(self, found: "Recipe") -> list[Any]:
        layers = [
            [self.places[layer.swatch.address], self.words(layer.pressure)] for layer in found.stack
        ]
        paint = self._paints[found.lab]
        low, high = (round(edge, 1) for edge in found.interval)
        # the last is on the page already
        cautions = [self.words(text) for text in found.cautions[:-1]]
        colour = _painted(found.lab, paint)
        word = self.words(found.promise.grade)
        chance = self.words(found.promise.chance)
        return [layers, *colour, round(found.delta_E, 2), low, high, cautions, word, chance]


def _nearness() -> list[list[str]]:
    """The word for how near by size and step of difference, kept: it is the same on every page."""
    kept = json.loads(source("pocket_nearness.json"))
    return [[next(word for most, word in row if each <= most) for each in APART] for row in kept]


def _identity(to_buy: "Sequence[ToBuy]") -> str:
    """A name for a shopping list, other for another: what was ticked belongs to one list."""
    told = [[one.swatch.address, one.price, one.purpose] for one in to_buy]
    return sha256(json.dumps(sorted(told, key=str)).encode("utf-8")).hexdigest()[:16]


def _flags(swatch: Swatch, paint: Paint) -> int:
    return (
        _OWNED * swatch.at_hand
        + _DISCONTINUED * swatch.discontinued
        + _OUTSIDE * (not paint.in_sRGB)
        + _FINISH * list(_FINISHES).index(swatch.finish)
    )


def _painted(lab: Lab, paint: Paint) -> list[Any]:
    return [_rounded(lab), paint.hex, int(not paint.in_sRGB)]


def _rounded(lab: Sequence[float]) -> list[float]:
    return [round(value, 2) for value in lab]


def _embedded(data: Mapping[str, Any]) -> Any:
    """JSON for a data block of a page: no `<` in it can end the block or begin another."""
    from markupsafe import Markup

    text = json.dumps(data, ensure_ascii=False, separators=(",", ":"), allow_nan=False)
    return Markup(text.replace("<", "\\u003c"))
