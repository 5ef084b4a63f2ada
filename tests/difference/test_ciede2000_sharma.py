"""CIEDE2000 against the published table, and the branch at exactly opposite hues."""

from pathlib import Path

import numpy as np
import pytest

from stopgap.difference import delta_E_ciede2000

TABLE = np.genfromtxt(
    Path(__file__).parents[1] / "reference" / "ciede2000_sharma2005.csv",
    delimiter=",",
    names=True,
    skip_header=8,
)
# Sharma, Wu, Dalal (2005), Table 1: both colours mirrored at the origin, the hues exactly opposite
OPPOSITE_PAIRS = (10, 14)


def colours(row):
    return [[row[f"{axis}_{number}"] for axis in "Lab"] for number in (1, 2)]


def test_the_table_is_whole():
    assert TABLE["pair"].tolist() == list(range(1, 35))


@pytest.mark.parametrize("row", TABLE, ids=lambda row: f"pair {int(row['pair'])}")
def test_published_pairs_in_both_orders(row):
    lab_1, lab_2 = colours(row)
    # Sharma, Wu, Dalal (2005), Table 1, printed to four decimals
    assert float(delta_E_ciede2000(lab_1, lab_2)) == pytest.approx(row["delta_E"], abs=1e-4)
    assert float(delta_E_ciede2000(lab_2, lab_1)) == pytest.approx(row["delta_E"], abs=1e-4)


@pytest.mark.parametrize("pair", OPPOSITE_PAIRS)
def test_exactly_opposite_pairs_of_the_table_side_with_the_smaller_angle(pair):
    # The rows before and after differ from an opposite pair by 0.0001 in one coordinate. In the
    # row before, hue angles are less than 180 degrees apart, in the row after more, and the printed
    # difference jumps between them. At exactly 180 the table continues the row before.
    before, exact, after = (TABLE[number - 1] for number in (pair - 1, pair, pair + 1))
    lab_1, lab_2 = colours(exact)
    assert lab_2[1:] == [-lab_1[1], -lab_1[2]]
    assert exact["delta_E"] == before["delta_E"] != after["delta_E"]
    for first, second in ((lab_1, lab_2), (lab_2, lab_1)):
        assert abs(float(delta_E_ciede2000(first, second)) - before["delta_E"]) < 1e-4
        assert abs(float(delta_E_ciede2000(first, second)) - after["delta_E"]) > 0.04


def test_opposite_hues_are_never_decided_by_rounding():
    # Equation (14): at 180 degrees or less the mean hue is the plain mean of the two angles. So an
    # exactly opposite pair must continue the side with angles just below 180 degrees apart, at
    # every hue and for every ratio of the chromas, decimal fractions included.
    hue = np.radians(np.arange(0.05, 180.0, 0.1))
    ratio = np.resize([1.0, 0.3, 0.7, 1.1, 2.0], hue.shape)

    def lab(chroma, angle):
        return np.stack(
            [np.full(hue.shape, 50.0), chroma * np.cos(angle), chroma * np.sin(angle)], axis=-1
        )

    first = lab(np.full(hue.shape, 20.0), hue)
    opposite = first * [1.0, -1.0, -1.0] * np.stack([ratio**0, ratio, ratio], axis=-1)
    below = delta_E_ciede2000(first, lab(20.0 * ratio, hue + np.pi - 1e-9))
    above = delta_E_ciede2000(first, lab(20.0 * ratio, hue + np.pi + 1e-9))
    assert np.abs(above - below).max() > 8.0  # choosing the wrong side would show
    np.testing.assert_allclose(delta_E_ciede2000(first, opposite), below, atol=1e-6)
    np.testing.assert_array_equal(
        delta_E_ciede2000(opposite, first), delta_E_ciede2000(first, opposite)
    )


def test_parametric_factors_divide_their_own_term():
    # Equation (22): with one term alone, its factor divides the difference
    grey, lighter = [50.0, 0.0, 0.0], [56.0, 0.0, 0.0]
    assert float(delta_E_ciede2000(grey, lighter, k_L=2.0)) == pytest.approx(
        float(delta_E_ciede2000(grey, lighter)) / 2.0
    )
    dull, vivid = [50.0, 0.0, 20.0], [50.0, 0.0, 30.0]
    assert float(delta_E_ciede2000(dull, vivid, k_C=2.0)) == pytest.approx(
        float(delta_E_ciede2000(dull, vivid)) / 2.0
    )
    left, right = [50.0, 3.0, 30.0], [50.0, -3.0, 30.0]
    assert float(delta_E_ciede2000(left, right, k_H=2.0)) == pytest.approx(
        float(delta_E_ciede2000(left, right)) / 2.0
    )
