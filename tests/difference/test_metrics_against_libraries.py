"""Every metric against colour-science and coloraide on 10,000 pairs."""

import numpy as np
import pytest
from scipy.cluster.hierarchy import fcluster, linkage

from stopgap.difference import METRICS, delta_E, linked_within, pairs_within


def polar(L, C, degrees):
    angle = np.radians(degrees)
    return np.stack([L, C * np.cos(angle), C * np.sin(angle)], axis=-1)


def make_pairs():
    """10,000 pairs: anywhere, near each other, and the places where formulas go wrong."""
    random = np.random.default_rng(20050201)
    n = 1000

    def anywhere(size):
        return random.uniform([0, -100, -100], [100, 100, 100], (size, 3))

    def lightness():
        return random.uniform(0, 100, n)

    first = anywhere(n)
    near = first + random.normal(0, 2, first.shape)
    neutral = anywhere(2 * n) * [1, 0.02, 0.02]
    neutral[: n // 4, 1:] = 0
    # across 0 degrees, where angles wrap
    before = polar(lightness(), random.uniform(1, 90, n), random.uniform(355, 360, n))
    after = polar(lightness(), random.uniform(1, 90, n), random.uniform(0, 5, n))
    # the rotation term of CIEDE2000
    blue_1, blue_2 = (
        polar(lightness(), random.uniform(20, 110, n), random.uniform(240, 310, n))
        for _ in range(2)
    )
    # on either side of opposite hues; exactly opposite ones have a test of their own, since
    # there the libraries let rounding choose between two results that differ by whole units
    hue = random.uniform(0, 360, n)
    off = random.uniform(0.001, 2, n) * random.choice([-1, 1], n)
    opposite_1 = polar(lightness(), random.uniform(5, 90, n), hue)
    opposite_2 = polar(lightness(), random.uniform(5, 90, n), hue + 180 + off)
    extreme = np.resize([[0.0, 0, 0], [100, 0, 0], [16, 0, 0], [16, 5, -5]], (n, 3))
    third = anywhere(n)
    step = random.normal(0, 1, (n, 3)) * 10.0 ** random.uniform(-6, -1, (n, 1))
    step[: n // 2] = 0
    pairs = [
        (anywhere(2 * n), anywhere(2 * n)),
        (first, near),
        (neutral[:n], neutral[n:]),
        (neutral[:n], anywhere(n)),
        (before, after),
        (blue_1, blue_2),
        (opposite_1, opposite_2),
        (extreme, np.concatenate([extreme[1 : n // 2], anywhere(n - n // 2), extreme[:1]])),
        (third, third + step),
    ]
    return tuple(np.concatenate(side) for side in zip(*pairs, strict=True))


LAB_1, LAB_2 = make_pairs()


def test_there_are_ten_thousand_pairs():
    assert LAB_1.shape == LAB_2.shape == (10_000, 3)


# computed by colour-science 0.4.7: colour.delta_E(lab_1, lab_2, method=..., ...)
COLOUR_SCIENCE = {
    "CIE 2000": {"method": "CIE 2000"},
    "CIE 1976": {"method": "CIE 1976"},
    "CIE 1994": {"method": "CIE 1994"},
    "CIE 1994 textiles": {"method": "CIE 1994", "textiles": True},
    "CMC": {"method": "CMC", "l": 2, "c": 1},
    "HyAB": {"method": "HyAB"},
}

# computed by coloraide 8.13.1: Color("lab", lab_1).delta_e(Color("lab", lab_2), space="lab", ...)
COLORAIDE = {
    "CIE 2000": {"method": "2000"},
    "CIE 1976": {"method": "76"},
    "CIE 1994": {"method": "94"},
    "CIE 1994 textiles": {"method": "94", "kl": 2, "k1": 0.048, "k2": 0.014},
    "CMC": {"method": "cmc", "l": 2, "c": 1},
    "HyAB": {"method": "hyab"},
}


def test_every_metric_is_compared():
    assert set(COLOUR_SCIENCE) == set(COLORAIDE) == set(METRICS)


@pytest.mark.parametrize("metric", METRICS)
def test_agrees_with_colour_science(metric):
    import colour

    theirs = colour.delta_E(LAB_1, LAB_2, **COLOUR_SCIENCE[metric])
    np.testing.assert_allclose(delta_E(LAB_1, LAB_2, metric=metric), theirs, rtol=0, atol=1e-9)


@pytest.mark.parametrize("metric", METRICS)
def test_agrees_with_coloraide(metric):
    from coloraide.everything import ColorAll

    theirs = np.array(
        [
            ColorAll("lab", first).delta_e(
                ColorAll("lab", second), space="lab", **COLORAIDE[metric]
            )
            for first, second in zip(LAB_1.tolist(), LAB_2.tolist(), strict=True)
        ]
    )
    np.testing.assert_allclose(delta_E(LAB_1, LAB_2, metric=metric), theirs, rtol=0, atol=1e-9)


@pytest.mark.parametrize(("limit", "spread"), [(0.8, 2.0), (3.5, 8.0), (30.0, 20.0)])
def test_groups_within_a_limit_are_those_of_complete_linkage_over_a_whole_table(limit, spread):
    """scipy.cluster.hierarchy: linkage(method="complete"), cut at the distance."""
    random = np.random.default_rng(7)
    for count in (1, 2, 40, 90):
        lab = random.uniform(50.0 - spread, 50.0 + spread, (count, 3)) * [1.0, 0.5, 0.5]
        found = linked_within(lab, limit)
        apart = delta_E(lab[:, None], lab)
        if count > 1:
            tree = linkage(apart[np.triu_indices(count, 1)], method="complete")
            theirs = fcluster(tree, limit, criterion="distance")
            assert ((found[:, None] == found) == (theirs[:, None] == theirs)).all()
        rows, others, far = map(np.concatenate, zip(*pairs_within(lab, lab, limit)))
        assert {*zip(rows.tolist(), others.tolist())} == {*zip(*np.nonzero(apart <= limit))}
        assert (far == apart[rows, others]).all()
