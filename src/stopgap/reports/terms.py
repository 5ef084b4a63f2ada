"""How near, how off and how it steps: each in a word, with the figure for who measures."""

from collections.abc import Sequence
from typing import TYPE_CHECKING, Protocol

from stopgap.arrays import FloatsLike
from stopgap.colorimetry import lab_text
from stopgap.difference import grade, grade_words
from stopgap.naming import iscc_nbs
from stopgap.reports.blocks import Figures, Lab

if TYPE_CHECKING:
    from stopgap.planner import UnderLight
    from stopgap.swatches import LaidStack, Target


class Graded(Protocol):
    """Something near a colour: its grade, and how surely that is earned, None for a promise."""

    @property
    def grade(self) -> str | None: ...

    @property
    def grade_probability(self) -> float | None: ...


HOW_NEAR = "how near"
"""Over a column of words for that: a grade is a pencil's hardness to who draws."""


BY_HUE_WORDS = Figures(
    "nothing is near: the hue is kept, rather than ΔE00 least", "nothing is near: the hue is kept"
)
"""What is said of one chosen so."""


def colour_name(lab: Lab) -> str:
    """What a colour is called by the standard, in the spelling of everything else that is said."""
    return in_our_spelling(str(iscc_nbs(lab)))


def colour_names(labs: FloatsLike) -> list[str]:
    """The same of many colours (n, 3), in one call."""
    return [in_our_spelling(name) for name in iscc_nbs(labs).tolist()]


def in_our_spelling(name: str) -> str:
    """A name of the standard, which writes gray.

    >>> in_our_spelling("grayish purplish red")
    'greyish purplish red'
    """
    return name.replace("gray", "grey")


def off_words(delta_E: float) -> Figures:
    """How far off a colour is, for who measures and in a word."""
    return Figures(f"ΔE {delta_E:.1f}", grade(delta_E))


def nearness_words(found: Graded) -> str:
    """The word for how near, with its probability where it is not sure; none without anything."""
    if found.grade is None:
        return "none"
    chance = found.grade_probability
    return grade_words(found.grade, 1.0 if chance is None else chance)


def nearness_between(target: "Target", laid: "LaidStack") -> str:
    """The same of what is laid for a colour, as it is expected, and how surely."""
    (said,) = nearness_of_each([target], [laid])
    return said


def nearness_of_each(targets: "Sequence[Target]", laid: "Sequence[LaidStack]") -> list[str]:
    """The same of what is laid for each of many colours, in one call."""
    from stopgap.planner.doubt import grade_probabilities
    from stopgap.planner.nearness import promises_of

    promises = promises_of([target.lab for target in targets], laid)
    alone = [None if one.recipe else target for target, one in zip(targets, laid, strict=True)]
    return [
        grade_words(promise.likely_grade, promise.likely_probability if sure is None else sure)
        for promise, sure in zip(promises, grade_probabilities(alone, laid), strict=True)
    ]


def light_words(light: "UnderLight") -> Figures:
    """What a lamp does to a match, in one line."""
    about = "about " if light.interval else ""
    span = f" ({light.interval[0]:.1f} to {light.interval[1]:.1f})" if light.interval else ""
    parts = ", parts" if light.parts else ""
    near = f"{'perhaps ' if about else ''}{grade(light.delta_E)}"
    return Figures(
        f"under {light.illuminant}: {about}ΔE00 {light.delta_E:.1f}{span}, "
        f"metamerism index {light.metamerism:.1f}{parts}",
        f"{lamp_words(light.illuminant)}: {near}{parts}",
    )


def lamp_words(illuminant: str) -> str:
    """By which light, as who draws would say it: what has no such word keeps its code.

    >>> lamp_words("A"), lamp_words("F2")
    ('by the light of a bulb', 'under F2')
    """
    return _LIT_BY.get(illuminant, f"under {illuminant}")


_LIT_BY = {
    "A": "by the light of a bulb",
    "LED-B3": "by the light of an LED",
    "F11": "by the light of a tube",
    "D50": "by daylight",
    "D65": "by daylight",
}


def colour_words(lab: Lab) -> Figures:
    """A colour by its Lab and the standard's name."""
    name = colour_name(lab)
    return Figures(f"{lab_text(lab)}, {name}", name)


_WIDE = 1.5  # limits; a step so much over the limit is a wide gap (this project's choice)


def step_words(step: float, limit: float) -> str:
    """How a step is to who draws it: it melts, or it is a gap."""
    if step <= limit:
        return "melts"
    return "wide gap" if step > _WIDE * limit else "gap"


def conditions_words(tooth: float, trapping: float) -> str:
    """The knobs of a paper."""
    return f"tooth n = {tooth:.2f}, trapping {trapping:.2f}"
