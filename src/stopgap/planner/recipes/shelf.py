"""Layers made ready to be laid, as they are held in memory from one box to the next.

A layer is prepared alike in whatever company, so that a pencil which comes to a box is put beside
those that lie there, and one which goes is left lying.
"""

from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from stopgap.arrays import Floats, Integers

if TYPE_CHECKING:
    from stopgap.colorimetry.recovery.bands import Bands
    from stopgap.layering import Palette
    from stopgap.layering.prepared_layers import PreparedLayers

_UNUSED = 2  # times as many pencils as are used may lie there


class Shelf(NamedTuple):
    """Prepared layers at so many `pressures`, and of each pencil of a box its place (n,) there."""

    bands: "Bands"
    prepared: "PreparedLayers"
    pressures: int
    places: Integers

    @classmethod
    def of(cls, box: "Palette") -> "Shelf | None":
        """The layers of a box; None where the model lays them as a whole."""
        if box.prepared is None:
            return None
        return cls(box.model.bands, box.prepared, len(box.pressures), np.arange(len(box.swatches)))

    @property
    def many(self) -> int:
        """How many pencils lie there."""
        return len(self.prepared.depth) // self.pressures

    def beside(self, others: "Shelf | None") -> "Shelf | None":
        """These and then others; None where there are none, or too many are unused."""
        if others is None or self.many > _UNUSED * len(self.places):
            return None
        prepared = self.prepared.beside(others.prepared)
        places = np.concatenate([self.places, self.many + others.places])
        return self._replace(prepared=prepared, places=places)

    def of_pencils(self, chosen: Integers) -> "Shelf":
        """For a box of the pencils (m,) that are chosen."""
        return self._replace(places=self.places[chosen])

    def colours(self, *layings: Integers) -> Floats:
        """Colours (m, 3) of layings over each other, as `Palette.colours` has them."""
        p = self.pressures
        there = (self.places[laying // p] * p + laying % p for laying in layings)
        return self.bands.lab(self.prepared.reflectance(*there))
