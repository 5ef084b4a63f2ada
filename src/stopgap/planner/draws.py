"""A box of colours as it may truly be: what each errs by, and draws of all of them together.

A swatch errs by a part of its own and by parts that it shares: with everything of the same scan or
of one range read in one manner, and with all that is predicted on one paper. What a target and a
colour share drops out of their difference. A colour is drawn towards where pencils lie at all
(`PENCILS`), the more the vaguer it is; since that is known roughly only, it moves a colour and
makes it no surer.

A colour predicted on another paper errs along a line, by how well its pencil covers: it is expected
at the mean over all that is held of that, and goes either way partly as all on that paper do.

Draws (JCGM 101:2008) are of the steps from a target to its colours, in even coordinates, in which
ΔE00 is a length and its errors are alike everywhere. Every part has random numbers of its own, the
same for every question.
"""

import math
from collections.abc import Sequence
from typing import NamedTuple

import numpy as np

from stopgap.arrays import Booleans, Floats, Integers
from stopgap.difference import (
    delta_E_ciede2000,
    even_covariance,
    from_even_coordinates,
    metric_tensor,
    to_even_coordinates,
)
from stopgap.planner.normal_numbers import normal_numbers, own_numbers, shared_numbers
from stopgap.swatches import Covariance, Covering, FreeColour, LaidStack, Swatch, Swatches

PENCILS = (1.5, 3.5, 4.4)
"""The mean of the 267 colours that the standard of naming has a name for, in even coordinates:
where pencils lie, as long as nothing is known of them (tests/planner/make_pencil_prior.py)."""
PENCILS_SCATTER = 15.1
"""How far they lie from it in each direction, one standard deviation (the same script)."""

_SHORTEST, _DIRECTIONS = 1e-12, math.sqrt(3.0)  # ΔE00
_FIRST = np.array([1.0, 0.0, 0.0])
OUT_OF_REACH = 3.0
"""Standard deviations behind a nearer one at which a colour is left out (how much: RESULTS.md)."""

OWN_COVERING, COVERING_WIDER = 0.6, 1.2
"""Part of the standard deviation by which a pencil covers better or worse than expected that is its
own, the rest being alike for all on one paper; how much farther than told a colour goes by how it
covers. Both are of films (bench_papers.py)."""

Laid = Swatch | LaidStack
"""A colour with its uncertainty: a pencil's, or what is laid."""


class Stated(NamedTuple):
    """What n colours say of their errors: their own, shared in measuring, shared by the paper.

    `sizes` (n, 3) are standard uncertainties in ΔE00, the same in every direction, but where
    `covariances` has one in L*, a*, b* by row and part, and where `covering` says by row along
    which line. `groups` (n, 2) name those who have the second and the third part in common, None
    where nothing is shared.
    """

    lab: Floats
    sizes: Floats
    covariances: dict[tuple[int, int], Covariance]
    covering: dict[int, Covering]
    groups: list[tuple[object, object]]

    @classmethod
    def of(cls, colours: Sequence[Laid | FreeColour]) -> "Stated":
        """A free colour is the question itself and has no doubt; a recipe's is all its own."""
        sizes = np.zeros((len(colours), 3))
        covariances: dict[tuple[int, int], Covariance] = {}
        covering: dict[int, Covering] = {}
        groups: list[tuple[object, object]] = [(None, None)] * len(colours)
        for row, colour in enumerate(colours):
            pencil = _pencil(colour)
            if pencil is not None:
                sizes[row, 0] = pencil.uncertainty
                sizes[row, 1:] = pencil.shared_uncertainty, pencil.ground_uncertainty
                groups[row] = (pencil.error_group, pencil.ground_group)
                if pencil.covariance is not None:
                    covariances[row, 0] = pencil.covariance
                if pencil.covering is not None:
                    covering[row] = pencil.covering
            elif isinstance(colour, LaidStack):
                sizes[row, 0] = colour.uncertainty
        lab = np.array([colour.lab for colour in colours], dtype=np.float64).reshape(-1, 3)
        return cls(lab, sizes, covariances, covering, groups)

    def lines(self) -> tuple[list[int], Floats, Floats]:
        """Of those whose covering is not known their rows, where in even coordinates (m, 3) they
        are expected, and one standard deviation (m, 3) of covering better.
        """
        ends = np.array([(of.mean, of.better) for of in self.covering.values()])
        mean, better = np.moveaxis(to_even_coordinates(ends.reshape(-1, 2, 3)), 1, 0)
        return list(self.covering), mean, COVERING_WIDER * (better - mean)

    def covariance(self, part: int) -> Floats:
        """That part (n, 3, 3) in L*, a*, b*."""
        sizes = self.sizes[:, part]
        found = even_covariance(self.lab, sizes) if sizes.any() else np.zeros((len(sizes), 3, 3))
        for (row, of_part), covariance in self.covariances.items():
            if of_part == part:
                found[row] = covariance
        return found


def _pencil(colour: Laid | FreeColour) -> Swatch | None:
    """The pencil as in its swatch, if it is one."""
    if isinstance(colour, LaidStack):
        return None if colour.recipe else colour.swatches[0]
    return colour if isinstance(colour, Swatch) else None


class Expected(NamedTuple):
    """Where n colours are expected, in even coordinates (n, 3) and as Lab, and how they scatter.

    `roots` (n, 3 parts, 3, 3) turn standard deviations into even coordinates, whose size `sizes`
    (n, 3 parts) tells, the mean of all directions, `widest` that of the widest, and `even` whether
    all are alike; `groups` (n, 2) are numbers of the `names` of who shares, 0 for nobody.
    """

    places: Floats
    lab: Floats
    sizes: Floats
    widest: Floats
    roots: Floats
    groups: Integers
    names: dict[object, int]
    even: Booleans

    @classmethod
    def of(cls, colours: Sequence[Laid | FreeColour], names: dict[object, int]) -> "Expected":
        """The vaguer a colour is by itself, the more it is drawn towards where pencils are; `names`
        are those that have numbers already, to which new ones are added.
        """
        if isinstance(colours, Swatches) and len(names) == 1:
            kept: Expected = colours.once(
                "expected", lambda: cls.of([*colours], {None: 0}), however_owned=True
            )
            names.update(kept.names)
            return kept._replace(names=names)
        stated = Stated.of(colours)
        roots = stated.sizes[..., np.newaxis, np.newaxis] * np.eye(3)
        for (row, part), covariance in stated.covariances.items():
            stretch = _root(metric_tensor(stated.lab[row]))
            roots[row, part] = _root(stretch @ np.asarray(covariance) @ stretch)
        sizes = np.linalg.norm(roots, axis=(-2, -1)) / _DIRECTIONS
        drawn = sizes[:, :1] ** 2 / (sizes[:, :1] ** 2 + PENCILS_SCATTER**2)
        measured, widest = to_even_coordinates(stated.lab), sizes.copy()
        if stated.covering:
            rows, means, lines = stated.lines()
            measured[rows] = means
            own = OWN_COVERING * lines
            both = roots[rows, 0] @ roots[rows, 0] + own[:, :, np.newaxis] * own[:, np.newaxis]
            roots[rows, 0] = _root(both)
            # all on one paper go along their lines alike, whichever way these run
            roots[rows, 2] = math.sqrt(1.0 - OWN_COVERING**2) * lines[..., np.newaxis] * _FIRST
            sizes = np.linalg.norm(roots, axis=(-2, -1)) / _DIRECTIONS
            widest = np.linalg.norm(roots, ord=2, axis=(-2, -1))
        places = measured + drawn * (PENCILS - measured)
        groups = [[names.setdefault(name, len(names)) for name in each] for each in stated.groups]
        numbers = np.array(groups, dtype=np.intp).reshape(-1, 2)
        even = (roots == roots[..., :1, :1] * np.eye(3)).all(axis=(-2, -1))
        lab = from_even_coordinates(places)
        return cls(places, lab, sizes, widest, roots, numbers, names, even)

    def spread(self, rows: Integers, part: int) -> Floats:
        """Roots (..., 3, 3) of colours (...), or (..., 1, 1) where all these err evenly."""
        roots = self.roots[..., :1, :1] if self.even[rows, part].all() else self.roots
        return np.asarray(roots[rows, part])


def _root(matrix: Floats) -> Floats:
    """The symmetric root of a covariance (..., 3, 3), also where some direction has none."""
    values, vectors = np.linalg.eigh(matrix)
    root: Floats = (vectors * np.sqrt(values.clip(0.0))[..., np.newaxis, :]) @ vectors.mT
    return root


class Draws(NamedTuple):
    """Targets beside colours of theirs: their rows in `theirs` (m, 1) and in `ours` (m, k).

    `steps` (m, k, 3) lead from one to the other, as long as their ΔE00; `apart` (m, k, 2) says that
    what either shares with others is not shared between them.
    """

    theirs: Expected
    ours: Expected
    targets: Integers
    columns: Integers
    steps: Floats
    apart: Booleans

    @classmethod
    def of(cls, theirs: Expected, ours: Expected, targets: Integers, columns: Integers) -> "Draws":
        """The targets beside the colours."""
        steps = ours.places[columns] - theirs.places[targets]
        length = np.linalg.norm(steps, axis=-1)
        differences = delta_E_ciede2000(theirs.lab[targets], ours.lab[columns])
        steps *= (differences / np.maximum(length, _SHORTEST))[..., np.newaxis]
        group = ours.groups[columns]
        apart = (group == 0) | (group != theirs.groups[targets])
        apart[..., 1] = True  # each goes along a line of its own, so that nothing drops out
        return cls(theirs, ours, targets, columns, steps, apart)

    def able(self) -> Booleans:
        """Whether each (m, k) may be the nearest: by mean and variance of the squared lengths,
        beside those of the one whose length is expected to be least.
        """
        squared = np.sum(self.steps**2, axis=-1)
        ours, theirs = self.ours.sizes[self.columns] ** 2, self.theirs.sizes[self.targets] ** 2
        own, shared = ours[..., 0], self.apart * (ours[..., 1:] + theirs[..., 1:])
        together = self.theirs.widest[self.targets, 0] ** 2
        shared[..., 1] = self._apart_by_covering(shared[..., 1])
        expected = squared + 3.0 * (own + shared.sum(axis=-1))
        first = expected.argmin(axis=-1)[:, np.newaxis]

        def beside(values: Floats) -> Floats:
            return np.take_along_axis(values, first, axis=1)

        apart = self.steps - np.take_along_axis(self.steps, first[..., np.newaxis], 1)
        between = np.sum(apart**2, axis=-1)
        of_own = _squared_variance(squared, own, self.ours.widest[self.columns, 0] ** 2)
        variance = of_own + beside(of_own) + 4.0 * together * between
        behind = squared - beside(squared) + 3.0 * (own - beside(own))
        for part in (0, 1):
            of_part = shared[..., part]
            # on one line all of it lies in one direction, and no two have one in common
            others = _squared_variance(squared, of_part, (1.0, 3.0)[part] * of_part)
            group = self.ours.groups[self.columns, part]
            alike = (group == np.take_along_axis(group, first, axis=1)) & (part == 0)
            variance += np.where(alike, 4.0 * of_part * between, others + beside(others))
            behind += np.where(alike, 0.0, 3.0 * (of_part - beside(of_part)))
        return np.asarray(behind <= OUT_OF_REACH * np.sqrt(variance))

    def _apart_by_covering(self, both: Floats) -> Floats:
        """What of their errors (m, k) by how well they cover lies between targets and colours:
        `both` together, but where one thing moves both it is the difference of their lines.
        """
        if not both.any():
            return both
        between = self.ours.roots[self.columns, 2, :, 0] - self.theirs.roots[self.targets, 2, :, 0]
        together = self.ours.groups[self.columns, 1] == self.theirs.groups[self.targets, 1]
        return np.where(together, np.sum(between**2, axis=-1) / 3.0, both)

    def among(self, rows: Integers, places: Integers) -> "Draws":
        """The targets of `rows` (r, 1) beside those at `places` (r, k) among their colours."""
        return self._replace(
            targets=self.targets[rows[:, 0]],
            columns=self.columns[rows, places],
            steps=self.steps[rows, places],
            apart=self.apart[rows, places],
        )

    def draw(self, begin: int, end: int, first: int = 0) -> Floats:
        """Squared lengths (m, k, 2 (end - begin)) of the steps in those of the draws; `first` is
        the place of the first colour among those whose random numbers are their own.
        """
        return self.moved_by(self.moved(begin, end, first))

    def moved(self, begin: int, end: int, first: int = 0) -> Floats:
        """What the steps (m, k, 3, end - begin) are moved by in the first of each two draws."""
        own = own_numbers(first, first + self.columns.shape[1], begin, end)
        moved = _scattered(self.ours.spread(self.columns, 0), own)
        draws = slice(begin, end)
        away = _scattered(self.theirs.spread(self.targets, 0), normal_numbers("target")[:, draws])
        for part in (0, 1):
            apart = self.apart[..., part, np.newaxis, np.newaxis]
            if (roots := self.ours.spread(self.columns, 1 + part) * apart).any():
                groups = self.ours.groups[self.columns, part]
                moved += _scattered(roots, shared_numbers(tuple(self.ours.names), groups, draws))
            if (roots := self.theirs.spread(self.targets, 1 + part)).any():
                groups = self.theirs.groups[self.targets, part]
                its = shared_numbers(tuple(self.theirs.names), groups, draws)
                away = away + _scattered(roots if apart.all() else roots * apart, its)
        return np.asarray(np.subtract(moved, away, out=moved))

    def moved_by(self, moved: Floats) -> Floats:
        """Squared lengths where the steps are moved so in one draw and back in the other."""
        along = (self.steps[..., np.newaxis, :] @ moved)[..., 0, :]
        along *= 2.0
        squared = np.einsum("...ij,...ij->...j", moved, moved)
        squared = squared + np.sum(self.steps**2, axis=-1)[..., np.newaxis]
        half = along.shape[-1]
        found = np.empty((*along.shape[:-1], 2 * half))
        np.add(squared, along, out=found[..., :half])
        np.subtract(squared, along, out=found[..., half:])
        return found


def _scattered(roots: Floats, numbers: Floats) -> Floats:
    """The roots (..., 3, 3), or (..., 1, 1), times normal numbers (..., 3, n)."""
    return np.asarray(roots * numbers if roots.shape[-1] == 1 else roots @ numbers)


def _squared_variance(squared: Floats, scatter: Floats, widest: Floats) -> Floats:
    """Of the squared length of a step of that scatter, `widest` at most; no less than it is."""
    return np.asarray(4.0 * squared * widest + 6.0 * scatter * widest)
