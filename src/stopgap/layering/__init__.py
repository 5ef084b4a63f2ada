"""Optics of layers: what several pencils laid over each other look like.

`predict` gives their colour, `uncertainty` how sure it is, `best_recipes` searches them, and
`calibrate` learns paper, hand and pencils from layered swatches. Models are in MODELS.
"""

from typing import TYPE_CHECKING

from stopgap.lazy import on_first_use

if TYPE_CHECKING:
    from stopgap.layering.box import Pencils, pencils
    from stopgap.layering.calibration import Calibration, calibrate
    from stopgap.layering.cataloguing import Catalogue, catalogue, catalogue_colours, catalogue_of
    from stopgap.layering.cautioning import PREDICTED, cautions
    from stopgap.layering.intervals import Uncertainty, uncertainty
    from stopgap.layering.laying import (
        DEFAULT_TOOTH,
        LOAD_SPREAD,
        PRESSURES,
        TOOTH,
        TOOTH_SPREAD,
    )
    from stopgap.layering.models import DEFAULT_MODEL, MODELS, Model, ModelFunction
    from stopgap.layering.outcome import Layered, layered
    from stopgap.layering.prediction import predict, tints
    from stopgap.layering.recipes import Recipe, best_recipes, recipes_of, worth_offering
    from stopgap.layering.recovered import Recovered
    from stopgap.layering.recovery import recover
    from stopgap.layering.samples import LayeredSample
    from stopgap.layering.searching import Found, search
    from stopgap.layering.weights import WAVELENGTHS

__all__ = [
    "DEFAULT_MODEL",
    "DEFAULT_TOOTH",
    "LOAD_SPREAD",
    "MODELS",
    "PREDICTED",
    "PRESSURES",
    "TOOTH",
    "TOOTH_SPREAD",
    "WAVELENGTHS",
    "Calibration",
    "Catalogue",
    "Found",
    "Layered",
    "LayeredSample",
    "Model",
    "ModelFunction",
    "Pencils",
    "Recipe",
    "Recovered",
    "Uncertainty",
    "best_recipes",
    "calibrate",
    "catalogue",
    "catalogue_colours",
    "catalogue_of",
    "cautions",
    "layered",
    "pencils",
    "predict",
    "recipes_of",
    "recover",
    "search",
    "tints",
    "uncertainty",
    "worth_offering",
]

__getattr__ = on_first_use(
    __name__,
    {
        "box": "Pencils pencils",
        "calibration": "Calibration calibrate",
        "cataloguing": "Catalogue catalogue catalogue_colours catalogue_of",
        "cautioning": "PREDICTED cautions",
        "intervals": "Uncertainty uncertainty",
        "laying": "DEFAULT_TOOTH LOAD_SPREAD PRESSURES TOOTH TOOTH_SPREAD",
        "models": "DEFAULT_MODEL MODELS Model ModelFunction",
        "outcome": "Layered layered",
        "prediction": "predict tints",
        "recipes": "Recipe best_recipes recipes_of worth_offering",
        "recovered": "Recovered",
        "recovery": "recover",
        "samples": "LayeredSample",
        "searching": "Found search",
        "weights": "WAVELENGTHS",
    },
)
