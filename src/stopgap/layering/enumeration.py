"""Every recipe of a box, numbered: what does not depend on a target, worked out once for all.

Rows are numbered as `search` tries them, tints first and then pair by pair, and their colours are
computed in its blocks, so that asking a catalogue gives what searching gives, to the last bit.
"""

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from stopgap.arrays import Booleans, Floats, Integers
from stopgap.layering.recipe_search import (
    Found,
    Progress,
    first_found,
    pair_blocks,
    pair_layings,
)

if TYPE_CHECKING:
    from stopgap.layering.palette import Palette


@dataclass(frozen=True, slots=True)
class Catalogue:
    """The recipes of `pencils` pencils at `pressures` pressures.

    `pairs` (b, 2) are the pencils of each pair, that laid first before the other; the first `clear`
    of them are laid in this order only, the others in both. A group is one pencil or one pair:
    pencil i is group i, pair j is group `pencils` + j.
    """

    pencils: int
    pressures: int
    pairs: Integers
    clear: int

    def __len__(self) -> int:
        """How many recipes there are."""
        covering = len(self.pairs) - self.clear
        return self.tints + (self.clear + 2 * covering) * self.pressures**2

    @property
    def tints(self) -> int:
        """Recipes of one pencil, which are the first rows."""
        return self.pencils * self.pressures

    def groups(self, rows: Integers) -> Integers:
        """The group of each row, same shape."""
        return self._located(rows)[0]

    def layings(self, rows: Integers) -> Integers:
        """Recipes (m, 2) as layings of a Palette, -1 for no second layer, of rows (m,)."""
        p = self.pressures
        group, option = self._located(rows)
        single = rows < self.tints
        pairs = self.pairs if len(self.pairs) else np.zeros((1, 2), dtype=np.intp)
        turned, option = np.divmod(option, p * p)
        layers = pairs[np.where(single, 0, group - self.pencils)] * p
        layers += np.stack(np.divmod(option, p), axis=-1)
        layers = np.where((turned > 0)[:, None], layers[:, ::-1], layers)
        alone = np.stack([rows, -np.ones_like(rows)], axis=-1)
        return np.where(single[:, None], alone, layers)

    def using(self, pencils: Booleans) -> Booleans:
        """Which rows (m,) take any of the pencils that are true in `pencils` (n,)."""
        p = self.pressures
        pairs = np.asarray(pencils[self.pairs].any(axis=1))
        return np.concatenate(
            [
                np.repeat(pencils, p),
                np.repeat(pairs[: self.clear], p * p),
                np.repeat(pairs[self.clear :], 2 * p * p),
            ]
        )

    def best(
        self, rows: Integers, delta_E: Floats, simpler: Floats, *, limit: int, per_pair: int
    ) -> Found:
        """What `search` would choose, were these `rows` (m,) at `delta_E` (m,) all there are.

        `simpler` (n,) is how near each pencil alone comes.
        """
        group = self.groups(rows)
        pair = np.maximum(group - self.pencils, 0)
        useful = group < self.pencils
        if len(self.pairs):
            useful |= delta_E < simpler[self.pairs[pair]].min(axis=1)
        rows, delta_E, group = rows[useful], delta_E[useful], group[useful]
        order = np.lexsort((rows, delta_E, group))
        starts = np.searchsorted(group[order], group[order])
        kept = order[np.arange(len(order)) - starts < per_pair]
        return first_found(self.layings(rows[kept]), delta_E[kept], limit)

    def _located(self, rows: Integers) -> tuple[Integers, Integers]:
        """Group of each row, and which of the recipes of its group it is."""
        p = self.pressures
        tint = np.divmod(rows, p)
        clear = np.divmod(rows - self.tints, p * p)
        both = np.divmod(rows - self.tints - self.clear * p * p, 2 * p * p)
        ordered = clear[0] >= self.clear
        group = np.where(ordered, both[0] + self.clear, clear[0]) + self.pencils
        option = np.where(ordered, both[1], clear[1])
        single = rows < self.tints
        return np.where(single, tint[0], group), np.where(single, tint[1], option)


def catalogue(box: "Palette") -> Catalogue:
    """The recipes of a box."""
    return catalogue_of(box.lab[:, 0], box.covering, len(box.pressures))


def catalogue_of(lightness: Floats, covering: Booleans, pressures: int) -> Catalogue:
    """The recipes of pencils (n,) of these L*, of which some cover, at so many pressures."""
    blocks = list(pair_blocks(lightness, covering, pressures))
    pairs = [np.empty((0, 2), dtype=np.intp), *(pairs for pairs, _ in blocks)]
    clear = sum(len(pairs) for pairs, options in blocks if options == pressures**2)
    return Catalogue(len(lightness), pressures, np.concatenate(pairs), clear)


def catalogue_colours(box: "Palette", *, progress: Progress | None = None) -> Floats:
    """Predicted colours (m, 3) of every recipe of a box, in the order of its catalogue.

    24 bytes a recipe; what is in between is bounded by the blocks. `progress` is told how many
    recipes of how many are done.
    """
    p = len(box.pressures)
    every = np.arange(len(box.swatches) * p)
    parts = [box.colours(every)]
    blocks = list(pair_blocks(box.lab[:, 0], box.covering, p))
    total = sum(len(pairs) * options for pairs, options in blocks)
    done = 0
    for pairs, options in blocks:
        layings = pair_layings(pairs, p, both=options > p * p).reshape(-1, 2)
        parts.append(box.colours(*layings.T))
        done += len(layings)
        if progress is not None:
            progress(done, total)
    return np.concatenate(parts)
