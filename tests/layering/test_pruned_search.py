"""The pruned search says what trying everything says, to the last bit."""

from dataclasses import replace
from functools import lru_cache

import numpy as np
import pytest

from stopgap.colorimetry.cielab import relative_tristimulus
from stopgap.difference import delta_E, delta_E_ciede2000
from stopgap.difference.bounds.boxes import enclose
from stopgap.difference.bounds.ciede2000 import bound_ciede2000
from stopgap.difference.bounds.covers import cover, least_of
from stopgap.layering import palette_of, search
from stopgap.layering.pruning import many_targets, pruned_search, tried
from stopgap.layering.pruning.alike import alike, passed_over
from stopgap.layering.pruning.preparing import prepare_search
from stopgap.layering.pruning.regions import region_within
from stopgap.layering.pruning.separation import ROUNDED
from stopgap.layering.pruning.sieve import Sieve
from stopgap.layering.pruning.voxels import Ball
from stopgap.layering.recipe_search import Found
from stopgap.neighbours import SwatchIndex
from stopgap.planner.nearness import HUE_KEEPING, hue_keeping_difference
from stopgap.swatches import Reflectance, Scattering, Swatch

PAPER = (95.0, 0.0, 2.0)
WAVELENGTHS = tuple(range(380, 731, 10))


def pencils(seed, count=20, *, measured=False):
    """Invented pencils from pale to dark; where they are measured, every third has a spectrum."""
    random = np.random.default_rng(seed)
    L, C = random.uniform(20, 92, count), random.uniform(2, 45, count)
    h = random.uniform(0, 2 * np.pi, count)
    lab = np.stack([L, C * np.cos(h), C * np.sin(h)], axis=1).tolist()
    bands = random.uniform(0.05, 0.9, (count, 4))
    made = []
    for i, colour in enumerate(lab):
        spectrum = None
        if measured and i % 3 == 0:
            values = np.interp(WAVELENGTHS, (380, 480, 600, 730), bands[i])
            spectrum = Reflectance(WAVELENGTHS, tuple(values.tolist()))
        made.append(Swatch("Test", str(i), tuple(colour), reflectance=spectrum))
    return made


CASES = {
    "clear": ({}, 0.0, {}),
    "covering": ({}, 0.5, {}),
    "some cover": ({}, "some", {}),
    "heavy first": ({}, "some", {"heavy_first": True}),
    "toned paper": ({}, "some", {"paper": (55.0, 6.0, 14.0), "swatch_paper_lab": PAPER}),
    "spectra": ({"measured": True}, "some", {}),
    "calibrated": ({}, "some", {"tooth": 1.3, "trapping": 0.7}),
    "nearly level, no trapping": ({}, "some", {"tooth": 12.0, "trapping": 0.0}),
    "level paper": ({}, "some", {"tooth": np.inf, "trapping": 0.5}),
    "channels": ({}, 0.0, {"model": "channels"}),
}


@lru_cache
def boxes(case, seed):
    """A box, the same ready to be searched, and its pencils."""
    how, scattering, conditions = CASES[case]
    swatches = pencils(seed, **how)
    power = np.random.default_rng(seed).uniform(0.1, 1.2, len(swatches))
    power *= np.arange(len(swatches)) % 4 == 0
    if scattering != "some":
        power = np.full(len(swatches), scattering)
    known = {one.address: Scattering(S, S, S) for one, S in zip(swatches, power.tolist())}
    conditions = dict(conditions)
    paper = conditions.pop("paper", PAPER)

    def lay(some, known_optics=None):
        return palette_of(some, paper, opacity=known, known=known_optics, **conditions)

    return lay(swatches), prepare_search(swatches, power, lay), swatches


def assert_same(one, other):
    assert one.layings.tolist() == other.layings.tolist()
    assert one.delta_E.tobytes() == other.delta_E.tobytes()


@pytest.mark.parametrize("case", CASES)
@pytest.mark.parametrize(
    "target", [(50, 10, 20), (24, -6, -9), (80, 3, 40), (55, 90, -70), (3, 0, 0)]
)
def test_equals_trying_everything(case, target):
    box, pruned, _ = boxes(case, 1)
    assert_same(pruned.search(target, limit=12), search(target, box, limit=12))


TARGETS = np.array([(50, 10, 20), (24, -6, -9), (80, 3, 40), (55, 90, -70), (3, 0, 0)], dtype=float)


@pytest.mark.parametrize("case", [case for case in CASES if case != "channels"])
def test_inner_products_miss_a_colour_by_no_more_than_is_told(case):
    box, pruned, _ = boxes(case, 1)
    assert pruned.kinds
    for kind in pruned.kinds:
        lower, upper = np.flatnonzero(kind.first >= 0), np.arange(len(kind.second))
        seen = np.einsum("nr,mcr->nmc", kind.beneath.rows[lower], kind.above.rows, dtype=np.float64)
        left = np.sqrt(np.einsum("mcc->mc", kind.above.left))
        told = kind.missed + kind.beneath.left[lower, None, None] * left + ROUNDED
        one, other = (each.ravel() for each in np.meshgrid(lower, upper, indexing="ij"))
        exact = relative_tristimulus(box.colours(kind.first[one], kind.second[other]))
        off = np.abs(seen + kind.above.added - exact.reshape(seen.shape))
        assert (off <= told).all()
        assert np.median(told) < 3e-4


def indexed(lab):
    return SwatchIndex(lab).nearest


@pytest.mark.parametrize(
    ("case", "most"), [*((case, 2**19) for case in CASES if case != "channels"), ("clear", 60)]
)
def test_many_targets_at_once_find_what_each_finds_by_itself(case, most, monkeypatch):
    """However many pairs are laid at once, be they too few for a single target."""
    monkeypatch.setattr(many_targets, "_MOST", most)
    monkeypatch.setattr(many_targets, "_EVERY", 2)
    box, pruned, _ = boxes(case, 1)
    random = np.random.default_rng(4)
    laid = box.colours(*random.integers(0, len(box.loads), (2, 3)))
    targets, told = np.concatenate([TARGETS, laid]), []
    found = many_targets.search_each(
        pruned, targets, indexed, limit=4, progress=lambda *some: told.append(some)
    )
    for target, one in zip(targets, found, strict=True):
        assert_same(one, search(target, box, limit=4))
    assert told == sorted(told)


def test_many_targets_pass_over_what_is_barred_and_what_is_alike():
    swatches = pencils(5, 12)
    swatches += [replace(one, code=f"{one.code} again") for one in swatches[:9]]

    def lay(some, known=None):
        return palette_of(some, PAPER, known=known)

    pruned = prepare_search(swatches, np.zeros(len(swatches)), lay)
    barred = np.arange(len(swatches)) % 4 == 1
    found = many_targets.search_each(pruned, TARGETS, indexed, limit=6, barred=barred)
    for target, one in zip(TARGETS, found, strict=True):
        assert_same(one, pruned.search(target, limit=6, barred=barred))


def test_colours_that_are_missed_by_little_are_not_sifted_out():
    """Boxes are widened by what X, Y and Z of colours in them may be off, dark ones most."""
    random = np.random.default_rng(6)
    lab = random.uniform([0, -40, -40], [100, 40, 40], (400, 3))
    boxes = np.stack([lab - 0.3, lab + 0.3], axis=-1)
    off = np.array([2e-3, 1e-3, 4e-3])
    corners = lab + 0.3 * random.choice([-1.0, 1.0], lab.shape)
    moved = relative_tristimulus(corners) + off * random.choice([-1.0, 1.0], lab.shape)
    for one, its in zip(boxes[:, np.newaxis], moved.astype(np.float32)):
        assert len(Sieve.of(one, off).near(*its[:, np.newaxis])) == 1
    assert len(Sieve.of(boxes[:1], off).near(*moved.astype(np.float32).T)) < 9


@pytest.mark.parametrize("seed", [2, 3])
def test_equals_it_for_the_colours_of_recipes(seed):
    """Nothing that lies there exactly is lost, nor of several ways to lay two pencils any."""
    box, pruned, _ = boxes("some cover", seed)
    random = np.random.default_rng(seed)
    first, second = random.integers(0, len(box.loads), (2, 6))
    for target in box.colours(first, second):
        found = pruned.search(target, limit=9, per_pair=3)
        assert_same(found, search(target, box, limit=9, per_pair=3))


@pytest.mark.parametrize("target", [(50, 10, 20), (45, 90, 60), (24, -6, -9)])
@pytest.mark.parametrize("seeds", [0, 12])
def test_finds_no_further_than_is_asked(target, seeds, monkeypatch):
    """And where nothing is as near as something is to be, nothing, however near it is."""
    monkeypatch.setattr(pruned_search, "_SEEDS", seeds)
    box, pruned, _ = boxes("some cover", 3)
    every = search(target, box, limit=12)
    for many in (0, 1, 5, 12):
        within = float([*every.delta_E, np.inf][many]) * (1.0 - 1e-9)
        near = pruned.search(target, limit=12, within=within)
        assert_same(near, Found(every.layings[:many], every.delta_E[:many]))
    first = float(every.delta_E[0])
    assert_same(pruned.search(target, limit=12, unless=first), every)
    assert_same(pruned.search(target, limit=12, unless=first * 1.2), every)
    none = pruned.search(target, limit=12, unless=first * (1.0 - 1e-9))
    assert none.layings.shape == (0, 2)
    assert none.delta_E.shape == (0,)


@pytest.mark.parametrize("limit", [12, 40])
@pytest.mark.parametrize("target", [(50, 10, 20), (45, 90, 60)])
def test_asks_further_where_too_few_are_known(target, limit, monkeypatch):
    """A box that is small enough to try is one batch, and all its recipes are known beforehand."""
    box, pruned, _ = boxes("some cover", 2)
    asked = []
    made = region_within
    monkeypatch.setattr(pruned_search, "_BATCH", 50)
    monkeypatch.setattr(tried, "_FIRST", 9)
    monkeypatch.setattr(pruned_search, "_SEEDS", 0)
    monkeypatch.setattr(pruned_search, "_NEAR", 1.0)
    monkeypatch.setattr(
        pruned_search, "region_within", lambda *told: asked.append(told[1]) or made(*told)
    )
    assert_same(pruned.search(target, limit=limit), search(target, box, limit=limit))
    assert (len(asked) > 1) == (limit > len(pruned.swatches))
    by_hue = pruned.search(
        target, limit=limit, difference=hue_keeping_difference, parts=HUE_KEEPING
    )
    assert_same(by_hue, search(target, box, limit=limit, metric=hue_keeping_difference))


def test_pencils_that_are_barred_are_as_if_not_there():
    box, pruned, _ = boxes("clear", 1)
    barred = np.arange(len(pruned.swatches)) % 5 == 1
    found = pruned.search((50, 10, 20), limit=12, barred=barred)
    fewer = [one for one, out in zip(pruned.swatches, barred) if not out]
    expected = search((50, 10, 20), palette_of(fewer, PAPER), limit=12)
    p = len(box.pressures)
    left = np.flatnonzero(~barred)[expected.layings // p] * p + expected.layings % p
    assert found.layings.tolist() == np.where(expected.layings < 0, -1, left).tolist()
    assert found.delta_E.tobytes() == expected.delta_E.tobytes()
    colours = pruned.colours(found.layings)
    assert delta_E((50, 10, 20), colours).tobytes() == found.delta_E.tobytes()


@pytest.mark.parametrize("target", [(45, 90, 60), (40, -60, 20), (30, 40, -90), (95, 2, -60)])
def test_ranks_by_hue_as_well(target):
    box, pruned, _ = boxes("some cover", 1)
    found = pruned.search(target, limit=12, difference=hue_keeping_difference, parts=HUE_KEEPING)
    expected = search(target, box, limit=12, metric=hue_keeping_difference)
    assert_same(found, expected)


@pytest.mark.parametrize("target", [(50, 60, 40), (60, -50, 10), (40, 20, -60)])
def test_greys_which_are_all_about_as_far_from_a_vivid_colour(target, monkeypatch):
    """What is looked for shrinks as nearer ones are found, a few at a time."""
    monkeypatch.setattr(pruned_search, "_FIRST", 40)
    monkeypatch.setattr(pruned_search, "_SEEDS", 1)
    random = np.random.default_rng(12)
    lab = np.column_stack([random.uniform(20, 90, 24), *random.normal(0, 0.5, (2, 24))])
    greys = [Swatch("Test", str(i), tuple(one)) for i, one in enumerate(lab.tolist())]

    def lay(some, known=None):
        return palette_of(some, PAPER, known=known)

    pruned = prepare_search(greys, np.zeros(24), lay)
    by_hue = {"difference": hue_keeping_difference, "parts": HUE_KEEPING}
    assert_same(pruned.search(target, limit=9), search(target, lay(greys), limit=9))
    found = pruned.search(target, limit=9, **by_hue)
    assert_same(found, search(target, lay(greys), limit=9, metric=hue_keeping_difference))


@pytest.mark.parametrize("target", [(50.0, 60.0, 40.0), (50.0, -60.0, -40.0), (60.0, 20.0, -50.0)])
def test_boxes_across_the_opposite_hue_are_bounded_on_either_side_of_it(target):
    """There ΔE00 leaps, so that a bound of both ways at once is far below."""
    random = np.random.default_rng(11)
    a, b = -np.array(target[1:]) / np.hypot(*target[1:])
    chroma, beside = random.uniform(0.2, 20, (2000, 1)), random.normal(0, 0.1, (2000, 1))
    middles = np.hstack(
        [np.full_like(chroma, 50), chroma * (a - b * beside), chroma * (b + a * beside)]
    )
    half = chroma * 0.2 * random.uniform(0.01, 1, (2000, 3))
    inside = middles[:, None] + half[:, None] * random.uniform(-1, 1, (2000, 60, 3))
    boxes = np.stack([middles - half, middles + half], axis=-1)
    least = least_of(boxes, np.array(target), bound_ciede2000)
    nearest = delta_E(target, inside).min(axis=1)
    assert (least <= nearest).all()
    assert (least > 0.62 * nearest).all()
    opposite = np.hstack([np.full_like(chroma, 50), chroma * a, chroma * b])  # to the last bits
    exact = np.stack([opposite - half, opposite + half], axis=-1)
    least = least_of(exact, np.array(target), bound_ciede2000)
    for turn in (-1e-9, -1e-12, 0.0, 1e-12, 1e-9):
        turned = opposite + turn * chroma * np.array([0.0, -b, a])
        assert (least <= delta_E(target, turned)).all()


def test_hue_kept_is_the_least_of_its_parts_and_nowhere_below_their_bounds():
    random = np.random.default_rng(7)
    tight = apart_each = 0
    for target in random.uniform((0, -90, -90), (100, 90, 90), (40, 3)):
        middles = target * random.uniform(0, 1.2, (500, 1)) + random.normal(size=(500, 3)) * 8
        labs = middles[:, np.newaxis] + random.normal(size=(500, 6, 3)) * random.uniform(0.1, 6)
        parts = [part.difference(target, labs.reshape(-1, 3)) for part in HUE_KEEPING]
        apart = hue_keeping_difference(target, labs.reshape(-1, 3))
        assert np.minimum(*parts).tobytes() == apart.tobytes()
        for part, its in zip(HUE_KEEPING, parts):
            nearest = its.reshape(500, 6).min(axis=1)
            least = part.bound(target, enclose(labs))
            assert (least <= nearest + 1e-9).all()
            finite = np.isfinite(nearest)
            tight += (least > 0.9 * nearest)[finite].sum()
            apart_each += (np.isinf(least) & ~finite).sum()
    assert tight > 1000
    assert apart_each > 1000


@pytest.mark.parametrize("size", [1e-3, 1.0, 30.0])
def test_a_box_is_bounded_as_its_corners_are(size):
    """On all sides of the neutral axis, and about it."""
    random = np.random.default_rng(10)
    middles = random.normal(size=(3000, 3)) * [20, 3 * size, 3 * size] + [50, 0, 0]
    half = random.uniform(0.1, 1.0, (3000, 3)) * size
    boxes = np.stack([middles - half, middles + half], axis=-1)
    inside = middles[:, None] + half[:, None] * random.uniform(-1, 1, (3000, 20, 3))
    corners = middles[:, None] + half[:, None] * (2.0 * np.array(list(np.ndindex(2, 2, 2))) - 1.0)
    beside = (np.abs(middles) > half)[:, 1:].any(axis=1)
    rows = enclose(corners)
    rows[:, 6] = np.hypot(*np.clip(0.0, *np.moveaxis(boxes[:, 1:], -1, 0)).T)
    for target in [(50.0, 10.0, 20.0), (25.0, 40.0, -80.0), (70.0, 0.0, 0.0)]:
        least = least_of(boxes, np.array(target), bound_ciede2000)
        assert (least <= delta_E(target, inside).min(axis=1) + 1e-9).all()
        around = bound_ciede2000(np.array(target), rows)
        assert (least >= around * (1.0 - 1e-9) - 1e-9)[beside].all()


@pytest.mark.parametrize("limit", [0.1, 1.5, 9.0])
@pytest.mark.parametrize("target", [(50, 10, 20), (25, 40, -80), (70, 0, 0), (4, 1, 1)])
def test_what_is_near_is_in_the_region_and_in_its_cover(target, limit):
    random = np.random.default_rng(8)
    target = np.array(target, dtype=float)
    labs = target + random.normal(size=(4000, 3)) * limit * random.uniform(0.2, 2, (4000, 1))
    labs = labs[(labs[:, 0] >= 0) & (delta_E(target, labs) <= limit)]
    assert len(labs) > 20
    held = cover(target, limit, bound_ciede2000, finest=limit / 2)
    inside = (labs[:, None] >= held[None, ..., 0]) & (labs[:, None] <= held[None, ..., 1])
    assert inside.all(axis=2).any(axis=1).all()
    region = region_within(target, limit, target + np.array([1.0, 2.0, 3.0]))
    along = relative_tristimulus(labs) @ region.normals.T
    assert ((along >= region.low) & (along <= region.high)).all()
    half = region._replace(high=np.append(along[:, :1].mean(), region.high[1:]))
    part = region_within(target, limit, region.towards, among=half)
    some = (along <= half.high).all(axis=1)
    along = relative_tristimulus(labs[some]) @ part.normals.T
    assert ((along >= part.low) & (along <= part.high)).all()
    assert part.size < region.size or not some.any()
    elsewhere = half._replace(low=region.high + 1.0, high=region.high + 2.0)
    assert region_within(target, limit, region.towards, among=elsewhere) is None


@pytest.mark.parametrize("far", [((50, -70, -20), (52, -29, -7)), ((25, -5, -40), (28, -4, -24))])
def test_a_region_ends_about_where_what_is_near_ends(far):
    """Nothing of the other side of the neutral axis, nor of other blues, is taken for near."""
    target, towards = np.array(far, dtype=float)
    limit = float(delta_E(target, towards))
    region = region_within(target, limit, towards)
    reached = relative_tristimulus(towards) @ region.normals[0]
    wide = region.high[0] - region.low[0]
    assert 0.0 <= region.high[0] - reached < 0.02 * wide


@pytest.mark.parametrize("limit", [0.1, 1.5, 9.0])
@pytest.mark.parametrize("target", [(50, 10, 20), (25, 40, -80), (70, 0, 0), (4, 1, 1)])
def test_what_is_near_meets_a_live_voxel_and_is_no_nearer_than_is_told(target, limit):
    random = np.random.default_rng(9)
    target = np.array(target, dtype=float)
    labs = target + random.normal(size=(6000, 3)) * limit * random.uniform(0.2, 4, (6000, 1))
    labs = labs[labs[:, 0] >= 0.0]
    apart, at = delta_E(target, labs), relative_tristimulus(labs)
    region = region_within(target, limit, target + np.array([1.0, 2.0, 3.0]))
    asked = Ball(target, limit, delta_E_ciede2000, bound_ciede2000)
    voxels = asked.voxels(region, np.full(3, 1e-4), 32)
    along = (at @ region.normals[:3].T).T
    moved = (
        random.uniform(-1, 1, along.shape) * voxels.step[:, None] * random.uniform(0, 3, len(labs))
    )
    for off in (np.zeros_like(moved), moved):
        met = voxels.met(along + off, np.abs(off) * 1.001)
        assert met[apart <= limit].all()
        near = (np.abs(off).max(axis=1) * 1.001 < 0.99 * voxels.step).all()
        assert not near or voxels.near((along + off).astype(np.float32))[met].all()
    off = random.uniform(0, 1e-3, at.shape)
    least = asked.least(at + off * random.uniform(-1, 1, at.shape), off)
    assert (least <= apart).all()
    known = asked.least(at, np.full(3, 1e-9))
    assert (known >= 0.7 * apart - 1e-3).mean() > 0.9


def test_a_model_of_one_piece_is_not_pruned():
    def whole(layers, paper, loads, *, tooth, opacity, ground=None):
        return layers[..., -1, :]

    def lay(some, known=None):
        return palette_of(some, PAPER, model=whole, known=known)

    swatches = pencils(4, 4)
    assert prepare_search(swatches, np.zeros(4), lay) is None


ODD = {
    "one colour": [(55.0, 20.0, 10.0)],
    "few colours": [(55.0, 20.0, 10.0), (70.0, -5.0, 30.0), (30.0, 0.0, -20.0)],
    "of one lightness": [(55.0, 20.0, 10.0), (55.0, -5.0, 30.0), (30.0, 0.0, -20.0)],
    "greys": [(float(L), 0.0, 0.0) for L in range(20, 92, 4)],
}


@pytest.mark.parametrize("covering", [False, True])
@pytest.mark.parametrize("colours", ODD.values(), ids=ODD)
def test_of_pencils_that_are_alike_the_first_are_found(colours, covering):
    random = np.random.default_rng(3)
    which = random.permutation(np.arange(18) % len(colours)).tolist()
    swatches = [Swatch("Test", str(i), colours[k]) for i, k in enumerate(which)]
    power = np.where(np.array(which) % 2 == 0, 0.4, 0.0) if covering else np.zeros(18)
    known = {one.address: Scattering(S, S, S) for one, S in zip(swatches, power.tolist())}

    def lay(some, known_optics=None):
        return palette_of(some, PAPER, opacity=known, known=known_optics)

    box, pruned = lay(swatches), prepare_search(swatches, power, lay)
    first, second = random.integers(0, len(box.loads), (2, 1))
    for target in [(20, 8, 4), *box.colours(first, second)]:
        found = pruned.search(target, limit=4, per_pair=2)
        assert_same(found, search(target, box, limit=4, per_pair=2))
    barred = np.arange(18) < 2
    found = pruned.search((20, 8, 4), limit=4, barred=barred)
    expected = search((20, 8, 4), lay(swatches[2:]), limit=4)
    two = 2 * len(box.pressures)
    assert (
        found.layings.tolist()
        == np.where(expected.layings < 0, -1, expected.layings + two).tolist()
    )
    assert found.delta_E.tobytes() == expected.delta_E.tobytes()


def test_none_is_alike_whose_lightness_another_has():
    lightness = np.array([50.0, 50.0, 50.0, 60.0, 60.0, 60.0])
    groups = alike(lightness, np.array([[1.0], [1.0], [2.0], [3.0], [3.0], [3.0]]))
    assert groups.tolist() == [0, 1, 2, 3, 3, 3]
    barred = np.arange(6) == 3
    assert np.flatnonzero(passed_over(barred, groups, 1)).tolist() == [3, 5]
