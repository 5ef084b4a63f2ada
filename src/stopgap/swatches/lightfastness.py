"""Lightfastness on the scale it was rated on; scales are never converted into each other."""

from dataclasses import dataclass
from enum import StrEnum

from stopgap.errors import InputError

_ROMAN = ("I", "II", "III", "IV", "V")
BLUE_WOOL_GRADES = 8


class LightfastnessScale(StrEnum):
    """ASTM: categories I (best) to V. BWS: blue wool references 1 to 8 (best), ISO 105-B08."""

    ASTM = "ASTM"
    BWS = "BWS"


@dataclass(frozen=True, slots=True)
class Lightfastness:
    """One rating, for instance `Lightfastness(LightfastnessScale.ASTM, 2)` for ASTM II."""

    scale: LightfastnessScale
    rating: int

    def __post_init__(self) -> None:
        highest = len(_ROMAN) if self.scale is LightfastnessScale.ASTM else BLUE_WOOL_GRADES
        if not 1 <= self.rating <= highest:
            raise InputError(
                f"lightfastness {self.rating} is not on the {self.scale} scale, "
                + ("I to V." if self.scale is LightfastnessScale.ASTM else "1 to 8.")
            )

    @classmethod
    def parse(cls, rating: str, scale: str | None = None) -> "Lightfastness":
        """From a rating and a scale, or from both in one text such as `ASTM II` or `BWS 7`.

        Raises
        ------
        InputError
            If the scale is missing or unknown, or the rating is not on it.
        """
        text = rating.strip().upper()
        if scale is None:
            scale, _, text = text.partition(" ")
        scale = scale.strip().upper()
        if scale not in LightfastnessScale.__members__:
            raise InputError(
                f"lightfastness {rating!r} needs its scale, ASTM (I to V) or BWS (1 to 8), "
                "for instance 'ASTM II' or 'BWS 7'."
            )
        text = text.strip()
        number = str(_ROMAN.index(text) + 1) if text in _ROMAN else text
        if not (number.isascii() and number.isdigit()):
            raise InputError(f"lightfastness {rating!r} is not a rating on the {scale} scale.")
        return cls(LightfastnessScale(scale), int(number))

    def is_at_least(self, other: "Lightfastness") -> bool | None:
        """Whether this is as lightfast as `other`; None where the scales differ."""
        if self.scale is not other.scale:
            return None
        if self.scale is LightfastnessScale.ASTM:
            return self.rating <= other.rating
        return self.rating >= other.rating

    @property
    def grade(self) -> str:
        """The rating as its scale writes it: I to V, or 1 to 8."""
        return (
            _ROMAN[self.rating - 1] if self.scale is LightfastnessScale.ASTM else str(self.rating)
        )

    def __str__(self) -> str:
        return f"{self.scale} {self.grade}"
