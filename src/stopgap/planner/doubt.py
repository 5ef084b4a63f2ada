"""How sure a ranking is: the uncertainty of each difference, and which candidate may be nearest.

`sigma` of a difference is propagated linearly (GUM, JCGM 100:2008, 5.1.2). All else is asked of
draws of the whole box (`planner.draws`): every candidate that could be the nearest takes part,
whether it is shown or not.
"""

from collections.abc import Iterator, Sequence
from math import ceil, erf, inf, pi, sqrt
from typing import NamedTuple, TypeVar

import numpy as np

from stopgap.arrays import Floats, Integers
from stopgap.difference import GRADES, delta_E_ciede2000, difference_uncertainty
from stopgap.planner.draws import (
    COVERING_WIDER,
    OUT_OF_REACH,
    OWN_COVERING,
    Draws,
    Expected,
    Laid,
    Stated,
)
from stopgap.planner.materials import labs_of
from stopgap.planner.nearness import promise_of
from stopgap.planner.normal_numbers import COVERED, DRAWS
from stopgap.planner.winning import add_wins
from stopgap.swatches import LaidStack, Target, is_target

_BLOCK = 2**16  # differences at a time: what is in between then stays in the processor's cache
_INSERTIONS = 60
_SURE = 1e-7  # of a standard deviation, for none, which cannot be divided by
_One = TypeVar("_One")


class Doubt(NamedTuple):
    """Differences in ΔE00 and their standard uncertainties."""

    differences: Floats
    sigmas: Floats


def doubt_of(targets: Sequence[Target], colours: Sequence[Laid]) -> Doubt:
    """The differences (n,) of each of the colours to its target, or of all to the one that there
    is, with their uncertainties.
    """
    ours, theirs = Stated.of(colours), Stated.of(targets)
    of_colours, of_targets = ours.covariance(0), theirs.covariance(0)
    for part in (1, 2):
        own = [groups[part - 1] for groups in ours.groups]
        asked = [groups[part - 1] for groups in theirs.groups] * (len(own) // len(targets))
        apart = [one is None or one != other for one, other in zip(own, asked, strict=True)]
        counted = np.array(apart)[:, np.newaxis, np.newaxis]
        of_colours = of_colours + counted * ours.covariance(part)
        of_targets = of_targets + counted * theirs.covariance(part)
    rows = [row for row, alike in enumerate(_on_one_paper(theirs, ours)) if alike]
    of_colours[rows] += _of_covering(theirs, ours, rows)
    sigmas = difference_uncertainty(theirs.lab, of_targets, ours.lab, of_colours)
    return Doubt(delta_E_ciede2000(theirs.lab, ours.lab), sigmas)


def _on_one_paper(theirs: Stated, ours: Stated) -> list[bool]:
    """Whether each of the colours and its target are predicted on one paper."""
    asked = [groups[1] for groups in theirs.groups] * (len(ours.groups) // len(theirs.groups))
    return [of[1] is not None and of[1] == its for of, its in zip(ours.groups, asked, strict=True)]


def _of_covering(theirs: Stated, ours: Stated, rows: Sequence[int]) -> Floats:
    """Covariance (m, 3, 3) in L*, a*, b* of those of the colours and their targets on one paper:
    each goes its own way partly, all go along together partly, and both from where they are told.
    """
    ends = np.array(
        [
            [(*of.covering[row % len(of.lab)], of.lab[row % len(of.lab)]) for row in rows]
            for of in (ours, theirs)
        ]
    ).reshape(2, -1, 3, 3)
    mean, better, told = np.moveaxis(ends, 2, 0)
    lines = COVERING_WIDER * (better - mean)
    apart = sqrt(1.0 - OWN_COVERING**2) * (lines[0] - lines[1])
    off = (mean - told)[0] - (mean - told)[1]
    each = np.stack([*OWN_COVERING * lines, apart, off])
    covariance: Floats = np.einsum("kni,knj->nij", each, each)
    return covariance


def nearest_probabilities(
    targets: Sequence[Target], colours: Sequence[Laid], columns: Integers | None = None
) -> Floats:
    """Probability (m, n) of each colour to be the nearest to each target in ΔE00.

    With `columns` (m, k) only those of the n colours are asked of each target, and the answer is
    (m, k). 4096 antithetic draws, the same for every target, so that a question has the same answer
    whatever is asked beside it; who cannot be the nearest is left out.
    """
    if columns is None:
        columns = np.broadcast_to(np.arange(len(colours)), (len(targets), len(colours)))
    probabilities = np.zeros(columns.shape)
    for rows, box in boxes_of(targets, colours, columns):
        order, rivals = rivals_in(box)
        wins = np.zeros(order.shape)
        add_wins(box, order, rivals, np.arange(len(rivals)), (0, DRAWS // 2), wins)
        np.put_along_axis(probabilities[rows], order, wins / DRAWS, axis=1)
    return probabilities


def boxes_of(
    targets: Sequence[Target], colours: Sequence[Laid], columns: Integers
) -> Iterator[tuple[slice, Draws]]:
    """Some targets at a time, each beside its colours."""
    names: dict[object, int] = {None: 0}
    ours, theirs = Expected.of(colours, names), Expected.of(targets, names)
    at_once = max(1, _BLOCK // max(1, columns.shape[1]))
    for begin in range(0, len(targets), at_once):
        rows = slice(begin, min(begin + at_once, len(targets)))
        which = np.arange(rows.start, rows.stop)[:, np.newaxis]
        yield rows, Draws.of(theirs, ours, which, columns[rows])


def rivals_in(box: Draws) -> tuple[Integers, Integers]:
    """The colours (m, k) of a box, nearest first, and how many (m,) of them may be the nearest.

    The same random numbers then belong to a colour in whatever order they came.
    """
    able = box.able()
    order = np.argsort(np.where(able, np.sum(box.steps**2, axis=-1), inf), axis=1, kind="stable")
    return order, able.sum(axis=-1)


def reach_of_rivals(theirs: Expected, ours: Expected, nearest: Floats) -> Floats:
    """ΔE00 (m,) from each target as it is expected, beyond which no colour may be its nearest.

    `nearest` (m,) is that of the colour expected to be nearest. `Draws.able` asks whether a colour
    at s falls behind by more than so many standard deviations of the difference; here each of its
    terms is taken at its worst among all colours, so that beyond the reach none is able. Behind
    grows as s squared and its deviation no faster than s, so that they meet once, and a repeated
    insertion that begins above comes down to it.
    """
    own, widest = ((part[:, 0] ** 2).max() for part in (ours.sizes, ours.widest))
    together = theirs.widest[:, 0] ** 2
    shared = (ours.sizes[:, 1:] ** 2).max(axis=0) + theirs.sizes[:, 1:] ** 2
    longest = np.linalg.norm(ours.roots[:, 2, :, 0], axis=-1).max()
    lines = (longest + np.linalg.norm(theirs.roots[:, 2, :, 0], axis=-1)) ** 2 / 3.0
    shared[:, 1] = np.maximum(shared[:, 1], lines)
    scatter = 3.0 * (own - (ours.sizes[:, 0] ** 2).min() + shared.sum(axis=1))
    first = np.sqrt(nearest**2 + scatter)  # the one expected least is no farther

    def variance(s: Floats) -> Floats:
        either, apart = s**2 + first**2, (s + first) ** 2
        found = 4.0 * widest * either + 12.0 * own * widest + 4.0 * together * apart
        for part, of_part in enumerate(shared.T):
            wide = (1.0, 3.0)[part] * of_part
            others = 4.0 * wide * either + 12.0 * of_part * wide
            found = found + np.maximum(4.0 * of_part * apart, others)
        return np.asarray(found)

    least = first**2 + scatter
    s = np.full_like(first, 1e6)
    for _ in range(_INSERTIONS):
        s = np.sqrt(least + OUT_OF_REACH * np.sqrt(variance(s)))
    return np.asarray(s)


def upper_bounds(targets: Sequence[Target], colours: Sequence[Laid]) -> Floats:
    """What the ΔE00 (n,) of each of the colours to its target, or to the one that there is, stays
    below in 95 of 100 cases, whatever others there are.
    """
    upper = np.empty(len(colours))
    place = ceil(COVERED * DRAWS) - 1
    for squared, rows in _drawn(_pairs(targets, colours), np.arange(len(colours))):
        upper[rows] = np.sqrt(np.partition(squared, place, axis=-1)[:, place].clip(0.0))
    return upper


def grade_chances(targets: Sequence[Target], colours: Sequence[Laid]) -> Floats:
    """How surely (n,) each of the colours earns its grade beside its target, or the one there is.

    The grade is that of the colours as measured, and its probability that of earning it or a nearer
    one; for the last grade, that of no nearer one.
    """
    *_, beyond = nearer = [limit for limit in GRADES.values() if limit < inf]
    read = np.resize(labs_of(targets), (len(colours), 3)), np.array([one.lab for one in colours])
    limits = np.array([*nearer, inf])[np.searchsorted(nearer, delta_E_ciede2000(*read))]
    box, limit = _pairs(targets, colours), np.minimum(limits, beyond)
    below = _within(limit, np.linalg.norm(box.steps[:, 0], axis=-1), _even_sigmas(box))
    for squared, rows in _drawn(box, np.flatnonzero(np.isnan(below))):
        within = squared <= limit[rows, np.newaxis] ** 2
        below[rows] = np.count_nonzero(within, axis=-1) / DRAWS
    return np.where(limits == inf, 1.0 - below, below)


def _within(limit: Floats, distance: Floats, sigma: Floats) -> Floats:
    """Probability that a step as long as `distance` is no longer than `limit` once its end errs by
    `sigma` in each of three directions: that of the noncentral chi distribution, by parts.

    J. H. Park (1961), "Moments of the generalized Rayleigh distribution", Quarterly of Applied
    Mathematics 19(1), 45-49. NaN where `sigma` is.
    """
    sigma = np.maximum(sigma, _SURE)
    reach, off = limit / sigma, np.maximum(distance / sigma, _SURE)
    ends = np.stack([reach - off, reach + off])
    inside = np.fromiter(map(erf, (ends / sqrt(2.0)).flat), dtype=np.float64, count=ends.size)
    heights = np.exp(-0.5 * ends**2) / sqrt(2.0 * pi)
    found = 0.5 * inside.reshape(ends.shape).sum(axis=0) - (heights[0] - heights[1]) / off
    return np.asarray(found.clip(0.0, 1.0))


def _even_sigmas(box: Draws) -> Floats:
    """What the colour of each pair errs by beside its target (n,) where that is as much in every
    direction, else NaN.
    """
    columns, targets = box.columns[:, 0], box.targets[:, 0]
    even = (box.ours.even[columns] & box.theirs.even[targets]).all(axis=1)
    ours, theirs = box.ours.sizes[columns], box.theirs.sizes[targets]
    squared = ours**2 + theirs**2
    # what is shared moves both alike
    alike = box.ours.groups[columns] == box.theirs.groups[targets]
    squared[:, 1:] -= 2.0 * alike * ours[:, 1:] * theirs[:, 1:]
    squared[:, 1:] *= box.apart[:, 0]
    sigmas = np.sqrt(squared.sum(axis=1).clip(0.0))
    return np.where(even, sigmas, np.nan)


def _pairs(targets: Sequence[Target], colours: Sequence[Laid]) -> Draws:
    """Each of the colours (n,) beside its target, or the one there is."""
    names: dict[object, int] = {None: 0}
    (laid, columns), (asked, of_targets) = _each_once(colours), _each_once(targets)
    ours, theirs = Expected.of(laid, names), Expected.of(asked, names)
    return Draws.of(theirs, ours, np.resize(of_targets, columns.shape), columns)


def _drawn(box: Draws, some: Integers) -> Iterator[tuple[Floats, Integers]]:
    """Squared differences (m, draws) of some pairs at a time that err alike, and their rows (m,)
    among all.
    """
    at_once = 2 * _BLOCK // DRAWS
    for alike in _erring_alike(box, some):
        moved = box.among(alike[:1, np.newaxis], np.zeros((1, 1), int)).moved(0, DRAWS // 2)
        for rows in np.split(alike, range(at_once, len(alike), at_once)):
            pairs = box.among(rows[:, np.newaxis], np.zeros((len(rows), 1), int))
            yield pairs.moved_by(moved)[:, 0], rows


def _each_once(those: Sequence[_One]) -> tuple[Sequence[_One], Integers]:
    """Each object once, and which of them (n, 1) those are; all of them where none repeats."""
    known: dict[int, tuple[int, _One]] = {}
    which = [known.setdefault(id(one), (len(known), one))[0] for one in those]
    once = those if len(known) == len(those) else [one for _, one in known.values()]
    return once, np.array(which)[:, np.newaxis]


def _erring_alike(box: Draws, some: Integers) -> list[Integers]:
    """Rows of some targets with one colour each, those together that err alike."""
    if not len(some):
        return []
    columns, targets = box.columns[some, 0], box.targets[some, 0]
    told = [box.ours.roots[columns], box.theirs.roots[targets], box.apart[some]]
    told += [box.ours.groups[columns], box.theirs.groups[targets]]
    found: dict[bytes, list[int]] = {}
    whole = np.concatenate([one.reshape(len(columns), -1) for one in told], 1)
    for row, each in zip(some.tolist(), whole):
        found.setdefault(each.tobytes(), []).append(row)
    return [np.array(rows) for rows in found.values()]


def grade_probabilities(
    targets: Sequence[Target | None], given: Sequence[LaidStack | None]
) -> list[float | None]:
    """How surely each of what is given for a target of its own earns its grade, as `grade_chances`.

    Of a recipe, whose grade is that of what it promises, as the promise has it; None where there is
    nothing.
    """
    chances: list[float | None] = [None] * len(given)
    asked, laid, places = [], [], []
    for place, (target, stack) in enumerate(zip(targets, given, strict=True)):
        if target is None or stack is None:
            continue
        if stack.recipe:
            chances[place] = promise_of(target.lab, stack).grade_probability
            continue
        if is_target(stack.swatches[0], target):
            chances[place] = 1.0
            continue
        asked.append(target)
        laid.append(stack)
        places.append(place)
    if places:
        for place, chance in zip(places, grade_chances(asked, laid).tolist(), strict=True):
            chances[place] = chance
    return chances
