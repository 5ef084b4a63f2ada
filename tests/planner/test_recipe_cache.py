"""A file of recipes is used where it is right, and never gives a wrong answer."""

import multiprocessing
import os
import shutil
import time
from dataclasses import replace
from io import FileIO
from zlib import crc32

import numpy as np
import pytest

from stopgap.errors import Remedy, TooLargeError
from stopgap.layering import catalogue_colours
from stopgap.layering.estimates import never_beneath
from stopgap.layering.recipe_search import most_recipes
from stopgap.planner import (
    Lately,
    LayerQuestion,
    RecipeCache,
    estimated_conditions,
    find_stand_ins,
    index_recipes,
    recipes_under,
)
from stopgap.planner.recipes import cache as recipe_cache
from stopgap.planner.recipes import kept, single_layers
from stopgap.planner.recipes.held import Held
from stopgap.planner.recipes.kept import make_palette, numbers_of
from stopgap.planner.recipes.single_layers import laid_alone
from stopgap.swatches import (
    FreeColour,
    Opacity,
    Reflectance,
    Scattering,
    Spreads,
    Swatch,
    as_layered,
)

pytestmark = pytest.mark.slow

ESTIMATED = estimated_conditions()
COVERS = Scattering(0.2, 0.6, 1.2)
TARGETS = [[50, 10, 20], [70, -20, 5], [35, 0, 0]]


@pytest.fixture
def cache(tmp_path):
    return RecipeCache(tmp_path / "recipes")


def some_swatches(seed=1, count=25):
    rng = np.random.default_rng(seed)
    lab = rng.uniform([30, -25, -25], [75, 25, 25], (count, 3)).tolist()
    return [Swatch("Test", str(row), tuple(one)) for row, one in enumerate(lab)]


def kept_arrays(cache, swatches, conditions=ESTIMATED):
    return cache.read(numbers_of(conditions, swatches))


def all_colours(swatches, conditions=ESTIMATED):
    return catalogue_colours(make_palette(conditions, swatches))


def the_file(cache):
    (file,) = cache.folder.iterdir()
    return file


def answers(swatches, cache=None, conditions=ESTIMATED):
    found = recipes_under(conditions, swatches, cache=cache).search(TARGETS, limit=6)
    return [(one.layings.tolist(), one.delta_E.tolist()) for one in found]


@pytest.fixture
def no_working_out(monkeypatch):
    """Call it, and nothing can be worked out from then on."""

    def forbidden(*_):
        raise AssertionError

    def forbid():
        monkeypatch.setattr("stopgap.planner.recipes.kept.make_palette", forbidden)

    return forbid


def test_what_is_read_is_what_was_written(cache, no_working_out):
    swatches = some_swatches()
    expected = answers(swatches)
    assert answers(swatches, cache) == expected
    assert the_file(cache).parent.name == "recipes"
    no_working_out()
    assert answers(swatches, cache) == expected
    np.testing.assert_array_equal(
        recipes_under(ESTIMATED, swatches, cache=cache).index.lab, all_colours(swatches)
    )


def test_recipes_read_are_described_as_those_worked_out(cache):
    swatches = some_swatches()
    fresh = recipes_under(ESTIMATED, swatches, cache=cache).recipes(TARGETS)
    for found, expected in zip(
        recipes_under(ESTIMATED, swatches, cache=cache).recipes(TARGETS), fresh, strict=True
    ):
        for one, other in zip(found, expected, strict=True):
            assert (one.stack, one.cautions) == (other.stack, other.cautions)
            assert (*one.lab, one.sigma) == pytest.approx((*other.lab, other.sigma), abs=1e-9)


def test_pencils_that_cannot_be_layered_are_still_left_out(cache):
    lighter = Swatch("Test", "lighter than the paper", (99.9, 0.0, 0.0))
    impossible = Swatch("Test", "no surface", (50.0, 120.0, 0.0))
    swatches = [lighter, *some_swatches(), impossible]
    expected = answers(swatches, cache)
    assert answers(swatches, cache) == expected == answers(swatches)
    assert len(recipes_under(ESTIMATED, swatches, cache=cache).swatches) == 25


def test_covering_pencils_are_numbered_alike(cache):
    swatches = some_swatches(4, 14)
    covering = {one.address: Scattering(0.8, 0.8, 0.8) for i, one in enumerate(swatches) if i % 3}
    conditions = replace(ESTIMATED, opacity=covering)
    expected = answers(swatches, conditions=conditions)
    assert answers(swatches, cache, conditions) == expected
    assert answers(swatches, cache, conditions) == expected


def test_it_may_be_deleted_at_any_time(cache):
    swatches = some_swatches()
    expected = answers(swatches, cache)
    the_file(cache).unlink()
    assert answers(swatches, cache) == expected
    shutil.rmtree(cache.folder)
    assert answers(swatches, cache) == expected
    assert kept_arrays(cache, swatches) is not None


def test_a_single_pencil_is_kept_too(cache):
    (swatch,) = some_swatches(count=1)
    expected = answers([swatch], cache)
    assert kept_arrays(cache, [swatch]) is not None
    assert answers([swatch], cache) == expected == answers([swatch])


@pytest.mark.parametrize("share", [0.0, 0.02, 0.3, 0.5, 0.7, 0.9, 0.99])
@pytest.mark.parametrize("damage", ["cut", "flipped", "zeroed"])
def test_a_damaged_file_is_passed_over_and_mended(cache, share, damage):
    swatches = some_swatches()
    expected = answers(swatches, cache)
    file = the_file(cache)
    data = bytearray(file.read_bytes())
    at = int(share * len(data))
    if damage == "cut":
        del data[at:]
    elif damage == "flipped":
        data[at] ^= 0x10
    else:
        before = bytes(data)
        data[at : at + 64] = bytes(len(data[at : at + 64]))
        assert bytes(data) != before
    file.write_bytes(data)
    assert kept_arrays(cache, swatches) is None
    assert answers(swatches, cache) == expected
    assert kept_arrays(cache, swatches) is not None


@pytest.mark.parametrize("content", [b"", b"not ours", b"\n", b"\x93NUMPY", bytes(100)])
def test_a_file_of_something_else_is_passed_over(cache, content):
    swatches = some_swatches()
    expected = answers(swatches, cache)
    the_file(cache).write_bytes(content)
    assert answers(swatches, cache) == expected


def rewritten(cache, swatches, **changed):
    """The file with other arrays, whole and with the right checksum."""
    arrays = dict(kept_arrays(cache, swatches))
    for name, change in changed.items():
        arrays[name] = change(arrays[name])
    cache.write(
        numbers_of(ESTIMATED, swatches),
        {name: one for name, one in arrays.items() if one is not None},
    )


@pytest.mark.parametrize(
    ("name", "change"),
    [
        ("lab", lambda lab: lab[:-1]),
        ("lab", lambda lab: lab.astype(np.float32)),
        ("rows", lambda rows: np.zeros_like(rows)),
        ("rows", lambda rows: np.where(rows == 5, 10**6, rows).astype(np.int32)),
        ("boxes", lambda boxes: boxes[:-1]),
        ("axes", lambda axes: axes[: len(axes) // 2]),
        ("values", lambda _: None),
        ("fate", lambda fate: fate[1:]),
        ("fate", lambda fate: fate.astype(float)),
        ("fate", lambda fate: (np.arange(len(fate)) <= 3).astype(int)),
        ("fate", lambda _: None),
    ],
)
def test_a_whole_file_with_arrays_of_other_shapes_is_passed_over(cache, name, change):
    swatches = some_swatches()
    expected = answers(swatches, cache)
    rewritten(cache, swatches, **{name: change})
    assert answers(swatches, cache) == expected


@pytest.mark.parametrize(
    "change",
    [
        lambda body: body.replace(b'"<f8"', b'"|O"', 1),
        lambda body: body.replace(b'"<f8"', b'"<U2"', 1),
        lambda body: body.replace(b'"made from"', b'"else"', 1),
        lambda body: body.replace(b"[[", b"[[[", 1),
        lambda body: body.replace(b"[[", b"[", 1).replace(b"]]", b"]", 1),
        lambda body: b"7\n" + body,
        lambda body: b"[" * 9000 + b"\n" + body,
        lambda body: b"[[1, 2, 3]]\n" + body,
        lambda body: b'[["a", "<f8", [-1]]]\n' + body,
        lambda body: b'[["a", "<f8", [99999999999999]]]\n' + body,
        lambda body: body.partition(b"\n")[0],
    ],
)
def test_a_file_with_the_right_checksum_and_another_table_is_passed_over(cache, change):
    swatches = some_swatches()
    expected = answers(swatches, cache)
    body = change(the_file(cache).read_bytes().partition(b"\n")[2])
    first_line = recipe_cache._first_line(len(body), crc32(body, cache._start()))
    the_file(cache).write_bytes(first_line + body)
    assert kept_arrays(cache, swatches) is None
    assert answers(swatches, cache) == expected


def test_a_file_whose_name_another_box_shares_is_passed_over(cache, monkeypatch):
    monkeypatch.setattr(RecipeCache, "_file", lambda self, _: self.folder / "one.recipes")
    first, second = some_swatches(1), some_swatches(2)
    expected = answers(first), answers(second)
    for _ in range(2):
        assert (answers(first, cache), answers(second, cache)) == expected


@pytest.mark.parametrize("head", [b"stopgap 0.0.older, recipes 2", b"stopgap 0.1.0, recipes -1"])
def test_another_version_makes_another_file(cache, monkeypatch, head):
    swatches = some_swatches()
    expected = answers(swatches, cache)
    monkeypatch.setattr(recipe_cache, "_HEAD", head)
    assert kept_arrays(cache, swatches) is None
    assert answers(swatches, cache) == expected
    assert len(list(cache.folder.iterdir())) == 2


def test_whoever_changes_the_colours_of_a_model_raises_the_format():
    """What a file of this format holds, to a hundredth; change both where a model changes."""
    colours = all_colours(some_swatches(3, 6))[[0, 9, 17, 18, 77, 110]]
    assert recipe_cache.FORMAT == 13
    np.testing.assert_allclose(colours, COLOURS_OF_FORMAT_10, atol=0.005)


def test_whoever_changes_what_lies_on_another_paper_raises_it_too():
    """Colour, uncertainties and the line of covering on tan, as the test before."""
    found = np.column_stack(laid_alone(ON_TAN, some_swatches(3, 2)))
    assert recipe_cache.FORMAT == 13
    np.testing.assert_allclose(found, ON_TAN_OF_FORMAT_13, atol=0.005)


def test_what_lies_on_another_paper_is_kept_to_the_bit(cache, no_working_out):
    glowing = Swatch("Test", "glowing", (97.0, -60.0, 95.0))
    swatches = [*some_swatches(count=4), glowing]
    expected = laid_alone(ON_TAN, swatches)
    assert np.isnan(expected.laying).tolist() == [False] * 4 + [True]
    laid_alone(ON_TAN, swatches, cache=cache)
    no_working_out()
    for part, kept_part in zip(expected, laid_alone(ON_TAN, swatches, cache=cache), strict=True):
        np.testing.assert_array_equal(part, kept_part)
    passes = [replace(swatch, passes=2, name="Other") for swatch in swatches]
    laid_alone(ON_TAN, passes, cache=cache)  # neither changes what one layer looks like


def test_what_lies_on_another_paper_does_not_hang_on_what_is_laid_with_it(monkeypatch):
    """Nor need anything in a block be such as can be laid."""
    glowing = Swatch("Test", "glowing", (97.0, -60.0, 95.0))
    swatches = [*some_swatches(count=4), glowing, glowing]
    together = laid_alone(ON_TAN, swatches)
    monkeypatch.setattr(single_layers, "_AT_ONCE", 2)
    apart = laid_alone(ON_TAN, swatches)
    np.testing.assert_array_equal(np.column_stack(together), np.column_stack(apart))


@pytest.mark.parametrize(
    "changed",
    [
        {"lab": (60.0, 1.0, 1.0)},
        {"uncertainty": 2.0},
        {"shared_uncertainty": 2.0},
        {"pressure": "light"},
        {"opacity": Opacity.COVERS},
        {"reflectance": Reflectance((400.0, 700.0), (0.4, 0.3))},
    ],
    ids=lambda changed: next(iter(changed)),
)
def test_what_lies_on_another_paper_is_never_that_of_another_swatch(cache, changed):
    swatches = some_swatches(count=3)
    laid_alone(ON_TAN, swatches, cache=cache)
    recipes_under(ON_TAN, swatches, cache=cache)
    other = [replace(swatches[0], **changed), *swatches[1:]]
    found, expected = laid_alone(ON_TAN, other, cache=cache), laid_alone(ON_TAN, other)
    np.testing.assert_array_equal(np.column_stack(found), np.column_stack(expected))
    surer = replace(ON_TAN, spreads=Spreads(0.1, 0.05, 0.1))
    found, expected = laid_alone(surer, swatches, cache=cache), laid_alone(surer, swatches)
    np.testing.assert_array_equal(np.column_stack(found), np.column_stack(expected))


ON_TAN = replace(ESTIMATED, paper=(74.0, 6.0, 20.0))

ON_TAN_OF_FORMAT_13 = [
    [23.93, -7.13, 18.4, 4.11, 4.66, 30.97, -10.85, 14.56, 33.1, -12.26, 14.17, 1.97],
    [41.43, -12.98, 8.48, 4.45, 7.14, 49.07, -15.39, 1.26, 51.95, -16.67, -1.23, 3.49],
]

COLOURS_OF_FORMAT_10 = [
    [58.72, -13.42, 16.15],
    [60.07, -5.19, 1.23],
    [73.03, -10.79, 7.43],
    [44.14, -10.1, 9.29],
    [47.65, -12.9, -1.28],
    [66.6, -0.66, 9.91],
]


def test_the_numbers_tell_whatever_colours_depend_on():
    waves = tuple(float(x) for x in range(400, 701, 20))
    swatches = some_swatches()
    moved = [replace(swatches[0], lab=(60.0, 1.0, 1.0)), *swatches[1:]]
    spectral = [replace(swatches[0], reflectance=Reflectance(waves, (0.4,) * 16)), *swatches[1:]]
    warmer = Reflectance((*waves[:-1], 710.0), (0.4,) * 16)
    other = [replace(swatches[0], reflectance=warmer), *swatches[1:]]
    several = [
        replace(ESTIMATED, tooth=2.5),
        replace(ESTIMATED, trapping=0.1),
        replace(ESTIMATED, opacity={swatches[0].address: Scattering(0.5, 0.0, 1.0)}),
        replace(ESTIMATED, loads={"light": 0.3, "medium": 0.65, "heavy": 1.0}),
        replace(ESTIMATED, loads={"light": 0.35, "heavy": 1.0}),
        replace(ESTIMATED, swatch_paper=(93.0, 1.0, 2.0)),
        replace(ESTIMATED, paper=(93.0, 1.0, 2.0)),
    ]
    boxes = [
        *((ESTIMATED, some) for some in (swatches, swatches[:-1], swatches[::-1], moved)),
        *((ESTIMATED, some) for some in (spectral, other, some_swatches(2))),
        *((conditions, swatches) for conditions in several),
    ]
    assert len({numbers_of(*box).tobytes() for box in boxes}) == len(boxes)
    renamed = [replace(swatch, name="Other", uncertainty=1.0) for swatch in swatches]
    unsure = replace(ESTIMATED, spreads=Spreads(0.1, 0.05, 0.1), samples=9)
    np.testing.assert_array_equal(numbers_of(unsure, renamed), numbers_of(ESTIMATED, swatches))


@pytest.mark.parametrize("where", ["a/folder/that/is/not", "file/in the way"])
def test_without_a_place_it_works_all_the_same(tmp_path, where):
    (tmp_path / "file").write_text("here")
    nowhere = RecipeCache(tmp_path / where)
    assert answers(some_swatches(), nowhere) == answers(some_swatches())


def test_a_full_disk_leaves_no_part_of_a_file(cache, monkeypatch):
    class Full(FileIO):
        def writelines(self, _):
            self.write(b"begun")
            raise OSError(28, "No space left on device")

    monkeypatch.setattr(recipe_cache.os, "fdopen", Full)
    assert answers(some_swatches(), cache) == answers(some_swatches())
    assert list(cache.folder.iterdir()) == []


def test_files_used_longest_ago_are_forgotten(cache, monkeypatch):
    answers(some_swatches(0), cache)
    monkeypatch.setattr(recipe_cache, "_BUDGET", 4.5 * the_file(cache).stat().st_size)
    for seed in range(1, 7):
        assert kept_arrays(cache, some_swatches(0)) is not None
        answers(some_swatches(seed), cache)
    kept = [seed for seed in range(7) if kept_arrays(cache, some_swatches(seed)) is not None]
    assert kept == [0, 4, 5, 6]


def test_what_a_program_left_half_written_goes(cache):
    cache.folder.mkdir(parents=True)
    old, new = cache.folder / "a1.part", cache.folder / "b2.part"
    for part, age in ((old, 7200.0), (new, 60.0)):
        part.write_bytes(b"half")
        os.utime(part, (time.time() - age,) * 2)
    answers(some_swatches(0, 3), cache)
    assert not old.exists()
    assert new.exists()


def test_a_file_from_elsewhere_is_not_believed(cache, tmp_path):
    swatches = some_swatches()
    answers(swatches, cache)
    other = RecipeCache(tmp_path / "other" / "recipes")
    other.folder.mkdir(parents=True)
    shutil.copy(the_file(cache), other.folder)
    assert kept_arrays(other, swatches) is None
    assert cache.folder.stat().st_mode & 0o077 == 0


@pytest.mark.parametrize("seed", range(12))
def test_altered_arrays_with_the_right_checksum_never_raise(cache, seed):
    swatches = some_swatches()
    answers(swatches, cache)
    rng = np.random.default_rng(seed)
    arrays = {name: array.copy() for name, array in kept_arrays(cache, swatches).items()}
    array = arrays[sorted(arrays)[seed % len(arrays)]].reshape(-1)
    places = rng.integers(len(array), size=5)
    if array.dtype.kind == "f":
        array[places] = rng.choice([np.nan, -np.inf, 0.0, 7.0, -3.0], size=5)
    else:
        array[places] = rng.integers(-(10**6), 10**6, size=5)
    cache.write(numbers_of(ESTIMATED, swatches), arrays)
    index = recipes_under(ESTIMATED, swatches, cache=cache)
    index.recipes(TARGETS, limit=6)


def write_again_and_again(folder, start):
    swatches = some_swatches()
    arrays = index_recipes(make_palette(ESTIMATED, swatches)).index.to_arrays()
    start.wait()
    for _ in range(15):
        RecipeCache(folder).write(numbers_of(ESTIMATED, swatches), arrays)


def test_two_processes_that_write_at_once_leave_nothing_wrong(cache):
    context = multiprocessing.get_context("spawn")
    start = context.Barrier(3)
    writers = [
        context.Process(target=write_again_and_again, args=(cache.folder, start)) for _ in range(2)
    ]
    for writer in writers:
        writer.start()
    swatches = some_swatches()
    expected = index_recipes(make_palette(ESTIMATED, swatches)).index.to_arrays()
    start.wait()
    seen = 0
    while any(writer.is_alive() for writer in writers):
        kept = kept_arrays(cache, swatches)
        if kept is not None:
            for name, array in expected.items():
                np.testing.assert_array_equal(kept[name], array)
            seen += 1
    for writer in writers:
        writer.join()
        assert writer.exitcode == 0
    assert seen > 0
    assert [file.suffix for file in cache.folder.iterdir()] == [".recipes"]


def test_what_is_larger_than_all_files_may_be_is_not_kept_and_leaves_the_others(cache, monkeypatch):
    answers(some_swatches(0), cache)
    monkeypatch.setattr(recipe_cache, "_BUDGET", 2 * the_file(cache).stat().st_size)
    many = some_swatches(1, 60)
    assert answers(many, cache) == answers(many)
    assert kept_arrays(cache, some_swatches(0)) is not None
    assert len(list(cache.folder.iterdir())) == 1


@pytest.mark.parametrize("covering", [0, 3, 9])
@pytest.mark.parametrize("heavy_first", [False, True])
def test_recipes_are_counted_before_any_is_worked_out(covering, heavy_first):
    swatches = [
        replace(one, opacity=Opacity.COVERS if place < covering else Opacity.TRANSPARENT)
        for place, one in enumerate(some_swatches(count=9))
    ]
    conditions = replace(ESTIMATED, heavy_first=heavy_first)
    loads = conditions.loads
    heaviest = never_beneath(loads, heavy_first=heavy_first)
    most = most_recipes(len(swatches), covering, len(loads), heaviest)
    count = len(recipes_under(conditions, swatches))
    assert count <= most <= 1.5 * count


def test_recipes_beyond_the_memory_are_refused_before_they_are_worked_out(monkeypatch):
    """A question that only might show recipes goes on without, and says so."""
    swatches = some_swatches()
    monkeypatch.setattr(kept, "RECIPE_MEMORY", 2**10)
    monkeypatch.setattr(kept, "make_palette", None)
    with pytest.raises(TooLargeError, match=r"Recipes of 25 pencils are up to [\d,]+, which would"):
        recipes_under(ESTIMATED, swatches)
    target = FreeColour("", (50.0, 10.0, 20.0))
    asked = LayerQuestion(ESTIMATED, swatches)
    answer = find_stand_ins(target, swatches, layering=asked)
    assert answer.matches
    assert not answer.layers
    assert [note.remedy for note in answer.notes].count(Remedy.FEWER_TO_LAYER) == 1
    with pytest.raises(TooLargeError):
        find_stand_ins(target, swatches, layering=LayerQuestion(ESTIMATED, swatches, always=True))


def ticks(seed):
    """Boxes that differ by a pencil or two, some of which cover, were measured, lie nowhere near a
    surface, or are of one colour; what is gone may come back.
    """
    rng = np.random.default_rng(seed)
    every = some_swatches(seed, 30)
    every[3] = replace(every[3], lab=(60.0, 120.0, -120.0))
    every[5] = replace(every[5], lab=every[4].lab)
    every[7] = replace(every[7], lab=(97.5, 0.0, 0.0))
    every[9] = replace(every[9], reflectance=measured(every[9]))
    have = set(rng.choice(30, 20, replace=False).tolist())
    for _ in range(5):
        have ^= set(rng.choice(30, rng.integers(1, 3), replace=False).tolist())
        yield [every[number] for number in sorted(have)]


def measured(swatch):
    grey = 0.2 + 0.3 * np.linspace(0.0, 1.0, 31)
    return Reflectance(tuple(range(400, 710, 10)), tuple(grey.tolist()))


@pytest.mark.parametrize(("seed", "covering"), [(1, False), (3, True)])
def test_what_is_grown_is_what_is_made_anew_to_the_last_bit(cache, seed, covering, monkeypatch):
    going_on = cache._replace(lately=Lately())
    conditions = replace(ESTIMATED, opacity={f"Test:{n}": COVERS for n in range(0, 30, 3)})
    conditions = conditions if covering else ESTIMATED
    first, *boxes = ticks(seed)
    recipes_under(conditions, first, cache=going_on)
    with monkeypatch.context() as none_made:
        none_made.setattr(kept, "index_recipes", None)  # from here on all is grown
        grown = [recipes_under(conditions, box, cache=going_on) for box in boxes]
    for box, found in zip(boxes, grown, strict=True):
        expected = index_recipes(make_palette(conditions, list(map(as_layered, box))))
        assert found.index.lab.tobytes() == expected.index.lab.tobytes()
        anew = recipes_under(conditions, box, cache=cache)
        assert found.notes == anew.notes
        assert repr(found.recipes(TARGETS, limit=5)) == repr(anew.recipes(TARGETS, limit=5))


@pytest.mark.parametrize("covers", ["Test:3", "Test:29"])
def test_one_that_covers_and_clear_ones_lie_beside_each_other(cache, covers, monkeypatch):
    swatches = some_swatches(count=30)
    clear = {one.address: Scattering(0.0, 0.0, 0.0) for one in swatches}
    conditions = replace(ESTIMATED, opacity=clear | {covers: COVERS})
    going_on = cache._replace(lately=Lately())
    recipes_under(conditions, swatches[:-1], cache=going_on)
    going_on.lately.make_ready(conditions)
    with monkeypatch.context() as none_laid_again:
        none_laid_again.setattr(Held, "_palette", None)
        grown = recipes_under(conditions, swatches, cache=going_on)
    expected = index_recipes(make_palette(conditions, swatches))
    assert grown.index.lab.tobytes() == expected.index.lab.tobytes()
