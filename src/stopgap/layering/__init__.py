"""Optics of layers: what several pencils laid over each other look like.

`predict` gives their colour, `uncertainty` how sure it is, `best_recipes` searches them, and
`calibrate` learns paper, hand and pencils from layered swatches. Models are in MODELS.
"""

from stopgap.layering.box import Pencils, pencils
from stopgap.layering.calibration import Calibration, calibrate
from stopgap.layering.catalogue import Catalogue, catalogue, catalogue_colours
from stopgap.layering.cautioning import PREDICTED, cautions
from stopgap.layering.intervals import LOAD_SPREAD, TOOTH_SPREAD, Uncertainty, uncertainty
from stopgap.layering.layered import Layered, layered
from stopgap.layering.laying import DEFAULT_TOOTH, PRESSURES, TOOTH
from stopgap.layering.models import DEFAULT_MODEL, MODELS, Model, ModelFunction
from stopgap.layering.prediction import predict, tints
from stopgap.layering.recipes import Recipe, best_recipes, recipes_of, worth_offering
from stopgap.layering.recovery import Recovered, recover
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
