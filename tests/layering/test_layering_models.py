"""Every row of MODELS keeps the same promises."""

import numpy as np
import pytest

from stopgap.colorimetry.recovery.bands import SPECTRUM
from stopgap.errors import InputError
from stopgap.layering import MODELS, Model, predict
from stopgap.layering.models import model_of
from stopgap.layering.prepared_layers import laid_ground, prepared_layers

rows = pytest.mark.parametrize("name", list(MODELS))
PAPER = [94.0, 0.5, 3.0]
LAYERS = [[[82, 4, 70], [48, 58, 30]], [[60, -40, 20], [35, 15, -45]], [[90, 2, 10], [20, 0, 0]]]


def reflectances(row):
    found = row.bands.reflectances(np.array(LAYERS, dtype=float), None)
    assert found.reached.all()
    return found.reflectance, row.bands.reflectances(np.array(PAPER), None).reflectance


@rows
def test_a_colour_comes_back_from_its_bands(name):
    bands = MODELS[name].bands
    R = bands.reflectances(np.array(LAYERS, dtype=float), None).reflectance
    np.testing.assert_allclose(bands.lab(R), LAYERS, atol=1e-6)


@rows
def test_colours_outside_the_bands_are_flagged_and_drawn_in(name):
    found = MODELS[name].bands.reflectances(np.array([[50, 200.0, -150], [130, 0, 0]]), None)
    assert not found.reached.any()
    assert ((found.reflectance >= 0.0) & (found.reflectance <= 1.0)).all()


@rows
@pytest.mark.parametrize("S", [0.0, 0.7])
def test_no_layer_gives_paper_and_an_endless_one_what_lies_beneath_no_longer_changes(name, S):
    row = MODELS[name]
    layers, paper = reflectances(row)
    opacity = np.full(2, S)

    def laid(loads, ground):
        knobs = {"tooth": 1.3, "trapping": 0.3}
        return row.function(layers, paper, loads, opacity=opacity, ground=ground, **knobs)

    np.testing.assert_allclose(
        laid(np.zeros(2), paper), np.broadcast_to(paper, layers[:, 0].shape), rtol=1e-12
    )
    endless = laid(np.array([0.0, 1e6]), paper)
    np.testing.assert_allclose(endless, laid(np.array([1.0, 1e6]), 0.1 * paper), atol=2e-3)
    assert (endless <= 1.0).all()
    if S == 0.0:
        assert endless.max() < 1e-3


@rows
def test_clear_layers_stay_between_black_and_every_layer_beneath(name):
    row = MODELS[name]
    layers, paper = reflectances(row)
    found = row.function(layers, paper, np.ones(2), tooth=1.3, trapping=0.3, opacity=np.zeros(2))
    assert (found >= 0.0).all()
    assert (found <= np.minimum(layers[:, 0], paper) + 1e-12).all()


@rows
def test_taken_apart_it_is_the_same_model(name):
    row = MODELS[name]
    layers, paper = reflectances(row)
    loads, opacity = np.array([0.4, 0.8]), np.array([0.3, 0.9])
    for S in (0.0 * opacity, opacity):
        whole = row.reflectance(layers, paper, loads, tooth=1.7, trapping=0.3, opacity=S)
        depth = loads[:, None] * row.additive.absorption(layers, paper, S, tooth=1.7)
        power = np.broadcast_to(S * loads, depth.shape[:-1])
        apart = [
            taken_apart(row.additive, stack, each, paper, lying)
            for stack, each in zip(depth, power, strict=True)
            for lying in (0, 1)
        ]
        np.testing.assert_allclose(apart[::2], whole, rtol=1e-11)
        np.testing.assert_allclose(apart[1::2], whole, rtol=1e-11)


def taken_apart(additive, depth, opacity, paper, lying):
    """The reflectance of a stack of which the first `lying` layers are part of the ground."""
    ground = additive.laid_ground(paper, depth[:lying], opacity[:lying], tooth=1.7, trapping=0.3)
    prepared = additive.prepared_layers(depth, opacity, ground)
    return prepared.reflectance(*(np.array([i]) for i in range(lying, len(depth))))[0]


@pytest.mark.parametrize("lying", [0, 2])
def test_layers_come_out_alike_in_whatever_company(lying):
    rng = np.random.default_rng(lying)
    depth, opacity = rng.uniform(0, 2, (30, 36)), rng.choice([0.0, 0.3, 0.8], 30)
    there = (depth[:lying], 0.5 * opacity[:lying])
    ground = laid_ground(rng.uniform(0.5, 0.9, 36), *there, tooth=1.7, trapping=0.3)
    prepared = prepared_layers(depth, opacity, ground)
    first, second = (each.ravel() for each in np.indices((30, 30)))
    every = prepared.reflectance(first, second)
    for count in (1, 2, 7, 60, 900):
        some = rng.permutation(900)[:count]
        found = prepared.reflectance(first[some], second[some])
        assert found.tobytes() == every[some].tobytes()


def darkest(layers, paper, loads, *, tooth, opacity, ground=None):
    del paper, tooth, opacity
    return np.where(loads[..., None] > 0, layers, 1.0).min(axis=-2) * (ground is not None)


def test_a_function_or_a_row_may_be_given_instead_of_a_name():
    by_function = predict(PAPER, LAYERS, model=darkest)
    by_row = predict(PAPER, LAYERS, model=Model(darkest, SPECTRUM, "darkest band wins"))
    np.testing.assert_array_equal(by_function, by_row)
    assert (by_function[:, 0] <= np.array(LAYERS)[:, :, 0].min(axis=1) + 1e-9).all()


def test_unknown_model_and_read_only_table():
    with pytest.raises(InputError, match="spectrum, channels"):
        model_of("guess")
    with pytest.raises(TypeError):
        MODELS["mine"] = MODELS["spectrum"]
