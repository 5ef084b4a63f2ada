"""The path of a blend: continuous, symmetric, chroma kept between neighbours of hue."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from stopgap.blends.path import path_through, roundness
from stopgap.colorimetry.cam16 import cam16_ucs_to_lab, lab_to_cam16_ucs
from stopgap.errors import UsageError

ANGLES, CHROMAS = st.floats(0.0, 360.0), st.floats(0.0, 40.0)
ALONG = np.linspace(0.0, 1.0, 41)


def polar(J: float, M: float, h: float) -> np.ndarray:
    """J'a'b' from J', M' and the hue angle [degrees]."""
    return np.array([J, M * np.cos(np.radians(h)), M * np.sin(np.radians(h))])


def way(P: np.ndarray, Q: np.ndarray, kind: str = "auto") -> np.ndarray:
    """J'a'b' along the path."""
    return path_through(cam16_ucs_to_lab([P, Q]), kind).at(ALONG)


@settings(derandomize=True, deadline=None, max_examples=150)
@given(M=st.tuples(CHROMAS, CHROMAS), h=st.tuples(ANGLES, ANGLES))
def test_the_path_is_continuous_in_hue_and_chroma(M, h) -> None:
    P, Q = polar(80.0, M[0], h[0]), polar(40.0, M[1], h[1])
    for nudged in (polar(40.0, M[1], h[1] + 0.01), polar(40.0, M[1] + 0.01, h[1])):
        # the arc of opposite hues may take either side, which has no weight there
        assert np.abs(way(P, Q) - way(P, nudged)).max() < 0.05


@settings(derandomize=True, deadline=None, max_examples=60)
@given(M=st.tuples(CHROMAS, CHROMAS), h=st.tuples(ANGLES, ANGLES))
def test_the_path_back_is_the_path_there(M, h) -> None:
    P, Q = polar(80.0, M[0], h[0]), polar(40.0, M[1], h[1])
    np.testing.assert_allclose(way(P, Q), way(Q, P)[::-1], atol=1e-6)


def test_the_round_path_is_the_arc_and_the_straight_one_the_chord() -> None:
    P, Q = polar(80.0, 30.0, 20.0), polar(40.0, 20.0, 100.0)
    arc = way(P, Q, "round")
    M, h = np.hypot(arc[:, 1], arc[:, 2]), np.degrees(np.arctan2(arc[:, 2], arc[:, 1]))
    assert M.min() >= 20.0 - 0.1  # corners lie on the arc, the lines between them just inside
    np.testing.assert_allclose((h - 20.0) / 80.0, (30.0 - M) / 10.0, atol=0.01)
    np.testing.assert_allclose(way(P, Q, "straight"), P + ALONG[:, None] * (Q - P), atol=1e-6)


@pytest.mark.parametrize(
    ("M", "apart", "expected"),
    [
        ((30.0, 30.0), 60.0, 1.0),  # neighbouring hues keep their chroma
        ((30.0, 30.0), 180.0, 0.0),  # complementaries pass a neutral
        ((30.0, 30.0), 120.0, 0.5),
        ((30.0, 8.0), 60.0, 0.0),  # the hue of a near-neutral end means nothing
        ((30.0, 12.0), 60.0, 0.5),
    ],
)
def test_how_far_the_path_is_bent(M, apart: float, expected: float) -> None:
    assert roundness(polar(60, M[0], 0), polar(50, M[1], apart)) == pytest.approx(expected)


def test_distance_is_from_path_or_chord_whichever_is_nearer() -> None:
    P, Q = polar(60.0, 30.0, 0.0), polar(60.0, 30.0, 80.0)
    path = path_through(cam16_ucs_to_lab([P, Q]))
    assert path.bent
    halfway = (P + Q) / 2.0
    found = path.locate(cam16_ucs_to_lab([halfway, polar(60.0, 30.0, 40.0)]))
    np.testing.assert_allclose(found.distance, 0.0, atol=0.05)
    np.testing.assert_allclose(found.progress, 0.5, atol=0.01)  # half a line of the polyline
    np.testing.assert_allclose(
        np.linalg.norm(found.offset, axis=-1)[0], 30.0 - 30.0 * np.cos(np.radians(40.0)), atol=0.05
    )
    assert not path.chord().bent


def test_aims_lie_along_the_path_no_further_apart_than_asked() -> None:
    path = path_through([(80, 40, 10), (40, -10, 40)])
    aims = lab_to_cam16_ucs(path.aims(3.0))
    apart = np.linalg.norm(np.diff(aims, axis=0), axis=-1)
    assert (apart <= 3.0 + 1e-9).all()
    assert len(aims) == int(np.ceil(path.length / 3.0)) - 1
    assert path.locate(path.aims(3.0)).distance.max() < 1e-5


def test_bad_paths() -> None:
    with pytest.raises(UsageError, match="path"):
        path_through([(80, 0, 0), (40, 0, 0)], "crooked")
    with pytest.raises(UsageError, match="two ends"):
        path_through([(80, 0, 0)])
