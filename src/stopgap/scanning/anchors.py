"""What known colours on the page say about the device: learning with few, some wrong.

Ridge regression on what the prior leaves over is Bayesian regression with that prior. Huber's loss
finds anchors that fit no others; they are named and left out (P. J. Huber (1964), Annals of
Mathematical Statistics 35, 73-101). How much the device may differ from the simulated ones is
what makes the anchors likeliest, where there are enough of them.
"""

import warnings
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from types import MappingProxyType
from typing import NamedTuple

import numpy as np

from stopgap.arrays import Booleans, Floats
from stopgap.difference import delta_E
from stopgap.errors import InputError
from stopgap.library import find_swatch
from stopgap.scanning.colour import (
    Anchor,
    Correction,
    FromAnchors,
    Prior,
    expected,
    features,
    whitened,
)
from stopgap.scanning.growth import place_of
from stopgap.swatches import (
    Box,
    ChartPage,
    Edition,
    Lab,
    LaidField,
    Pencil,
    Rectangle,
    Source,
    TargetPatch,
)

HAND = 0.15
"""How far one hand's layer lies from another's, as a share of the way from the paper."""
_ENOUGH_FOR_ROBUST, _ENOUGH_FOR_CHOICE, _FEWEST_LEFT_OUT = 8, 8, 3
_STRENGTHS = MappingProxyType({1.0: 0.0, 0.5: -0.5, 0.2: -1.5})
"""Of the prior, 1 as simulated, less for a stranger device; how likely before, as a logarithm."""
_FREEDOM = 8.0
"""Degrees of freedom of what is believed of a device's variances before its anchors are seen."""
_DOUBTED, _DOUBTED_TIMES = 6.0, 4.0  # ΔE00, and times the median
_ENOUGH_TO_JUDGE, _WORSE = 6, 1.05


class KnownColour(NamedTuple):
    """The colour of a pencil that serves as an anchor.

    `same_layer` where its very box on the page was measured; else the pencil's colour is known from
    another layer.
    """

    lab: Lab
    uncertainty: float = 0.5
    same_layer: bool = False


class WithPatches(NamedTuple):
    """Charts with the patches of a colour target as boxes, less what lies beneath them.

    `known` says the colours of boxes, by page and box; `patches` are those that are a patch. By
    edition and page, `covered` counts the boxes beneath, and `missing` tells of a patch that is
    said to be a box which is not there.
    """

    editions: Mapping[str, Edition]
    known: Mapping[tuple[int, Box], KnownColour]
    patches: frozenset[Box]
    covered: Mapping[tuple[str, int], int]
    missing: Mapping[tuple[str, int], str]

    def refuse_missing(self, seen: Iterable[tuple[str, int]]) -> None:
        """Raise InputError where a patch is said to be a box that a page seen has not."""
        for place in seen:
            if place in self.missing:
                raise InputError(self.missing[place], argument="target")


def with_patches(editions: Mapping[str, Edition], target: Sequence[TargetPatch]) -> WithPatches:
    """What is to be looked for on the pages of charts where a colour target lies there too."""
    found = WithPatches({}, {}, frozenset(), {}, {})
    for number, edition in editions.items():
        pages = []
        for page in edition.pages:
            on_page = {at: patch for at, patch in enumerate(target, 1) if patch.page == page.number}
            changed, known, missing = _page_with(page, on_page)
            covered = sum(box not in changed.boxes for box in page.boxes)
            pages.append(changed)
            place = (number, page.number)
            found = WithPatches(
                found.editions,
                {**found.known, **{(page.number, box): colour for box, colour in known.items()}},
                found.patches.union(set(changed.boxes) - set(page.boxes)),
                {**found.covered, place: covered},
                {**found.missing, place: missing} if missing else found.missing,
            )
        grown = replace(edition, pages=tuple(pages))
        found = found._replace(editions={**found.editions, number: grown})
    return found


def _page_with(
    page: ChartPage, target: Mapping[int, TargetPatch]
) -> tuple[ChartPage, dict[Box, KnownColour], str]:
    """A page with patches by their number, the boxes whose colours they tell, and what is amiss."""
    if not target:
        return page, {}, ""
    places = {place_of(page, box): box for box in page.boxes}
    known, lying, missing = {}, [], ""
    for number, patch in target.items():
        colour = KnownColour(patch.lab, patch.uncertainty, same_layer=True)
        if patch.place is not None:
            box = Box(patch.place, (LaidField(patch.place),), (f"patch {number}",), anchor=True)
            lying.append(box)
            known[box] = colour
        elif patch.cell in places:
            known[places[patch.cell]] = colour
        else:
            row, column = patch.cell or (0, 0)
            missing = (
                f"page {page.number} has no box {column} in row {row}, which patch {number} of the "
                "target is said to be."
            )

    def free(place: Rectangle) -> bool:
        return not any(place.meets(box.outline) for box in lying)

    boxes = (*(box for box in page.boxes if free(box.outline)), *lying)
    return replace(page, boxes=boxes, blanks=tuple(filter(free, page.blanks))), known, missing


def learn(anchors: Sequence[Anchor], prior: Prior, paper: Floats) -> FromAnchors:
    """The correction from anchors and what was expected; at least one anchor."""
    design, target, _ = whitened(anchors, prior, paper, HAND)
    doubted = _doubted(anchors, design, target, prior, paper)
    kept = ~doubted
    names = tuple(anchor.name for anchor, out in zip(anchors, doubted, strict=True) if out)
    trusted = [anchor for anchor, out in zip(anchors, doubted, strict=True) if not out]
    before = expected(prior, paper)
    if not trusted:
        return FromAnchors(before, None, names, used=False)
    rows = np.repeat(kept, 3)
    strength = _strength(design[rows], target[rows])
    z, covariance, left_out = _posterior(design[rows], target[rows], strength)
    times = _times(design[rows] / np.sqrt(strength), target[rows])
    factors = np.sqrt(times) * np.linalg.cholesky(covariance).T @ prior.factors
    weights = prior.mean + z @ prior.factors
    correction = Correction(paper, weights, factors, times * prior.misfit)
    if len(trusted) < _FEWEST_LEFT_OUT:
        return FromAnchors(correction, None, names, used=True)
    read, _ = _arrays(trusted)
    terms = features(read, paper)
    predicted = read + np.stack(
        [
            row @ (prior.mean + apart @ prior.factors).reshape(terms.shape[1], 3)
            for row, apart in zip(terms, left_out, strict=True)
        ]
    )
    residual = _off(predicted, trusted, paper)
    without = _off(before.corrected(read), trusted, paper)
    if len(trusted) >= _ENOUGH_TO_JUDGE and residual > _WORSE * without:
        return FromAnchors(before, residual, names, used=False)
    return FromAnchors(correction, residual, names, used=True)


def evidence(anchors: Sequence[Anchor], prior: Prior, paper: Floats) -> float:
    """Logarithm of how probable the anchors are for a class of devices, save a constant."""
    design, target, determinant = whitened(anchors, prior, paper, HAND)
    return determinant + _evidence(design, target)


def _off(predicted: Floats, anchors: Sequence[Anchor], paper: Floats) -> float:
    """Mean ΔE00 of predictions (n, 3); of another hand only what no load of it explains."""
    _, known = _arrays(anchors)
    along = known - paper
    along /= np.maximum(np.linalg.norm(along, axis=1, keepdims=True), 1e-9)
    other_hand = np.array([not anchor.same_layer for anchor in anchors])[:, np.newaxis]
    share = ((predicted - known) * along).sum(axis=1, keepdims=True)
    return float(delta_E(predicted, known + other_hand * share * along).mean())


def _arrays(anchors: Sequence[Anchor]) -> tuple[Floats, Floats]:
    return np.array([one.read for one in anchors]), np.array([one.known for one in anchors])


def _doubted(
    anchors: Sequence[Anchor], design: Floats, target: Floats, prior: Prior, paper: Floats
) -> Booleans:
    """Which anchors (n,) lie far off what the rest, robustly fitted, says."""
    if len(anchors) < _ENOUGH_FOR_ROBUST:
        return np.zeros(len(anchors), dtype=np.bool_)
    from sklearn.linear_model import HuberRegressor

    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # that it stopped early does not harm what is only compared
        fitted = HuberRegressor(alpha=1.0, fit_intercept=False, max_iter=300).fit(design, target)
    weights = prior.mean + fitted.coef_ @ prior.factors
    robust = Correction(paper, weights, prior.factors, prior.misfit)
    read, known = _arrays(anchors)
    off = delta_E(robust.corrected(read), known)
    return np.asarray(off > max(_DOUBTED, _DOUBTED_TIMES * float(np.median(off))))


def _strength(design: Floats, target: Floats) -> float:
    """How much the prior is believed, 1 as simulated: what makes enough anchors likeliest.

    D. J. C. MacKay (1992), "Bayesian interpolation", Neural Computation 4(3), 415-447.
    """
    if len(target) < 3 * _ENOUGH_FOR_CHOICE:
        return 1.0
    likely = {
        strength: _evidence(design / np.sqrt(strength), target) + before
        for strength, before in _STRENGTHS.items()
    }
    return max(likely, key=likely.__getitem__)


def _times(design: Floats, target: Floats) -> float:
    """By how much this device's variances are larger than those of the simulated, at least 1.

    The middle of an inverse chi-squared of `_FREEDOM` degrees about 1 after the anchors are seen:
    A. Gelman and others (2013), "Bayesian Data Analysis", section 14.2.
    """
    spread, off = _spread(design, target)
    return max(1.0, (_FREEDOM + off) / (_FREEDOM + len(spread)))


def _evidence(design: Floats, target: Floats) -> float:
    """Logarithm of the probability of whitened targets, save a constant."""
    spread, off = _spread(design, target)
    return float(-0.5 * (np.linalg.slogdet(spread)[1] + off))


def _spread(design: Floats, target: Floats) -> tuple[Floats, float]:
    """The covariance of whitened targets before anything is known, and their squared distance."""
    spread = design @ design.T + np.eye(len(target))
    return spread, float(target @ np.linalg.solve(spread, target))


def _posterior(design: Floats, target: Floats, strength: float) -> tuple[Floats, Floats, Floats]:
    """Z (k,), its covariance (k, k), and z (n, k) with each anchor's three rows left out."""
    from sklearn.linear_model import Ridge

    def ridge(rows: Booleans) -> Floats:
        model = Ridge(alpha=strength, fit_intercept=False, solver="svd")
        return np.asarray(model.fit(design[rows], target[rows]).coef_, dtype=np.float64)

    everything = np.ones(len(target), dtype=np.bool_)
    z = ridge(everything)
    precision = design.T @ design + strength * np.eye(design.shape[1])
    apart = []
    for start in range(0, len(target), 3):
        rows = everything.copy()
        rows[start : start + 3] = False
        apart.append(ridge(rows) if rows.any() else np.zeros_like(z))
    covariance = np.linalg.inv(precision)
    return z, (covariance + covariance.T) / 2.0, np.array(apart)


def colours_to_learn_from(
    pencils: Mapping[str, Pencil], editions: Mapping[str, Edition], anchors: Sequence[str]
) -> dict[str, KnownColour]:
    """Colours of anchor boxes where they were measured, and of those that `anchors` call.

    Raises
    ------
    InputError
        Where one that is called was not measured.
    UnknownSwatchError
        Where nothing bears the name.
    """
    swatches = [one for pencil in pencils.values() if (one := pencil.colour()) is not None]
    named = {find_swatch(text, swatches).address for text in anchors}
    found = _measured_colours(pencils, named)
    typed = sorted(named - set(found))
    if typed:
        raise InputError(
            f"{', '.join(typed)}: its colour was not measured, so nothing can be learnt from it.",
            argument="anchor",
        )
    printed = {
        address
        for edition in editions.values()
        for _, box in edition.boxes()
        if box.anchor
        for address in box.pencils
    }
    return _measured_colours(pencils, printed) | found


def _measured_colours(pencils: Mapping[str, Pencil], addresses: set[str]) -> dict[str, KnownColour]:
    """The pencils among `addresses` whose colour was measured, as anchors laid by another hand."""
    found = {address: pencils[address].colour() for address in addresses if address in pencils}
    return {
        address: KnownColour(colour.lab, colour.total_uncertainty)
        for address, colour in found.items()
        if colour is not None and colour.source is Source.MEASURED
    }
