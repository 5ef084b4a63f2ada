"""`predict` and `tints`: what layers do on any paper, and what is refused."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from stopgap.colorimetry import WAVELENGTHS, recover
from stopgap.difference import delta_E
from stopgap.errors import InputError
from stopgap.layering import MODELS, PRESSURES, TOOTH, predict, tints

pytestmark = pytest.mark.slow

quick = settings(derandomize=True, deadline=None, max_examples=20)
PAPER = [95.0, 0.0, 2.0]
YELLOW, RED, BLUE, ULTRAMARINE = [86, 2, 82], [46, 60, 38], [48, -18, -42], [32, 22, -52]
GREEN, WHITE, BLACK = [52, -44, 26], [94, 0, 1], [22, 0, 0]

pencils = st.sampled_from([YELLOW, RED, BLUE, ULTRAMARINE, GREEN, [60, 15, 35], [75, 20, 0], BLACK])
papers = st.sampled_from([PAPER, [97, 1, -6], [90, 4, 18]])
models = st.sampled_from(list(MODELS))
teeth = st.floats(0.6, 5.0)
loads = st.floats(0.0, 1.5)


def luminance(lab):
    return np.asarray(lab)[..., 0]


@quick
@given(papers, pencils, pencils, models, teeth, st.floats(0.0, 1.0), loads, loads)
def test_clear_layers(paper, first, second, model, tooth, trapping, load_1, load_2):
    def laid(layers, pressures, n=tooth, trapping=trapping):
        return predict(paper, layers, pressures, model=model, tooth=n, trapping=trapping)

    both = laid([first, second], [load_1, load_2])
    freely = laid([first, second], [load_1, load_2], trapping=0.0)
    turned = laid([second, first], [load_2, load_1], trapping=0.0)
    np.testing.assert_allclose(freely, turned, atol=1e-8)
    assert luminance(freely) <= luminance(both) + 1e-9
    np.testing.assert_allclose(laid([first, second], [0, 0]), paper, atol=1e-6)
    assert luminance(both) <= luminance(laid([first], [load_1])) + 1e-9
    assert luminance(laid([first, second], [load_1, load_2 + 0.1])) <= luminance(both) + 1e-9
    darker = laid([first, second], [load_1 + 0.1, load_2], trapping=0.0)
    assert luminance(darker) < luminance(freely) + 1e-12
    np.testing.assert_allclose(laid([first, second], [load_1, load_2 + 1e-9]), both, atol=1e-5)
    np.testing.assert_allclose(
        laid([first, second], [load_1, load_2], tooth + 1e-9), both, atol=1e-5
    )


@quick
@given(pencils, models, teeth)
def test_one_heavy_layer_is_its_swatch(pencil, model, tooth):
    found = predict(PAPER, [pencil], model=model, tooth=tooth)
    assert delta_E(found, pencil) < 0.6  # a channel of a vivid swatch may outshine the paper's


@pytest.mark.parametrize("model", list(MODELS))
def test_no_layer_gives_the_paper_whatever_its_colour(model):
    for paper in (PAPER, [100, 0, 0], [96, 2, -9], [30, 5, 10], [70, 12, 30], [99.9, -0.5, 0.2]):
        found = predict(paper, np.zeros((0, 3)), model=model)
        np.testing.assert_allclose(found, paper, atol=1e-6)


def test_pale_layers_on_whitened_paper_may_be_brighter_than_white():
    whitened, pale = [96, 2, -13], [94, 1, -13]
    found = predict(whitened, [pale])
    assert delta_E(found, pale) < 0.1
    with pytest.raises(InputError, match="no surface"):
        predict(PAPER, [pale])


def test_leading_dimensions_broadcast():
    layers = np.array([[YELLOW, RED], [BLUE, RED], [GREEN, BLUE]], dtype=float)
    together = predict(PAPER, layers, ["light", "heavy"], opacity=[0.0, 0.2])
    apart = [predict(PAPER, two, [0.35, 1.0], opacity=[0.0, 0.2]) for two in layers]
    np.testing.assert_allclose(together, apart, atol=1e-9)
    by_paper = predict([PAPER, [80, 5, 20]], layers[:2], swatch_paper_lab=PAPER)
    np.testing.assert_allclose(
        by_paper[1], predict([80, 5, 20], layers[1], swatch_paper_lab=PAPER), atol=1e-9
    )
    assert predict(PAPER, np.zeros((4, 5, 0, 3))).shape == (4, 5, 3)


def test_what_artists_know():
    """Common practice, no source."""

    def hue(lab):
        return np.degrees(np.arctan2(lab[2], lab[1])) % 360

    orange = predict(PAPER, [YELLOW, RED])
    assert hue(RED) + 3 < hue(orange) < 75
    assert np.hypot(*orange[1:]) > 40
    green = predict(PAPER, [YELLOW, BLUE])
    assert 110 < hue(green) < 200
    assert np.hypot(*green[1:]) > 15
    neutral = predict(PAPER, [RED, GREEN])
    assert np.hypot(*neutral[1:]) < min(np.hypot(*RED[1:]), np.hypot(*GREEN[1:])) / 2
    assert neutral[0] < 40
    assert predict(PAPER, [BLUE, BLUE])[0] < predict(PAPER, [BLUE])[0] - 2


def test_tints_rise_from_heavy_to_paper():
    found = tints(PAPER, [RED, ULTRAMARINE])
    assert found.shape == (2, len(PRESSURES), 3)
    assert list(PRESSURES) == ["light", "medium", "heavy"]
    assert (np.diff(found[..., 0], axis=1) < -3.0).all()
    np.testing.assert_allclose(found[:, -1], [RED, ULTRAMARINE], atol=1e-6)
    np.testing.assert_allclose(found[0, 0], predict(PAPER, [RED], "light"), atol=1e-12)
    assert tints(PAPER, [RED, WHITE], opacity=[0.0, 1.0]).shape == (2, 3, 3)


def test_dark_paper_needs_a_pencil_that_covers():
    dark = [30, 2, 5]
    clear = predict(dark, [WHITE], swatch_paper_lab=PAPER)
    covering = predict(dark, [WHITE], swatch_paper_lab=PAPER, opacity=1.5)
    assert clear[0] < 30.1
    assert covering[0] > 60
    rising = predict(dark, np.array([[WHITE]] * 6), swatch_paper_lab=PAPER,
                     opacity=np.array([0, 0.2, 0.5, 1, 2, 5])[:, None])  # fmt: skip
    assert (np.diff(rising[:, 0]) > 0).all()


def test_order_matters_through_opacity_only():
    light_last = predict(PAPER, [ULTRAMARINE, YELLOW], opacity=[0, 1])
    light_first = predict(PAPER, [YELLOW, ULTRAMARINE], opacity=[1, 0])
    assert light_last[0] > light_first[0] + 10


def test_measured_spectra_are_used_where_there_are_any():
    """Two blues of one colour, one of them with a red end as cobalt's: over red they part."""
    plain = recover([BLUE]).reflectance[0]
    red_end = np.clip(plain + 0.5 / (1.0 + np.exp((690.0 - WAVELENGTHS) / 8.0)), 0, 0.95)
    none = np.full(36, np.nan)
    layers = [RED, BLUE]
    with_spectrum = predict(PAPER, layers, spectra=[none, red_end])
    assert delta_E(with_spectrum, predict(PAPER, layers)) > 0.2
    np.testing.assert_allclose(
        predict(PAPER, [BLUE], spectra=[red_end]), predict(PAPER, [BLUE]), atol=0.2
    )
    np.testing.assert_allclose(
        predict(PAPER, layers, spectra=[none, none]), predict(PAPER, layers), atol=1e-12
    )


def test_names_of_papers():
    for name, n in TOOTH.items():
        np.testing.assert_array_equal(
            predict(PAPER, [YELLOW, RED], tooth=name), predict(PAPER, [YELLOW, RED], tooth=n)
        )
    assert TOOTH["smooth"] > TOOTH["drawing"] > TOOTH["rough"]
    smooth = predict(PAPER, [YELLOW, RED], tooth=np.inf)
    np.testing.assert_allclose(smooth, predict(PAPER, [YELLOW, RED], tooth=1e6), atol=1e-4)


@pytest.mark.parametrize(
    ("arguments", "sentence"),
    [
        ({"layers_lab": [[50, 200, -200]]}, "layers_lab: no surface has the colour"),
        ({"layers_lab": [[84.8, 6.5, -26.2]]}, r"no surface has the colour lab\(84.8 6.5 -26.2\)"),
        ({"layers_lab": [[50, 0, np.inf]]}, "layers_lab: every value must be a finite number"),
        ({"layers_lab": [50, 0, 0]}, r"layers_lab: expected shape \(..., n, 3\)"),
        ({"layers_lab": [["red", 0, 0]]}, "layers_lab: expected numbers"),
        ({"paper_lab": [60, 0, 0]}, "layer 1 .* is lighter than the paper"),
        ({"paper_lab": [130, 0, 0]}, "paper_lab: no surface"),
        ({"pressures": ["hard"]}, "pressures: 'hard' is not one of light, medium, heavy"),
        ({"pressures": [-1]}, "pressures: expected a name or a load from 0"),
        ({"pressures": [float("nan")]}, "pressures: expected a name or a load from 0"),
        ({"pressures": [1, 1, 1]}, "pressures: shape .* does not go with 1 layers"),
        ({"opacity": [-0.1]}, "opacity: a scattering power cannot be negative"),
        ({"opacity": [0, 0]}, "opacity: shape .* does not go with 1 layers"),
        ({"tooth": "velvet"}, "tooth: 'velvet' is not one of smooth, drawing, rough"),
        ({"tooth": -1.0}, "tooth: expected a number above 0"),
        ({"tooth": float("nan")}, "tooth: expected a number above 0"),
        ({"model": "guess"}, "model: 'guess' is not one of"),
    ],
)
def test_what_cannot_be_is_refused(arguments, sentence):
    with pytest.raises(InputError, match=sentence):
        predict(**{"paper_lab": PAPER, "layers_lab": [[70, 10, 10]], **arguments})


def test_a_mistyped_option_is_not_swallowed():
    with pytest.raises(TypeError):
        predict(PAPER, [RED], tooht=1.3)
