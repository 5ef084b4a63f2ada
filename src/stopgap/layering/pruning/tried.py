"""The nearest recipes of what was tried so far, and how far is still to be looked."""

from collections.abc import Iterator, Sequence
from typing import Any

import numpy as np

from stopgap.arrays import Floats, Integers
from stopgap.layering.recipe_search import Found, best_of_groups, first_found

_FIRST, _LAID = 2**9, 2**14  # pairs that are laid at once, those first that may be nearest
_EVERYTHING = 1000.0


class Tried:
    """The nearest `limit` of single layers and of the pairs taken so far, `per_pair` of each, that
    are `within` a difference; of use only where one is as near as `unless`.
    """

    def __init__(
        self, single: Found, limit: int, per_pair: int, within: float, unless: float
    ) -> None:
        some = single.delta_E <= within
        self._single = Found(single.layings[some], single.delta_E[some])
        self.found = first_found(*self._single, limit)
        self._limit, self._per_pair, self._within, self._unless = limit, per_pair, within, unless
        self._pairs: list[tuple[Integers, Integers, Integers, Floats]] = []

    @property
    def answer(self) -> Found:
        """What was found, where it is of use."""
        return first_found(*self.found, 0) if self.nearest > self._unless else self.found

    @property
    def nearest(self) -> float:
        """How far the first of them is, infinite where there is none."""
        return float(self.found.delta_E[0]) if len(self.found.delta_E) else np.inf

    @property
    def reach(self) -> float:
        """How far the last of them is, and where there are fewer any may be."""
        full = len(self.found.delta_E) == self._limit
        return float(self.found.delta_E[-1]) if full else self._within

    def to_ask(self, otherwise: float) -> float:
        """How far is to be looked next; so far `otherwise` where that is not known yet."""
        reach = self.reach
        if self.nearest > self._unless:
            reach = min(reach, self._unless)
        return reach if np.isfinite(reach) else otherwise

    def settled(self, asked: float) -> bool:
        """Whether nothing is missing now that all is tried that is as near as was `asked`."""
        return min(self.reach, _EVERYTHING) <= asked or self.nearest > self._unless

    def hopeful(
        self, first: Integers, second: Integers, least: Floats
    ) -> Iterator[tuple[Integers, Integers]]:
        """Of layings (m,) beneath and above those whose least differences are within reach, in
        parts, the nearest first; it shrinks as they are taken.
        """
        order = np.argsort(least, kind="stable")
        for some in np.split(order, np.arange(_FIRST, len(order), _LAID)):
            some = some[least[some] <= self.reach]
            yield first[some], second[some]

    def take(self, group: Integers, option: Integers, layings: Integers, delta_E: Floats) -> None:
        """Take pairs (m,) of such a number, that are laid in such a way, each once."""
        self._pairs.append((group, option, layings, delta_E))
        group, option, layings, delta_E = together(self._pairs)
        _, once = np.unique(layings @ (1 << 32, 1), return_index=True)
        once = once[delta_E[once] <= self.reach]
        group, option, layings, delta_E = group[once], option[once], layings[once], delta_E[once]
        kept = best_of_groups(group, option, delta_E, self._per_pair)
        self._pairs = [(group[kept], option[kept], layings[kept], delta_E[kept])]
        self.found = first_found(
            np.concatenate([self._single.layings, layings[kept]]),
            np.concatenate([self._single.delta_E, delta_E[kept]]),
            self._limit,
        )


def together(parts: Sequence[Any]) -> Any:
    """Arrays of several parts one after the other."""
    return tuple(map(np.concatenate, zip(*parts, strict=True)))
