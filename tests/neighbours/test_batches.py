"""Blocks and backends change neither answers nor their order."""

import sys

import numpy as np
import pytest
from colour_sets import clustered, uniform

from stopgap.difference import METRICS
from stopgap.errors import InputError
from stopgap.neighbours import SwatchIndex, nearest_in_batches
from stopgap.planner import Asked, cross_table, estimated_conditions, layered_stacks, translate
from stopgap.swatches import FreeColour, Swatch

pytestmark = pytest.mark.slow

COLOURS = clustered(np.random.default_rng(81), 3000)
TARGETS = uniform(np.random.default_rng(82), 700)


def same(one, other):
    return all(np.array_equal(a, b) for a, b in zip(one, other, strict=True))


@pytest.mark.parametrize("block", [1, 64, 699, 700, 10_000])
def test_blocks_change_nothing(block):
    whole = SwatchIndex(COLOURS).nearest(TARGETS, 3)
    assert same(nearest_in_batches(SwatchIndex(COLOURS), TARGETS, 3, block=block), whole)


@pytest.mark.parametrize("backend", ["threading", "loky"])
@pytest.mark.parametrize("compiled", [False, True])
def test_processes_and_threads_change_nothing(backend, compiled):
    import joblib

    index = SwatchIndex(COLOURS)
    index.prepare(compiled=compiled)
    allowed = COLOURS[:, 0] > 40
    whole = index.nearest(TARGETS, 3, allowed=allowed)
    with joblib.parallel_config(backend=backend):
        parts = nearest_in_batches(index, TARGETS, 3, allowed=allowed, jobs=2, block=100)
    assert same(parts, whole)


@pytest.mark.parametrize("compiled", [False, True])
def test_threads_on_all_cores_change_nothing(compiled):
    index = SwatchIndex(COLOURS)
    index.prepare(compiled=compiled)
    allowed = COLOURS[:, 0] > 40
    whole = index.nearest(TARGETS, 3, allowed=allowed)
    assert same(nearest_in_batches(index, TARGETS, 3, allowed=allowed, block=90), whole)


@pytest.fixture(scope="module")
def cluster():
    """Dask's own scheduler with two worker processes."""
    import distributed

    with (
        distributed.LocalCluster(
            n_workers=2, threads_per_worker=1, processes=True, dashboard_address=":0"
        ) as workers,
        distributed.Client(workers) as client,
    ):
        yield client


@pytest.mark.parametrize("scattered", [False, True])
def test_dask_changes_nothing(cluster, scattered):
    import joblib

    assert len(cluster.scheduler_info()["workers"]) == 2
    index = SwatchIndex(COLOURS)
    whole = index.nearest(TARGETS, 3)
    with joblib.parallel_config(backend="dask", **({"scatter": [index]} if scattered else {})):
        parts = nearest_in_batches(index, TARGETS, 3, jobs=None, block=100)
    assert same(parts, whole)


def test_dask_works_in_other_processes(cluster):
    import os

    import joblib

    with joblib.parallel_config(backend="dask"):
        where = joblib.Parallel()(joblib.delayed(os.getpid)() for _ in range(20))
    assert os.getpid() not in where


@pytest.fixture
def small_blocks(monkeypatch):
    """Blocks of 50 targets wherever none are stated."""
    defaults = {**nearest_in_batches.__kwdefaults__, "block": 50}
    monkeypatch.setattr(nearest_in_batches, "__kwdefaults__", defaults)


@pytest.mark.parametrize("metric", METRICS)
def test_a_cross_table_through_dask_is_the_same(cluster, metric, small_blocks):
    import joblib

    first, second = (
        [Swatch(name, str(row), tuple(one)) for row, one in enumerate(lab.tolist())]
        for name, lab in (("A", COLOURS[:200]), ("B", COLOURS[1000:1120]))
    )
    whole = cross_table(first, second, metric=metric)
    with joblib.parallel_config(backend="dask"):
        assert cross_table(first, second, metric=metric, jobs=None) == whole


def test_a_translation_with_recipes_through_dask_is_the_same(cluster, small_blocks):
    import joblib

    lab = uniform(np.random.default_rng(83), 400)
    lab = lab[(np.hypot(lab[:, 1], lab[:, 2]) < 30) & (np.abs(lab[:, 0] - 55) < 30)]
    pencils = [Swatch("A", str(row), tuple(one)) for row, one in enumerate(lab[:12].tolist())]
    asked = [
        Asked(str(row), FreeColour(str(row), tuple(one)))
        for row, one in enumerate(TARGETS[:120].tolist())
    ]

    def translated(jobs):
        ways = layered_stacks(estimated_conditions(), per_colour=3, jobs=jobs)
        return translate(asked, pencils, distinct=False, recipes=ways, jobs=jobs)

    whole = translated(1)
    assert any(row.given.recipe for row in whole.rows)
    with joblib.parallel_config(backend="dask"):
        assert translated(None) == whole


def test_one_job_needs_no_joblib(monkeypatch):
    monkeypatch.setitem(sys.modules, "joblib", None)
    nearest_in_batches(SwatchIndex(COLOURS[:50]), TARGETS, 2, block=10)
    with pytest.raises(ImportError):
        nearest_in_batches(SwatchIndex(COLOURS[:50]), TARGETS, 2, block=10, jobs=2)


@pytest.mark.parametrize("wrong", [{"jobs": 0}, {"block": 0}, {"k": 0}])
def test_what_cannot_be_is_refused(wrong):
    with pytest.raises(InputError):
        nearest_in_batches(SwatchIndex(COLOURS), TARGETS, **wrong)


def test_no_target_has_no_answer():
    found, rows = nearest_in_batches(SwatchIndex(COLOURS), np.empty((0, 3)), 2)
    assert found.shape == rows.shape == (0, 2)
