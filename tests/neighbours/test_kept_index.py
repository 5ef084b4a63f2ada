"""An index kept as arrays answers as it did, and arrays that do not go together are refused."""

import numpy as np
import pytest
from colour_sets import clustered, uniform

from stopgap.difference import METRICS
from stopgap.errors import InputError
from stopgap.neighbours import SwatchIndex

COLOURS = clustered(np.random.default_rng(91), 5001)
LAB = [[50.0, 0.0, 0.0]]
TARGETS = uniform(np.random.default_rng(92), 60)


@pytest.mark.parametrize("metric", METRICS)
def test_it_answers_as_before(metric):
    index = SwatchIndex(COLOURS, metric)
    kept = SwatchIndex.from_arrays(index.to_arrays(), metric)
    np.testing.assert_array_equal(kept.lab, COLOURS)
    allowed = COLOURS[:, 0] < 50
    for one, other in zip(
        (*index.nearest(TARGETS, 7), *index.nearest(TARGETS, 7, allowed=allowed)),
        (*kept.nearest(TARGETS, 7), *kept.nearest(TARGETS, 7, allowed=allowed)),
        strict=True,
    ):
        np.testing.assert_array_equal(one, other)


def test_it_can_be_changed_afterwards():
    kept = SwatchIndex.from_arrays(SwatchIndex(COLOURS).to_arrays())
    (row,) = kept.add([[50, 0, 0]])
    kept.remove([3])
    fresh = SwatchIndex(np.concatenate([COLOURS, [[50, 0, 0]]]))
    fresh.remove([3])
    assert row == len(COLOURS)
    for one, other in zip(kept.nearest(TARGETS, 4), fresh.nearest(TARGETS, 4), strict=True):
        np.testing.assert_array_equal(one, other)


def test_arrays_may_be_mapped_from_files(tmp_path):
    index = SwatchIndex(COLOURS)
    arrays = index.to_arrays()
    for name, array in arrays.items():
        np.save(tmp_path / name, array)
    mapped = {name: np.load(tmp_path / f"{name}.npy", mmap_mode="r") for name in arrays}
    kept = SwatchIndex.from_arrays(mapped)
    np.testing.assert_array_equal(kept.nearest(TARGETS, 3)[1], index.nearest(TARGETS, 3)[1])


@pytest.mark.parametrize(
    ("name", "change"),
    [
        ("lab", lambda lab: lab[1:]),
        ("lab", lambda lab: lab.astype(np.float32)),
        ("rows", lambda rows: rows[:-1]),
        ("rows", lambda rows: np.maximum(rows, 0)),
        ("rows", lambda rows: np.minimum(rows, -1)),
        ("boxes", lambda boxes: boxes[:, 1:]),
        ("values", lambda values: values[1:]),
        ("axes", lambda axes: axes[:0]),
        ("axes", lambda axes: axes[:-1]),
    ],
)
def test_arrays_that_do_not_go_together_are_refused(name, change):
    arrays = SwatchIndex(COLOURS).to_arrays()
    with pytest.raises(InputError, match="arrays"):
        SwatchIndex.from_arrays(arrays | {name: change(arrays[name])})
    del arrays[name]
    with pytest.raises(InputError, match="arrays"):
        SwatchIndex.from_arrays(arrays)


@pytest.mark.parametrize("prepared", [False, True])
@pytest.mark.parametrize("changed", [lambda index: index.remove([5]), lambda index: index.add(LAB)])
def test_an_index_that_was_changed_is_kept_whole_or_not_at_all(prepared, changed):
    index = SwatchIndex(COLOURS)
    if prepared:
        index.prepare(compiled=False)
    changed(index)
    try:
        kept = SwatchIndex.from_arrays(index.to_arrays())
    except InputError:
        return
    np.testing.assert_array_equal(kept.nearest(TARGETS, 3)[1], index.nearest(TARGETS, 3)[1])


def test_a_metric_without_a_bound_has_nothing_to_keep():
    with pytest.raises(InputError, match="to_arrays"):
        SwatchIndex(COLOURS, metric=lambda one, other: abs(one - other)[..., 0]).to_arrays()


def test_its_colours_cannot_be_written_to():
    with pytest.raises(ValueError, match="read-only"):
        SwatchIndex(COLOURS).lab[0] = 0.0
