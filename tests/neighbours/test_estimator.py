"""LabNeighbors: scikit-learn's own conformance suite, and brute force for what it answers."""

import doctest
import warnings

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays
from sklearn.cluster import DBSCAN
from sklearn.pipeline import make_pipeline
from sklearn.utils.estimator_checks import check_estimator

from stopgap.difference import delta_E
from stopgap.neighbours import LabNeighbors, estimator

THREE_COLUMNS = {
    # each fits tables of 1, 2, 4, 5 or 10 columns, of which none is a colour
    "check_dtype_object",
    "check_estimators_dtypes",
    "check_estimators_fit_returns_self",
    "check_estimators_overwrite_params",
    "check_fit2d_1sample",
    "check_fit_check_is_fitted",
    "check_fit_idempotent",
    "check_n_features_in",
    "check_n_features_in_after_fitting",
    "check_positive_only_tag_during_fit",
    "check_readonly_memmap_input",
}


def test_the_checks_of_scikit_learn_pass_but_where_a_colour_has_three_columns():
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        results = check_estimator(LabNeighbors(), on_fail=None)
    failed = {one["check_name"]: one["exception"] for one in results if one["status"] == "failed"}
    assert failed.keys() == THREE_COLUMNS
    assert len(THREE_COLUMNS) <= 12
    assert sum(one["status"] == "passed" for one in results) >= 33
    for error in failed.values():
        told = []
        while error is not None:
            told.append(str(error))
            error = error.__cause__ or error.__context__
        assert any("a colour has 3 columns" in text for text in told)


LABS = arrays(
    np.float64,
    st.tuples(st.integers(2, 40), st.just(3)),
    elements=st.floats(-100, 100).map(lambda value: round(value / 4.0)),
)


@settings(deadline=None, max_examples=60)
@given(LABS, st.integers(1, 5), st.floats(0, 60), st.sampled_from(["CIE 2000", "CIE 1976"]))
def test_it_answers_as_looking_at_every_pair_does(lab, k, radius, metric):
    """Brute force over the table of all differences, sorted by difference and row."""
    lab[:, 0] = np.abs(lab[:, 0])
    table = delta_E(lab[:, np.newaxis], lab[np.newaxis], metric)
    order = np.argsort(table, axis=1, kind="stable")
    near = LabNeighbors(metric=metric).fit(lab)
    k = min(k, len(lab))
    found, rows = near.kneighbors(lab, k)
    assert rows.tolist() == order[:, :k].tolist()
    assert found.tolist() == np.take_along_axis(table, order[:, :k], axis=1).tolist()
    _, within = near.radius_neighbors(lab, radius)
    for place, row in enumerate(within):
        assert row.tolist() == [at for at in order[place] if table[place, at] <= radius]
    if k < len(lab):
        _, others = near.kneighbors(None, k)
        for place, row in enumerate(others.tolist()):
            assert place not in row
            assert sorted(table[place, row]) == sorted(np.delete(table[place], place))[:k]
    _, others = near.radius_neighbors(None, radius)
    for place, row in enumerate(others):
        assert sorted(row.tolist()) == [
            at for at in range(len(lab)) if at != place and table[place, at] <= radius
        ]


def test_graphs_are_what_clusterings_take():
    lab = np.random.default_rng(7).uniform((20, -60, -60), (90, 60, 60), (150, 3))
    table = delta_E(lab[:, np.newaxis], lab[np.newaxis])
    near = LabNeighbors(n_neighbors=4, radius=9.0).fit(lab)
    graph = near.kneighbors_graph(lab)
    assert graph.shape == (150, 150)
    assert (graph.sum(axis=1) == 4.0).all()
    whole = near.radius_neighbors_graph(lab, mode="distance").toarray()
    assert whole == pytest.approx(np.where(table <= 9.0, table, 0.0))
    by_pipeline = make_pipeline(near, DBSCAN(9.0, min_samples=3, metric="precomputed"))
    by_table = DBSCAN(9.0, min_samples=3, metric="precomputed").fit_predict(table)
    assert by_pipeline.fit_predict(lab).tolist() == by_table.tolist()
    assert len(set(by_table)) > 3


def test_what_it_refuses_and_its_example():
    near = LabNeighbors().fit([[50, 0, 0], [51, 0, 0]])
    with pytest.raises(ValueError, match="expected 1 to 2 neighbours, found 3"):
        near.kneighbors([[50, 0, 0]], 3)
    with pytest.raises(ValueError, match="expected 1 to 1 neighbours"):
        near.kneighbors(n_neighbors=2)
    with pytest.raises(ValueError, match="connectivity or distance"):
        near.kneighbors_graph([[50, 0, 0]], 1, mode="both")
    with pytest.raises(ValueError, match="a colour has 3 columns"):
        LabNeighbors().fit([[1, 2]])
    assert not doctest.testmod(estimator).failed
