"""Lightfastness on the scale it was rated on; scales are never converted into each other."""

import re
from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum

from stopgap.errors import InputError

_ROMAN = ("I", "II", "III", "IV", "V")
BLUE_WOOL_GRADES = 8
_MOST_MARKS = 9
_OWN_MARKS = re.compile(r"([0-9]) (?:OF|/) ?([0-9])")
_OWN_SCALE = re.compile(r"OWN(?: MARKS)?,? ?")
_STARS = re.compile(r"([*★+]{1,9})([☆·]{0,8})")


class LightfastnessScale(StrEnum):
    """ASTM: categories I (best) to V. BWS: blue wool references 1 to 8 (best), ISO 105-B08.

    OWN are marks of a maker's own, so many of so many, the most the best.
    """

    ASTM = "ASTM"
    BWS = "BWS"
    OWN = "OWN"


@dataclass(frozen=True, slots=True)
class Lightfastness:
    """One rating, for instance `Lightfastness(LightfastnessScale.ASTM, 2)` for ASTM II.

    `most` is how many marks there are at most on a scale of a maker's own, 0 where the file does
    not say, and on the others.
    """

    scale: LightfastnessScale
    rating: int
    most: int = 0

    def __post_init__(self) -> None:
        own = self.scale is LightfastnessScale.OWN
        highest = (self.most or _MOST_MARKS) if own else _HIGHEST[self.scale]
        if not 1 <= self.rating <= highest or (self.most > _MOST_MARKS if own else self.most):
            raise InputError(
                f"lightfastness {self.rating} is not on the {self.scale} scale, "
                + _TOLD_HIGHEST[self.scale]
            )

    @classmethod
    def parse(cls, rating: str, scale: str | None = None) -> "Lightfastness":
        """From a rating and a scale, or from both in one text such as `ASTM II` or `BWS 7`.

        Marks of a maker's own are `own marks, 2 of 3`, `2 of 3`, `★★☆`, or `**` where nobody says
        of how many, with the scale OWN or without one.

        Raises
        ------
        InputError
            If the scale is missing or unknown, or the rating is not on it.
        """
        text = rating.strip().upper()
        scale = (scale or "").strip().upper()
        if scale in ("", LightfastnessScale.OWN, "OWN MARKS") and (marks := _own_marks(text)):
            return cls(LightfastnessScale.OWN, *marks)
        if not scale:
            scale, _, text = text.partition(" ")
        if scale not in _HIGHEST:
            raise InputError(
                f"lightfastness {rating!r} needs its scale, ASTM (I to V) or BWS (1 to 8), "
                "for instance 'ASTM II' or 'BWS 7'; marks of a maker's own are '2 of 3' or '**'."
            )
        text = text.strip()
        number = str(_ROMAN.index(text) + 1) if text in _ROMAN else text
        if not (number.isascii() and number.isdigit()):
            raise InputError(f"lightfastness {rating!r} is not a rating on the {scale} scale.")
        return cls(LightfastnessScale(scale), int(number))

    def is_at_least(self, other: "Lightfastness") -> bool | None:
        """Whether this is as lightfast as `other`; None where the scales differ.

        Marks of a maker's own say so of one range only, which whoever asks has to see to.
        """
        if self.scale is not other.scale or self.most != other.most:
            return None
        if self.scale is LightfastnessScale.ASTM:
            return self.rating <= other.rating
        return self.rating >= other.rating

    @property
    def weak(self) -> bool:
        """Whether it is weak on its own scale: ASTM IV and V, BWS 3 and below.

        What a maker's own marks are worth nobody can say but the maker.
        """
        if self.scale is LightfastnessScale.ASTM:
            return self.rating >= _WEAK_ASTM
        return self.scale is LightfastnessScale.BWS and self.rating <= _WEAK_BLUE_WOOL

    @property
    def grade(self) -> str:
        """The rating as its scale writes it: I to V, 1 to 8, or 2 of 3, ** where that is all."""
        if self.scale is LightfastnessScale.OWN:
            return f"{self.rating} of {self.most}" if self.most else "*" * self.rating
        astm = self.scale is LightfastnessScale.ASTM
        return _ROMAN[self.rating - 1] if astm else str(self.rating)

    @property
    def short(self) -> str:
        """The rating where there is room for a few letters: II of ASTM, 6 of blue wool, 2/3."""
        return self.grade.replace(" of ", "/")

    def __str__(self) -> str:
        own = self.scale is LightfastnessScale.OWN
        return f"{'own marks,' if own else self.scale} {self.grade}"


_HIGHEST = {LightfastnessScale.ASTM: len(_ROMAN), LightfastnessScale.BWS: BLUE_WOOL_GRADES}
_TOLD_HIGHEST = {
    LightfastnessScale.ASTM: "I to V.",
    LightfastnessScale.BWS: "1 to 8.",
    LightfastnessScale.OWN: f"which says '2 of 3', with at most {_MOST_MARKS} marks.",
}
_WEAK_ASTM = 4
_WEAK_BLUE_WOOL = 3


def _own_marks(text: str) -> tuple[int, int] | None:
    """How many marks of how many at most, None for anything else."""
    text = _OWN_SCALE.sub("", text, count=1)
    if told := _OWN_MARKS.fullmatch(text):
        return int(told[1]), int(told[2])
    if stars := _STARS.fullmatch(text):
        return len(stars[1]), len(stars[1] + stars[2]) if stars[2] else 0
    return None


def meets(rating: Lightfastness | None, rule: Sequence[Lightfastness]) -> bool:
    """Whether a rating is at least what the rule asks on its scale; every one where there is none.

    What is not rated, or on a scale that the rule does not name, cannot be shown to.
    """
    if not rule:
        return True
    return rating is not None and any(rating.is_at_least(least) is True for least in rule)


def rule_of(*ratings: str) -> tuple[Lightfastness, ...]:
    """What is asked of every pencil: the least on each scale, such as `ASTM II` and `BWS 6`.

    Raises
    ------
    InputError
        If a text is no rating, or marks of a maker's own, or two are on one scale.
    """
    rule = tuple(map(Lightfastness.parse, ratings))
    for least in rule:
        if least.scale is LightfastnessScale.OWN:
            raise InputError(f"{least}: marks of a maker's own compare within one range only.")
    if len({least.scale for least in rule}) < len(rule):
        raise InputError(f"{', '.join(map(str, rule))}: name one rating for each scale.")
    return rule


def least_ratings(
    usual: Sequence[str], ratings: Sequence[Lightfastness]
) -> tuple[Lightfastness, ...]:
    """The usual least ratings, but on the scales that `ratings` name those; raises as `rule_of`."""
    named = {least.scale for least in ratings}
    return (*(least for least in rule_of(*usual) if least.scale not in named), *ratings)
