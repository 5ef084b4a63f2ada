"""A file of recipes is used where it is right, and never gives a wrong answer."""

import multiprocessing
from dataclasses import replace

import numpy as np
import pytest

from stopgap.layering import Model, catalogue, catalogue_colours, pencils
from stopgap.planner import RecipeCache, RecipeIndex, recipe_cache
from stopgap.planner.recipe_cache import digest_of
from stopgap.swatches import Reflectance, Swatch

PAPER = (95.0, 0.0, 2.0)
TARGETS = [[50, 10, 20], [70, -20, 5], [35, 0, 0]]


@pytest.fixture(autouse=True)
def every_size(monkeypatch):
    monkeypatch.setattr(recipe_cache, "WORTH_KEEPING", 0)


@pytest.fixture
def cache(tmp_path):
    return RecipeCache.beside(tmp_path / "library.sqlite")


def some_swatches(seed=1, count=25):
    rng = np.random.default_rng(seed)
    lab = rng.uniform([30, -25, -25], [75, 25, 25], (count, 3)).tolist()
    return [Swatch("Test", str(row), tuple(one)) for row, one in enumerate(lab)]


def some_box(seed=1, **changed):
    return pencils(some_swatches(seed), PAPER, **changed)


def colours_kept(cache, box):
    index = cache.read(box, catalogue(box))
    return None if index is None else index.lab


def the_file(cache):
    (file,) = cache.folder.iterdir()
    return file


def answers(box, cache=None):
    found = RecipeIndex(box, cache=cache).search(TARGETS, limit=6)
    return [(one.layings.tolist(), one.delta_E.tolist()) for one in found]


def test_what_is_read_is_what_was_written(cache, monkeypatch):
    box = some_box()
    expected = answers(box)
    assert answers(box, cache) == expected
    assert the_file(cache).parent.name == "library.sqlite.recipes"
    np.testing.assert_array_equal(colours_kept(cache, box), catalogue_colours(box))
    monkeypatch.setattr("stopgap.planner.recipe_index.catalogue_colours", None)  # not called
    assert answers(box, cache) == expected


def test_it_may_be_deleted_at_any_time(cache):
    box = some_box()
    expected = answers(box, cache)
    the_file(cache).unlink()
    assert answers(box, cache) == expected
    assert colours_kept(cache, box) is not None


def test_small_boxes_leave_no_file(cache, monkeypatch):
    monkeypatch.setattr(recipe_cache, "WORTH_KEEPING", 10**6)
    answers(some_box(), cache)
    assert not cache.folder.exists()


@pytest.mark.parametrize("share", [0.0, 0.02, 0.3, 0.5, 0.7, 0.9, 0.99])
@pytest.mark.parametrize("damage", ["cut", "flipped", "zeroed"])
def test_a_damaged_file_is_passed_over_and_mended(cache, share, damage):
    box = some_box()
    expected = answers(box, cache)
    file = the_file(cache)
    data = bytearray(file.read_bytes())
    at = int(share * len(data))
    if damage == "cut":
        del data[at:]
    elif damage == "flipped":
        data[at] ^= 0x10
    else:
        data[at : at + 64] = bytes(len(data[at : at + 64]))
    file.write_bytes(data)
    assert answers(box, cache) == expected
    np.testing.assert_array_equal(colours_kept(cache, box), catalogue_colours(box))


@pytest.mark.parametrize("content", [b"", b"not a zip", b"\x93NUMPY", b"PK\x05\x06" + bytes(18)])
def test_a_file_of_something_else_is_passed_over(cache, content):
    box = some_box()
    expected = answers(box, cache)
    the_file(cache).write_bytes(content)
    assert answers(box, cache) == expected


def rewritten(cache, box, **changed):
    file = the_file(cache)
    with np.load(file) as stored:
        arrays = dict(stored)
    for name, change in changed.items():
        arrays[name] = change(arrays[name])
    np.savez(file, **{name: array for name, array in arrays.items() if array is not None})
    return colours_kept(cache, box)


@pytest.mark.parametrize(
    ("name", "change"),
    [
        ("digest", lambda _: np.array("of something else")),
        ("lab", lambda lab: lab + 1e-6),
        ("lab", lambda lab: lab[:-1]),
        ("lab", lambda lab: lab.astype(np.float32)),
        ("rows", lambda rows: rows[::-1].copy()),
        ("rows", lambda rows: np.zeros_like(rows)),
        ("rows", lambda rows: np.where(rows == 5, 10**6, rows).astype(np.int32)),
        ("boxes", lambda boxes: boxes[:-1]),
        ("axes", lambda axes: axes[: len(axes) // 2]),
        ("values", lambda _: None),
        ("lab", lambda lab: lab.astype(object)),
    ],
)
def test_a_whole_file_with_other_contents_is_passed_over(cache, name, change):
    box = some_box()
    expected = answers(box, cache)
    assert rewritten(cache, box, **{name: change}) is None
    assert answers(box, cache) == expected
    assert colours_kept(cache, box) is not None


def test_another_version_makes_another_file(cache, monkeypatch):
    box = some_box()
    expected = answers(box, cache)
    for name, value in (("FORMAT", -1), ("__version__", "0.0.older")):
        with monkeypatch.context() as other:
            other.setattr(recipe_cache, name, value)
            assert colours_kept(cache, box) is None
            assert answers(box, cache) == expected
    assert len(list(cache.folder.iterdir())) == 3


def test_colours_of_another_model_under_the_same_name_are_noticed(cache):
    box = some_box()
    answers(box, cache)
    changed = replace(box, ground=box.ground * 0.999)  # as if the code had changed
    assert digest_of(changed) == digest_of(box)
    assert colours_kept(cache, changed) is None


def test_the_digest_tells_whatever_colours_depend_on():
    waves = tuple(float(x) for x in range(400, 701, 20))
    swatches = some_swatches()
    moved = [replace(swatches[0], lab=(60.0, 1.0, 1.0)), *swatches[1:]]
    spectral = [replace(swatches[0], reflectance=Reflectance(waves, (0.4,) * 16)), *swatches[1:]]
    boxes = [
        some_box(),
        some_box(2),
        some_box(tooth="smooth"),
        some_box(opacity=0.5),
        some_box(pressures={"light": 0.3, "medium": 0.65, "heavy": 1.0}),
        some_box(pressures={"light": 0.35, "heavy": 1.0}),
        some_box(swatch_paper_lab=(96.0, 0.0, 2.0)),
        some_box(model="channels"),
        *(pencils(some, PAPER) for some in (swatches[:-1], swatches[::-1], moved, spectral)),
        pencils(swatches, (94.0, 0.0, 2.0)),
    ]
    assert len({digest_of(box) for box in boxes}) == len(boxes)
    renamed = [replace(swatch, name="Other", uncertainty=1.0) for swatch in swatches]
    assert digest_of(pencils(renamed, PAPER)) == digest_of(some_box())


def test_a_model_of_ones_own_is_not_kept(cache):
    row = some_box().model
    own = some_box(model=Model(row.function, row.bands, "my own", row.additive))
    assert digest_of(own) is None
    answers(own, cache)
    assert not cache.folder.exists()


@pytest.mark.parametrize("where", ["a/folder/that/is/not", "file/in the way"])
def test_without_a_place_it_works_all_the_same(tmp_path, where):
    (tmp_path / "file").write_text("here")
    nowhere = RecipeCache(tmp_path / where)
    assert answers(some_box(), nowhere) == answers(some_box())


def test_a_full_disk_leaves_no_part_of_a_file(cache, monkeypatch):
    def full(stream, **arrays):
        stream.write(b"begun")
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(np, "savez", full)
    assert answers(some_box(), cache) == answers(some_box())
    assert list(cache.folder.iterdir()) == []


def test_old_files_are_forgotten(cache):
    for seed in range(7):
        answers(some_box(seed), cache)
    assert len(list(cache.folder.iterdir())) == 4
    assert colours_kept(cache, some_box(6)) is not None


def write_again_and_again(folder, start):
    recipe_cache.WORTH_KEEPING = 0
    box = some_box()
    index = RecipeIndex(box)
    start.wait()
    for _ in range(15):
        RecipeCache(folder).write(box, index._index)


def test_two_processes_that_write_at_once_leave_nothing_wrong(cache):
    context = multiprocessing.get_context("spawn")
    start = context.Barrier(3)
    writers = [
        context.Process(target=write_again_and_again, args=(cache.folder, start)) for _ in range(2)
    ]
    for writer in writers:
        writer.start()
    box = some_box()
    expected = catalogue_colours(box)
    start.wait()
    seen = 0
    while any(writer.is_alive() for writer in writers):
        kept = colours_kept(cache, box)
        if kept is not None:
            np.testing.assert_array_equal(kept, expected)
            seen += 1
    for writer in writers:
        writer.join()
        assert writer.exitcode == 0
    assert seen > 0
    assert [file.suffix for file in cache.folder.iterdir()] == [".npz"]
