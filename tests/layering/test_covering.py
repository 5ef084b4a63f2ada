"""How far pencils cover: by their word, by what they look like, as learnt, and what it does."""

import dataclasses

import colour
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from stopgap.colorimetry.cielab import relative_tristimulus
from stopgap.difference import delta_E
from stopgap.layering import (
    SPREADS,
    TRAPPING,
    LayeredSample,
    calibrate,
    layered,
    predict,
    uncertainty,
)
from stopgap.layering.covering import MOST_ON_LAYERS
from stopgap.layering.estimates import (
    DEFAULT_TOOTH,
    NOTHING_LEARNT,
    TOOTH,
    Opacities,
    expected_scattering,
    opacities_of,
)
from stopgap.layering.kubelka_munk import contrast_ratio
from stopgap.swatches import Core, Opacity, Scattering, Stack, Swatch

pytestmark = pytest.mark.slow

PAPER = (96.0, 0.0, 2.0)
BLACK = Swatch("Test", "black", (22.0, 0.5, 1.0), uncertainty=0.5, core=Core.WAX)
WHITE = Swatch("Test", "white", (95.0, 0.0, 3.0), uncertainty=0.5, core=Core.WAX)
MIDDLE = [(82, 5, 70), (50, 58, 30), (46, -38, 18), (36, 12, -46), (60, 15, 34), (72, -25, -12)]
PENCILS = [
    Swatch("Test", str(i), tuple(map(float, lab)), uncertainty=0.5) for i, lab in enumerate(MIDDLE)
]
LAID = [
    (0, 1, "heavy", "heavy"), (0, 3, "light", "heavy"), (1, 2, "medium", "light"),
    (2, 3, "heavy", "medium"), (4, 3, "light", "light"), (5, 1, "medium", "medium"),
]  # fmt: skip
SAMPLES = [
    LayeredSample(
        Stack.of(PENCILS[i], PENCILS[j], pressures=[first, second]),
        tuple(predict(PAPER, [PENCILS[i].lab, PENCILS[j].lab], [first, second], tooth=1.8)),
    )
    for i, j, first, second in LAID
]  # fmt: skip
CALIBRATED = calibrate(SAMPLES, PAPER)


@pytest.mark.parametrize("S", [0.05, 0.3, 1.0, 3.0])
def test_a_layer_that_absorbs_nothing_hides_as_kubelkas_equation_says(S):
    """R0 = S/(1 + S) over black and 1 over the perfect diffuser, hence the contrast ratio of
    ISO 6504-3; P. Kubelka (1948), JOSA 38(5), 448-457, case K = 0, from memory.
    """
    diffuser, black = (100.0, 0.0, 0.0), (0.0, 0.0, 0.0)
    over = [
        relative_tristimulus(
            predict(paper, [diffuser], opacity=S, swatch_paper_lab=diffuser, tooth=np.inf)
        )[1]
        for paper in (black, diffuser)
    ]
    assert contrast_ratio(*over) == pytest.approx(S / (1.0 + S), abs=2e-3)


def test_words_and_looks_are_in_the_order_of_the_trade():
    words = [expected_scattering(60.0, None, word) for word in Opacity]
    assert [word.middle for word in words] == sorted(word.middle for word in words)
    assert all(word.low <= word.middle <= word.high for word in words)
    ramp = [expected_scattering(L, Core.WAX).middle for L in range(0, 101, 5)]
    assert ramp == sorted(ramp)
    assert ramp[0] == expected_scattering(85.0, Core.WAX).middle == 0.0
    assert ramp[-1] == expected_scattering(97.0, Core.OIL).middle == 0.5
    assert 0.0 < expected_scattering(97.0, Core.WATER_SOLUBLE).middle < 0.5


def test_what_was_learnt_of_a_pencil_counts_for_no_other():
    learnt = {"Test:white": Scattering(0.3, 0.2, 0.4)}
    other = dataclasses.replace(WHITE, code="other white")
    found = opacities_of([WHITE, other], learnt)
    assert found.middle.tolist() == [0.3, 0.5]
    assert found.high.tolist() == [0.4, expected_scattering(95.0, Core.WAX).high]


def test_a_word_narrows_the_interval_and_tells_how_light_it_will_be():
    found = [
        layered([BLACK, dataclasses.replace(WHITE, opacity=word)], PAPER)
        for word in (None, *Opacity)
    ]
    assert all(one.ninety < found[0].ninety for one in found[1:])
    assert found[1].lab[0] < found[2].lab[0] < found[3].lab[0]
    assert not any("cover" in caution for caution in found[3].cautions)
    assert any("cover" in caution for caution in found[1].cautions)


def test_white_over_black_says_that_it_is_not_known():
    found = layered([BLACK, WHITE], PAPER)
    for S in (0.1, 0.3, 1.0):
        truth = predict(PAPER, [BLACK.lab, WHITE.lab], opacity=[0.0, S])
        assert delta_E(found.lab, truth) < found.ninety
    assert found.ninety > 15.0
    assert layered([WHITE, BLACK], PAPER).ninety < 3.0
    known = {BLACK.address: Scattering(0, 0, 0), WHITE.address: Scattering(0.3, 0.3, 0.3)}
    assert layered([BLACK, WHITE], PAPER, opacity=known).ninety < 5.0


# L* of Munsell's neutrals N 1 to N 9: ASTM D1535-08, equation 2, in colour-science 0.4.7
GREYS = [
    (float(L), 0.0, 0.0)
    for L in colour.colorimetry.lightness_CIE1976(
        colour.colorimetry.luminance_ASTMD1535(np.arange(1.0, 10.0)), 100.0
    )
]


@pytest.mark.parametrize("grey", GREYS, ids=[f"N {n}" for n in range(1, 10)])
@pytest.mark.parametrize("core", list(Core))
@pytest.mark.parametrize("L", [93.0, 95.0])
def test_twice_white_is_never_darker_than_the_dark_paper_it_lies_on(grey, core, L):
    white = Swatch("Test", "white", (L, 0.0, 2.0), core=core)
    once, twice = (
        layered([white] * count, grey, swatch_paper_lab=PAPER).lab[0] for count in (1, 2)
    )
    if grey[0] < L - 20.0:
        assert grey[0] < once < twice


def test_a_pencil_on_the_paper_of_its_swatch_looks_like_its_swatch():
    for swatch in (*PENCILS, BLACK, WHITE):
        assert layered([swatch], PAPER).lab == pytest.approx(swatch.lab, abs=0.01)


def test_nine_in_ten_lie_within_the_interval_where_scattering_is_drawn():
    """Pale over dark: paper and loads as uncertain as they are said to be, and S from 0 to that of
    a film of S = 1, which has a surface, in this model, which has none.
    """
    rng = np.random.default_rng(13)
    dark = np.stack([rng.uniform(20, 55, 160), *rng.uniform(-30, 30, (2, 160))], axis=-1)
    pale = np.stack([rng.uniform(dark[:, 0] + 15, 95), *rng.uniform(-12, 12, (2, 160))], axis=-1)
    layers, loads = np.stack([dark, pale], axis=1), np.array([1.0, 0.65])
    swatches = [Swatch("T", str(i), tuple(lab)) for i, lab in enumerate(layers.reshape(-1, 3))]
    of = opacities_of(swatches, NOTHING_LEARNT)
    of = Opacities(*(part.reshape(160, 2) for part in of))
    most = np.minimum(of.high[:, 1], MOST_ON_LAYERS / 0.96**2)
    found = predict(PAPER, layers, loads, opacity=of.middle)
    ninety = uncertainty(PAPER, layers, loads, opacity=of, sigma=0.0).ninety
    inside = []
    for _ in range(40):
        laid = predict(
            PAPER,
            layers,
            loads * np.exp(rng.normal(0, SPREADS.load, (160, 1)) * [0.0, 1.0]),
            tooth=TOOTH[DEFAULT_TOOTH] * np.exp(rng.normal(0, SPREADS.tooth)),
            trapping=max(TRAPPING + rng.normal(0, SPREADS.trapping), 0.0),
            opacity=np.stack([of.middle[:, 0], rng.uniform(0.0, most)], axis=-1),
        )
        inside.append(delta_E(laid, found) <= ninety)
    assert 0.87 <= np.mean(inside) <= 0.93


@pytest.mark.parametrize("paper", [(92, 1, 12), (74, 6, 20), (65, 0, 2), (20, 0, 0)])
@pytest.mark.parametrize("pressures", [[1.0], [0.65], [0.65, 1.0]])
def test_nine_in_ten_hold_on_a_toned_paper_whether_or_not_a_layer_is_lighter(paper, pressures):
    """S anywhere between what is held of it, as often low as high, for each pencil by itself."""
    rng = np.random.default_rng(4)
    lab = np.stack([rng.uniform(30, 90, 40), *rng.uniform(-25, 25, (2, 40))], axis=-1).reshape(
        -1, 1, 3
    )[rng.integers(40, size=(40, len(pressures))), 0]
    of = opacities_of([Swatch("T", "1", tuple(one)) for one in lab.reshape(-1, 3)], NOTHING_LEARNT)
    of = Opacities(*(part.reshape(lab.shape[:2]) for part in of))
    on = {"swatch_paper_lab": PAPER}
    found = predict(paper, lab, pressures, opacity=of.middle, **on)
    ninety = uncertainty(paper, lab, pressures, opacity=of, sigma=0.0, **on).ninety
    S = of.low + rng.uniform(size=(20, *of.low.shape)) * (of.high - of.low)
    unsure = 0.3 * (np.array(pressures) < 1.0)
    loads = np.array(pressures) * np.exp(unsure * rng.normal(size=S.shape))
    laid = predict(paper, np.broadcast_to(lab, (*S.shape, 3)), loads, opacity=S, **on)
    # films, which the interval is for, cover less of a dark paper than layers without a surface
    assert np.mean(delta_E(laid, found) <= ninety) >= 0.55
    clear = uncertainty(paper, lab, pressures, opacity=of.middle, sigma=0.0, **on).ninety
    assert (ninety > clear).mean() > 0.9


@given(
    st.floats(0.0, 1.5),
    st.tuples(*[st.floats(-6.0, 6.0)] * 3),
    st.sampled_from(["light", "medium", "heavy"]),
)
@settings(max_examples=15, deadline=None)
def test_one_white_sample_over_black_moves_no_other_pencil(S, off, pressure):
    lab = predict(PAPER, [BLACK.lab, WHITE.lab], ["heavy", pressure], opacity=[0.0, S]) + off
    sample = LayeredSample(Stack.of(BLACK, WHITE, pressures=["heavy", pressure]), tuple(lab))
    found = calibrate([*SAMPLES, sample], PAPER)
    assert found.after[:-1] == pytest.approx(CALIBRATED.after, abs=1e-6)
    for i, j, first, second in LAID:
        one, other = (
            layered(
                [PENCILS[j], PENCILS[i]], PAPER, [first, second],
                loads=of.pressures, tooth=of.tooth, opacity=of.opacity,
            ).lab
            for of in (found, CALIBRATED)
        )  # fmt: skip
        assert delta_E(one, other) < 0.3
    assert found.opacity.keys() == {WHITE.address}


def test_a_white_sample_teaches_its_pencil():
    lab = tuple(predict(PAPER, [BLACK.lab, WHITE.lab], opacity=[0.0, 0.3], tooth=1.8))
    found = calibrate([*SAMPLES, LayeredSample(Stack.of(BLACK, WHITE), lab)], PAPER)
    middle, low, high = found.opacity[WHITE.address]
    assert low < 0.3 < high
    assert middle == pytest.approx(0.3, abs=0.03)
    assert high - low < 0.3


def test_opacities_may_be_asked_about_in_any_shape():
    layers = np.array([[BLACK.lab, WHITE.lab], [WHITE.lab, BLACK.lab]])
    low, high = np.zeros((2, 2)), np.ones((2, 2))
    both = uncertainty(PAPER, layers, opacity=Opacities(high / 2, low, high), sigma=0.0)
    each = [
        uncertainty(PAPER, one, opacity=Opacities(high[0] / 2, low[0], high[0]), sigma=0.0)
        for one in layers
    ]
    np.testing.assert_allclose(both.ninety, [one.ninety for one in each], atol=1e-9)
    assert both.covering[1].max() < 0.05 < both.covering[0].min()  # black hides white as it is
