"""Held-out colours: overprints of FOGRA39L, predicted from the single inks and the paper.

Nothing is fitted to them but n = 2, said of coated paper beforehand. A layer is the single ink at
its own tone value, so (40, 70, 0) is the swatch of (40, 0, 0) under that of (0, 70, 0). For
comparison the same rows by averaging Lab and by multiplying linear sRGB channels (colour-science's
matrix and transfer, adapted by Bradford from D65 to D50).
"""

import numpy as np
import pytest
from overprint_rows import average_of_lab, overprints, product_of_srgb

from stopgap.difference import GRADES, delta_E, promise
from stopgap.layering import predict, uncertainty

TOOTH = 2.0


@pytest.fixture(scope="module")
def pairs():
    return overprints(2)


def test_the_file_is_whole():
    """Counted in the file itself: paper, 3 inks of 21 tones, and what has its single inks there."""
    assert [len(overprints(inks)[1]) for inks in (0, 1, 2, 3)] == [1, 63, 204, 522]


def test_two_inks(pairs):
    paper, layers, measured, tones = pairs
    error = delta_E(predict(paper, layers, tooth=TOOTH), measured)
    assert error.mean() <= 1.15
    assert np.quantile(error, 0.95) <= 2.65
    solid = (tones.max(axis=1) == 100) & (np.count_nonzero(tones == 100, axis=1) == 2)
    assert solid.sum() == 3
    assert error[solid].mean() <= 2.6


def test_three_inks():
    paper, layers, measured, _ = overprints(3)
    error = delta_E(predict(paper, layers, tooth=TOOTH), measured)
    assert error.mean() <= 1.85
    assert np.quantile(error, 0.95) <= 3.3


@pytest.mark.parametrize("rival", [average_of_lab, product_of_srgb])
def test_better_than_the_usual_ways(pairs, rival):
    paper, layers, measured, tones = pairs
    solid = np.count_nonzero(tones == 100, axis=1) == 2
    own = delta_E(predict(paper, layers, tooth=TOOTH), measured)
    other = delta_E(rival(paper, layers), measured)
    assert own.mean() < other.mean() / 2
    assert own[solid].mean() < other[solid].mean() / 2


def test_channels_are_a_rival_and_no_more(pairs):
    paper, layers, measured, _ = pairs
    error = delta_E(predict(paper, layers, tooth=TOOTH, model="channels"), measured)
    assert 1.15 < error.mean() < 2.0


def test_intervals_cover_what_they_say(pairs):
    """Share of measured overprints within the typical and the 90 % interval; nothing is fitted."""
    for paper, layers, measured, tones in (pairs, overprints(3)):
        error = delta_E(predict(paper, layers, tooth=TOOTH), measured)
        spread = uncertainty(paper, layers, sigma=0.5, tooth=TOOTH)
        assert 0.35 < (error < spread.typical).mean() < 0.65
        assert 0.85 < (error < spread.ninety).mean() < 0.97
        strong = np.where(tones > 0, tones, 100).min(axis=1) >= 70
        light = tones.max(axis=1) <= 40
        assert (error < spread.ninety)[strong].mean() > 0.85
        assert (error < spread.ninety)[light].mean() > 0.85
        assert spread.ninety[strong].mean() > 1.5 * spread.ninety[light].mean()


def test_what_is_promised_of_overprints_holds():
    """Colours near the predictions asked for: nine in ten measured overprints keep the word.

    By the grade of the middle far fewer do.
    """
    paper, layers, measured, _ = overprints(2)
    predicted = predict(paper, layers, tooth=TOOTH)
    sigma = uncertainty(paper, layers, sigma=0.5, tooth=TOOTH).total
    generator = np.random.default_rng(39)
    kept, kept_by_middle = [], []
    for reach in (0.3, 1.0, 2.0):
        targets = predicted + generator.normal(0.0, reach, predicted.shape)
        truth = delta_E(targets, measured)
        for middle, one, real in zip(delta_E(targets, predicted), sigma, truth, strict=True):
            found = promise(float(middle), float(one))
            kept.append(real <= GRADES[found.grade])
            kept_by_middle.append(real <= GRADES[found.likely_grade])
    assert np.mean(kept) > 0.9
    assert np.mean(kept_by_middle) < 0.8
