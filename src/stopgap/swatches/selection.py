"""Which swatches may be offered: owned, from some ranges, of a finish, still made, lightfast."""

from collections.abc import Sequence
from typing import NamedTuple

from stopgap.errors import Note
from stopgap.swatches.fields import Finish
from stopgap.swatches.lightfastness import Lightfastness
from stopgap.swatches.swatch import Swatch


class Selection(NamedTuple):
    """What a candidate must be. By default: any range, plain, and current or owned.

    A discontinued shade that is owned can be laid, so it is always a candidate. A swatch whose
    lightfastness is unknown or on another scale cannot be shown to reach `min_lightfastness`, so
    it is left out. `among` are the addresses of all that may be offered at all, where given.
    """

    owned: bool = False
    ranges: tuple[str, ...] = ()
    finishes: tuple[Finish, ...] = (Finish.PLAIN,)
    include_discontinued: bool = False
    min_lightfastness: Lightfastness | None = None
    among: frozenset[str] | None = None

    def admits(self, swatch: Swatch) -> bool:
        """Whether a swatch may be offered."""
        if self.owned and not swatch.owned:
            return False
        if self.among is not None and swatch.address not in self.among:
            return False
        if self.ranges and swatch.range.casefold() not in map(str.casefold, self.ranges):
            return False
        if swatch.finish not in self.finishes:
            return False
        if swatch.discontinued and not (swatch.owned or self.include_discontinued):
            return False
        return self.min_lightfastness is None or self._is_lightfast(swatch)

    def of(self, swatches: Sequence[Swatch]) -> tuple[Swatch, ...]:
        """The swatches that may be offered, in their order."""
        return tuple(swatch for swatch in swatches if self.admits(swatch))

    def at_hand(self, swatches: Sequence[Swatch]) -> tuple[tuple[Swatch, ...], tuple[Note, ...]]:
        """As `of`, but that everything counts as owned where nothing at all is marked so yet.

        The note says so.
        """
        if not self.owned or any(swatch.owned for swatch in swatches):
            return self.of(swatches), ()
        note = Note("Nothing is marked as owned yet, so every pencil counts as yours.")
        return self._replace(owned=False).of(swatches), (note,)

    def _is_lightfast(self, swatch: Swatch) -> bool:
        if swatch.lightfastness is None or self.min_lightfastness is None:
            return False
        return swatch.lightfastness.is_at_least(self.min_lightfastness) is True
