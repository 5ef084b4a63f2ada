"""Every way of searching against looking at every colour: the same differences, the same rows."""

import importlib.util
import pickle
import sys
import threading
from concurrent.futures import ThreadPoolExecutor

import colour
import numpy as np
import pytest
from colour_sets import COLOUR_SETS, clustered, duplicates, munsell, targets_for, uniform

from stopgap.difference import METRICS, delta_E, delta_E_ciede2000
from stopgap.errors import InputError
from stopgap.neighbours import SwatchIndex
from stopgap.neighbours.colours import rank_exhaustively
from stopgap.neighbours.descent import allowed_in, nearest_in_tree
from stopgap.neighbours.tree import build_tree

pytestmark = pytest.mark.slow

each_set = pytest.mark.parametrize("colours", COLOUR_SETS.values(), ids=COLOUR_SETS)
ways = pytest.mark.parametrize("compiled", [False, True], ids=["numpy", "compiled"])


def prepared(lab, metric="CIE 2000", *, compiled=False):
    if compiled:
        importlib.import_module("numba")  # without it the index would descend in numpy
    index = SwatchIndex(lab, metric)
    index.prepare(compiled=compiled)
    return index


def assert_same(found, expected, *, compiled):
    np.testing.assert_array_equal(found[1], expected[1])
    if compiled:  # the C library's sines, not numpy's
        np.testing.assert_allclose(found[0], expected[0], rtol=1e-11, atol=1e-11)
    else:
        np.testing.assert_array_equal(found[0], expected[0])


@each_set
def test_equals_looking_at_every_colour(colours):
    # 12,900 questions a set: over 100,000 in all
    generator = np.random.default_rng(30)
    for count, k, many in ((320, 1, 11_000), (500, 7, 1_500), (3_000, 3, 400)):
        lab = colours(generator, count)
        targets = targets_for(generator, lab, many)
        expected = rank_exhaustively(lab, targets, k, delta_E_ciede2000)
        index = prepared(lab)
        assert_same(index.nearest(targets, k), expected, compiled=False)
        for at in range(0, many, many // 50):
            alone = index.nearest(targets[at], k)
            assert_same(alone, [part[at : at + 1] for part in expected], compiled=False)
        if importlib.util.find_spec("numba"):
            found = prepared(lab, compiled=True).nearest(targets, k)
            assert_same(found, expected, compiled=True)


@each_set
@pytest.mark.parametrize("metric", [name for name in METRICS if name != "CIE 2000"])
def test_equals_looking_at_every_colour_under_each_metric(colours, metric):
    generator = np.random.default_rng(31)
    lab = colours(generator, 1_500)
    targets = targets_for(generator, lab, 320)
    expected = rank_exhaustively(lab, targets, 4, METRICS[metric].function)
    assert_same(prepared(lab, metric).nearest(targets, 4), expected, compiled=False)


@ways
@pytest.mark.parametrize("count", range(1, 8))
def test_trees_of_one_to_seven_colours(count, compiled):
    generator = np.random.default_rng(32 + count)
    lab = duplicates(generator, count)
    tree = build_tree(lab, np.arange(count))
    targets = targets_for(generator, lab, 64)
    for k in range(1, count + 1):
        expected = rank_exhaustively(lab, targets, k, delta_E_ciede2000)
        if compiled:
            search = importlib.import_module("stopgap.neighbours.compiled")
            *found, decided = search.nearest_compiled(tree, targets, k)
            assert decided.any()
            found = [part[decided] for part in found]
            expected = [part[decided] for part in expected]
        else:
            bound = METRICS["CIE 2000"].lower_bound
            found = nearest_in_tree(tree, targets, k, (delta_E_ciede2000, bound))
        assert_same(found, expected, compiled=compiled)


@each_set
def test_compiled_descent_and_compiled_scan_agree_to_the_last_bit(colours):
    search = importlib.import_module("stopgap.neighbours.compiled")
    generator = np.random.default_rng(33)
    lab = colours(generator, 2_000)
    targets = targets_for(generator, lab, 500)
    tree = build_tree(lab, np.arange(len(lab)))
    allowed = allowed_in(tree, generator.random(len(lab)) < 0.3)
    for masks in ((), (allowed.mask, allowed.nodes)):
        descended = search.nearest_compiled(tree, targets, 6, *masks)
        scanned = search.nearest_compiled(tree, targets, 6, *masks, exhaustive=True)
        np.testing.assert_array_equal(descended[0], scanned[0])
        sure = descended[2] & scanned[2]
        np.testing.assert_array_equal(descended[1][sure], scanned[1][sure])
        np.testing.assert_array_equal(descended[2], scanned[2])


@ways
@pytest.mark.parametrize("share", [0.9, 0.5, 0.15, 0.01, 0.0])
def test_only_allowed_colours_are_found(share, compiled):
    generator = np.random.default_rng(34)
    lab = clustered(generator, 6_000)
    targets = targets_for(generator, lab, 200)
    allowed = generator.random(len(lab)) < share
    allowed[np.argsort(lab[:, 0])[:1000]] = False  # a whole region too
    rows = np.flatnonzero(allowed)
    k = min(4, len(rows))
    expected = rank_exhaustively(lab[rows], targets, k, delta_E_ciede2000)
    index = prepared(lab, compiled=compiled)
    restricted = index.restricted(allowed)
    assert len(restricted) == len(rows)
    for found in (index.nearest(targets, 4, allowed=allowed), restricted.nearest(targets, 4)):
        assert_same(found, (expected[0], rows[expected[1]]), compiled=compiled)
    assert len(index) == len(lab)


@ways
def test_adding_and_removing_in_any_order(compiled):
    generator = np.random.default_rng(35)
    lab = munsell(generator, 700)
    present = np.ones(len(lab), dtype=bool)
    index = prepared(lab, compiled=compiled)
    for step in range(24):
        if step % 3 == 2:
            gone = generator.choice(np.flatnonzero(present), generator.integers(1, 150))
            gone = np.unique(gone)
            index.remove(gone)
            present[gone] = False
        else:
            added = uniform(generator, generator.integers(0, 260 if step % 2 else 8))
            rows = index.add(added)
            assert rows.tolist() == list(range(len(lab), len(lab) + len(added)))
            lab = np.concatenate([lab, added])
            present = np.concatenate([present, np.ones(len(added), dtype=bool)])
        assert len(index) == present.sum()
        targets = targets_for(generator, lab, 64)
        filtered = present & (generator.random(len(lab)) < 0.8)
        for allowed, rows in ((None, present), (filtered, filtered)):
            rows = np.flatnonzero(rows)
            expected = rank_exhaustively(lab, targets, 5, delta_E_ciede2000, rows)
            found = index.nearest(targets, 5, allowed=allowed)
            assert_same(found, expected, compiled=compiled)


def test_an_emptied_index_finds_nothing_and_can_be_filled_again():
    index = SwatchIndex(uniform(np.random.default_rng(36), 400))
    index.prepare()
    index.remove(np.arange(400))
    index.prepare()
    assert len(index) == 0
    assert index.nearest([50, 0, 0], 3)[1].shape == (1, 0)
    index.add([[50, 0, 0]])
    assert index.nearest([50, 0, 0], 3)[1].tolist() == [[400]]


@pytest.mark.parametrize("k", [40, 399, 400, 5000])
def test_many_nearest(k):
    generator = np.random.default_rng(37)
    lab = uniform(generator, 400)
    index = SwatchIndex(lab)
    index.prepare(compiled=False)
    targets = targets_for(generator, lab, 32)
    expected = rank_exhaustively(lab, targets, min(k, 400), delta_E_ciede2000)
    assert_same(index.nearest(targets, k), expected, compiled=False)


@ways
def test_equals_a_search_by_colour_science(compiled):
    # computed by colour-science 0.4.7, colour.delta_E(..., method="CIE 2000"), every pair
    generator = np.random.default_rng(38)
    lab = munsell(generator, 4_000) + generator.normal(0, 0.5, (4_000, 3))
    targets = clustered(generator, 150)
    differences = colour.delta_E(targets[:, np.newaxis], lab[np.newaxis], method="CIE 2000")
    found, rows = prepared(lab, compiled=compiled).nearest(targets, 3)
    np.testing.assert_array_equal(rows, np.argsort(differences, axis=1)[:, :3])
    np.testing.assert_allclose(found, np.sort(differences, axis=1)[:, :3], rtol=1e-9)


@ways
def test_exactly_opposite_hues_are_decided_alike(compiled):
    # where CIEDE2000 jumps; the difference of two numbers apart decides
    generator = np.random.default_rng(39)
    steps = generator.integers(-60, 61, (2_000, 2))
    lab = np.column_stack([np.full(2_000, 50.0), steps])
    targets = np.column_stack([np.full(300, 50.0), -steps[:300] / 4])
    index = prepared(lab, compiled=compiled)
    found, rows = index.nearest(targets, 20)
    expected = rank_exhaustively(lab, targets, 20, delta_E_ciede2000)
    assert_same((found, rows), expected, compiled=compiled)
    if compiled:
        search = importlib.import_module("stopgap.neighbours.compiled")
        for target in targets[:50]:
            opposite = np.array([[50.0, *(-3.0 * target[1:])]])
            tree = build_tree(opposite, np.array([0]))
            value = search.nearest_compiled(tree, target[np.newaxis], 1)[0].item()
            assert value == pytest.approx(delta_E(target, opposite[0]).item(), abs=1e-11)


@ways
def test_differences_that_rounding_cannot_tell_apart_are_ordered_alike(compiled):
    # for each target two colours whose differences were brought to within an ulp or so
    generator = np.random.default_rng(43)
    targets = uniform(generator, 250)
    first = targets + generator.normal(0, 0.2, targets.shape)
    way = generator.normal(0, 0.2, targets.shape)
    near, far = np.zeros((250, 1)), np.full((250, 1), 20.0)
    for _ in range(60):
        middle = (near + far) / 2
        too_far = delta_E(targets, targets + middle * way) > delta_E(targets, first)
        near = np.where(too_far[:, np.newaxis], near, middle)
        far = np.where(too_far[:, np.newaxis], middle, far)
    nearest = targets + np.array([0.001, 0.0, 0.0])
    lab = np.concatenate([first, targets + middle * way, nearest])
    apart = np.abs(delta_E(targets, lab[:250]) - delta_E(targets, lab[250:500]))
    assert apart.max() < 1e-13
    assert (apart > 0.0).mean() > 0.3
    for k in (1, 2, 3):
        expected = rank_exhaustively(lab, targets, k, delta_E_ciede2000)
        assert_same(
            prepared(lab, compiled=compiled).nearest(targets, k), expected, compiled=compiled
        )


def test_answers_are_the_same_before_and_after_the_tree_is_built():
    generator = np.random.default_rng(40)
    lab = duplicates(generator, 3_000)
    index = SwatchIndex(lab)
    target = targets_for(generator, lab, 1)
    bare = index.nbytes
    answers = [index.nearest(target, 9) for _ in range(12)]
    assert index.nbytes > bare  # it has been built meanwhile
    for found in answers[1:]:
        assert_same(found, answers[0], compiled=False)


def test_memory_is_as_stated():
    lab = uniform(np.random.default_rng(41), 50_000)
    index = SwatchIndex(lab)
    assert index.nbytes == 24 * len(lab)
    index.prepare(compiled=False)
    assert index.nbytes < 75 * len(lab)


def test_threads_may_ask_while_one_changes():
    # every answer is right for one of the moments the index went through
    generator = np.random.default_rng(42)
    lab = uniform(generator, 900)
    target = np.array([50.0, 5.0, 5.0])
    closer = target + np.linspace(0.5, 0.01, 30)[:, np.newaxis]
    index = SwatchIndex(lab)
    index.prepare(compiled=False)
    allowed_answers = {float(index.nearest(target)[0].item())}
    allowed_answers |= {float(delta_E(target, one)) for one in closer}
    seen, done = [], threading.Event()

    def ask():
        while not done.is_set():
            seen.append(float(index.nearest(target)[0].item()))

    with ThreadPoolExecutor(3) as readers:
        asked = [readers.submit(ask) for _ in range(3)]
        try:
            for one in closer:
                index.add([one])
                index.add(uniform(generator, 40) + np.array([200, 0, 0]))
                index.remove([len(lab)])
                lab = np.concatenate([lab, np.empty((41, 3))])
        finally:
            done.set()
    for reader in asked:
        reader.result()  # raises what it met
    assert seen
    assert set(seen) <= allowed_answers


@ways
def test_targets_and_colours_may_be_views_that_cannot_be_written(compiled):
    both = np.asfortranarray(uniform(np.random.default_rng(44), 1_400)[::2])
    both.flags.writeable = False
    lab, targets = both[:600], both[600:]
    expected = rank_exhaustively(lab, targets, 2, delta_E_ciede2000)
    assert_same(prepared(lab, compiled=compiled).nearest(targets, 2), expected, compiled=compiled)


def test_does_without_numba(monkeypatch):
    monkeypatch.setitem(sys.modules, "numba", None)
    monkeypatch.delitem(sys.modules, "stopgap.neighbours.compiled", raising=False)
    generator = np.random.default_rng(46)
    lab, targets = uniform(generator, 600), uniform(generator, 40)
    index = prepared(lab)
    index.prepare()
    expected = rank_exhaustively(lab, targets, 2, delta_E_ciede2000)
    assert_same(index.nearest(targets, 2), expected, compiled=False)


@ways
def test_goes_to_another_process_with_its_tree(compiled):
    generator = np.random.default_rng(45)
    index = prepared(uniform(generator, 700), compiled=compiled)
    index.remove([3, 5])
    targets = uniform(generator, 50)
    other = pickle.loads(pickle.dumps(index))
    assert (len(other), other.nbytes) == (len(index), index.nbytes)
    for found, expected in zip(other.nearest(targets, 3), index.nearest(targets, 3), strict=True):
        np.testing.assert_array_equal(found, expected)
    other.remove([4])
    assert len(index) == len(other) + 1


def test_two_indexes_of_one_array_do_not_share_changes():
    lab = np.array([[50.0, 0.0, 0.0], [60.0, 0.0, 0.0]])
    one, other = SwatchIndex(lab), SwatchIndex(lab)
    one.remove(0)
    assert (len(one), len(other)) == (1, 2)


@pytest.mark.parametrize(
    ("call", "says"),
    [
        (lambda index: index.nearest([50, 0, 0], allowed=[True]), "allowed: expected 3"),
        (lambda index: index.nearest([50, 0, 0], allowed=[0, 1, 2]), "allowed: expected 3"),
        (lambda index: index.remove([3]), "rows: there is no row 3"),
        (lambda index: index.remove([-1]), "rows: there is no row -1"),
        (lambda index: index.remove([0.5]), "rows: expected whole numbers"),
        (lambda index: [index.remove(1), index.remove(1)], "rows: there is no row 1"),
        (lambda index: index.add([[50, 0]]), "lab"),
        (lambda index: index.add([50, 0, 0]), "lab: expected shape"),
    ],
)
def test_refuses(call, says):
    index = SwatchIndex([[50, 0, 0], [60, 0, 0], [70, 0, 0]])
    with pytest.raises(InputError, match=says):
        call(index)


@pytest.mark.parametrize("error", [RuntimeError("no locator available"), OSError(13, "denied")])
def test_where_nothing_can_be_compiled_numpy_answers(monkeypatch, error):
    """What numba raises where no folder can be written, as for an account without a home."""
    compiled = pytest.importorskip("stopgap.neighbours.compiled")

    def refuse(*_arguments):
        raise error

    monkeypatch.setattr(compiled, "nearest_compiled", refuse)
    lab = np.random.default_rng(5).uniform([0, -60, -60], [100, 60, 60], (200, 3))
    index = SwatchIndex(lab)
    expected = index.nearest(lab[:20] + 0.5, 3)
    index.prepare()
    np.testing.assert_array_equal(index.nearest(lab[:20] + 0.5, 3), expected)
