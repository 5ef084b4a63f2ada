"""`uncertainty` and `recipes_of`, against asking `predict` for every variant by itself."""

from dataclasses import replace
from statistics import NormalDist

import numpy as np
import pytest

from stopgap.colorimetry import recover
from stopgap.colorimetry.recovery.bands import REC_2020, SMOOTHEST, SPECTRUM
from stopgap.difference import delta_E
from stopgap.layering import (
    MODELS,
    PRESSURES,
    SPREADS,
    TRAPPING,
    Found,
    alternatives,
    intervals,
    palette_of,
    predict,
    recipes_of,
    uncertainty,
)
from stopgap.layering.covering import SHARES
from stopgap.layering.intervals import _HALF, _LENGTHS, _NINETY
from stopgap.layering.optics import attainable, optics, paper_reflectance
from stopgap.layering.palette import alternatives_of
from stopgap.layering.recipes import uncertainty_of
from stopgap.layering.shared_tooth import FEW_NODES
from stopgap.swatches import Reflectance, Scattering, Source, Swatch

pytestmark = pytest.mark.slow

PAPER, CREAM = np.array([95.0, 0.0, -2.0]), np.array([91.0, 1.0, 6.0])
LAYERS = np.array(
    [[[86, 2, 82], [46, 60, 38]], [[48, -18, -42], [46, 60, 38]], [[60, 15, 35], [60, 15, 35]]],
    dtype=float,
)
STEP = 0.25


def at_few_thicknesses(model):
    """The model with as many thicknesses of the tooth as how sure a colour is takes."""

    def function(*layers, nodes, **knobs):
        return model.function(*layers, nodes=FEW_NODES, **knobs)

    return model._replace(function=function)


def slowly(paper, layers, loads, *, sigma, model="spectrum", tooth=2.0, **options):
    """Swatches, tooth, trapping, loads, reconstruction: a prediction a variant, nothing shared."""
    row, spectra = at_few_thicknesses(MODELS[model]), options.get("spectra")

    def differs(of=layers, laid=loads, by=row, on=tooth, trapping=TRAPPING):
        found = predict(paper, of, laid, model=by, tooth=on, trapping=trapping, **options)
        return delta_E(found, predict(paper, layers, loads, model=row, tooth=tooth, **options))

    def root_mean_square(variants):
        return np.sqrt(np.mean(np.square(variants), axis=0))

    swatches = 0.0
    for i in range(layers.shape[-2]):
        for axis in range(3):
            moved = layers.copy()
            moved[..., i, axis] += np.where(layers[..., i, axis] > 0, -STEP, STEP)
            step = delta_E(moved[..., i, :], layers[..., i, :])
            swatches = swatches + (sigma * differs(moved) / step) ** 2 / 3.0
    rougher = [tooth * np.exp(s * SPREADS.tooth) for s in (-1, 1)]
    spread = np.where(loads == 1.0, 0.0, SPREADS.load)
    others = [bands for bands in (SPECTRUM, SMOOTHEST, REC_2020) if bands is not row.bands]
    rebuilt = root_mean_square([differs(by=row._replace(bands=bands)) for bands in others])
    if spectra is not None and row.bands.measured:
        rebuilt = np.where(np.isnan(spectra).any(axis=(-2, -1)), rebuilt, 0.0)
    return (
        np.sqrt(swatches),
        root_mean_square([differs(on=n) for n in rougher]),
        root_mean_square([differs(trapping=TRAPPING + s * SPREADS.trapping) for s in (-1, 1)]),
        root_mean_square([differs(laid=loads * np.exp(s * spread)) for s in (-1, 1)]),
        rebuilt,
    )


def some_spectra():
    """A measured spectrum for the blue and for the last pair, with a red end as cobalt's."""
    end = 0.4 / (1.0 + np.exp((690.0 - np.arange(380.0, 731.0, 10.0)) / 8.0))
    spectra = np.clip(recover(LAYERS).reflectance + end, 0.0, 0.95)
    spectra[0], spectra[1, 1] = np.nan, np.nan
    return spectra


@pytest.mark.parametrize("model", list(MODELS))
@pytest.mark.parametrize(
    "options",
    [
        {},
        {"swatch_paper_lab": CREAM},
        {"opacity": np.array([0.0, 0.4])},
        {"spectra": some_spectra(), "swatch_paper_lab": CREAM},
    ],
    ids=["clear", "other paper", "covering", "measured"],
)
def test_every_part_is_that_of_separate_predictions(model, options):
    loads = np.array([[1.0, 0.35], [0.65, 1.0], [0.35, 0.65]])
    found = uncertainty(PAPER, LAYERS, loads, sigma=0.5, model=model, **options)
    expected = slowly(PAPER, LAYERS, loads, sigma=0.5, model=model, **options)
    parts = (found.swatches, found.tooth, found.trapping, found.loads, found.reconstruction)
    for part, other in zip(parts, expected, strict=True):
        np.testing.assert_allclose(part, other, atol=1e-9)
    assert all((part > 0.0).any() for part in parts)


def test_layers_on_whitened_paper_of_a_colour_brighter_than_white():
    whitened, layers = np.array([96.0, 2.0, -13.0]), np.array([[94.0, 1, -13], [46, 60, 38]])
    loads = np.array([0.35, 1.0])
    found = uncertainty(whitened, layers, loads, sigma=2.0)
    expected = slowly(whitened, layers, loads, sigma=2.0)
    np.testing.assert_allclose(found.total, np.linalg.norm(expected), atol=1e-9)


def test_few_thicknesses_tell_how_sure_a_colour_is_to_two_figures(monkeypatch):
    """Against a rule of 64, of recipes of pencils that cover as they may, laid in all manners."""
    rng = np.random.default_rng(20261127)
    some = [
        Swatch("R", str(i), lab=tuple(lab), uncertainty=0.5, shared_uncertainty=0.0)
        for i, lab in enumerate(rng.uniform([15, -30, -30], [90, 30, 40], (20, 3)))
    ]

    def asked():
        box = palette_of(some, PAPER, opacity={})
        unsure = uncertainty_of(layings, box)
        return np.array([unsure.ninety, unsure.total])

    layings = rng.choice(len(some) * len(PRESSURES), (200, 2))
    few = asked()
    for room in (intervals, alternatives):
        monkeypatch.setattr(room, "FEW_NODES", 64)
    np.testing.assert_allclose(few, asked(), rtol=0.02)


def test_no_layer_has_no_uncertainty():
    found = uncertainty(PAPER, np.zeros((2, 0, 3)), sigma=np.zeros(0))
    np.testing.assert_allclose(found.total, [0.0, 0.0], atol=1e-6)


def test_recipes_of_one_and_two_pencils_are_as_sure_together_as_each_alone():
    nm = np.arange(400.0, 701.0, 20.0)
    measured = Reflectance(
        tuple(nm), tuple(np.interp(nm, [400, 500, 600, 700], [0.2, 0.1, 0.4, 0.8]))
    )
    swatches = [
        Swatch("R", str(i), lab=tuple(lab), source=Source.TYPED)
        for i, lab in enumerate(LAYERS.reshape(-1, 3)[:4])
    ]
    swatches[2] = replace(swatches[2], reflectance=measured)
    for model, S in (("spectrum", 0.0), ("spectrum", 0.3), ("channels", 0.0)):
        box = palette_of(swatches, PAPER, model=model, opacity=S, swatch_paper_lab=CREAM)
        layings = np.array([[0, 5], [4, -1], [10, 3], [8, -1], [6, 7]])
        recipes = recipes_of(Found(layings, np.arange(5.0)), box)
        for recipe, laid in zip(recipes, layings, strict=True):
            used = laid[laid >= 0]
            parts = slowly(
                PAPER,
                box.lab[used // 3],
                np.array(list(PRESSURES.values()))[used % 3],
                sigma=swatches[0].uncertainty,
                model=model,
                opacity=S,
                swatch_paper_lab=CREAM,
                spectra=box.spectra[used // 3],
            )
            assert recipe.sigma == pytest.approx(np.linalg.norm(parts), abs=1e-9)


@pytest.mark.parametrize("bands", [SPECTRUM, SMOOTHEST, REC_2020])
def test_optics_together_are_those_of_each_apart(bands):
    whitened = np.array([96.0, 2.0, -13.0])
    layers = np.concatenate([LAYERS, [[[94, 1, -13], [50, 200, -150]]]])
    spectra = np.concatenate([some_spectra(), np.full((1, 2, 36), np.nan)])
    found = optics(bands, layers, whitened, PAPER, spectra)
    np.testing.assert_allclose(found.ground, paper_reflectance(bands, PAPER, ""), atol=1e-9)
    np.testing.assert_allclose(found.seen_on, paper_reflectance(bands, whitened, ""), atol=1e-9)
    brightest = float(found.seen_on.max())
    for at in np.ndindex(4, 2):
        reflectance, reached = attainable(bands, layers[at], spectra[at], brightest=brightest)
        assert found.reached[at] == reached == (at != (3, 1))
        if reached:
            np.testing.assert_allclose(found.layers[at], reflectance, atol=1e-9)


def test_lengths_of_a_normal_error_are_those_of_the_standard_library():
    shares = (*SHARES, 0.5, 0.9)
    lengths = [NormalDist().inv_cdf((1.0 + share) / 2.0) for share in shares]
    np.testing.assert_allclose((*_LENGTHS, _HALF, _NINETY), lengths, rtol=1e-14)


@pytest.mark.parametrize("tooth_spread", [SPREADS.tooth, 0.11])
@pytest.mark.parametrize("model", MODELS)
def test_depths_that_are_known_change_nothing_to_the_last_bit(model, tooth_spread):
    labs = [(60.0, 15.0, 35.0), (46.0, 60.0, 38.0), (48.0, -18.0, -42.0), (82.0, 4.0, 60.0)]
    swatches = [Swatch("R", str(i), lab) for i, lab in enumerate(labs)]
    covers = {one.address: Scattering(0.4, 0.1, 0.9) for one in swatches[:3]}
    box = palette_of(swatches, PAPER, model=model, opacity=covers, swatch_paper_lab=CREAM)
    layings = np.array([[0, 3], [4, 10], [7, 2], [8, -1], [11, 5]])
    known = alternatives_of(box, np.arange(len(box.swatches)))
    assert known.depths is not None
    spreads = SPREADS._replace(tooth=tooth_spread)
    for few in (layings, layings[2:3]):
        given, anew = (
            uncertainty_of(few, box, known=each, spreads=spreads)
            for each in (known, known._replace(depths=None))
        )
        for one, other in zip(given, anew, strict=True):
            np.testing.assert_array_equal(one, other)
