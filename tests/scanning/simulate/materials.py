"""Spectra of pencils at any load, from the demo's generator."""

import sys
from functools import cache, lru_cache
from pathlib import Path

import numpy as np

from stopgap.colorimetry import reflectance_to_xyz, xyz_to_lab

sys.path.append(str(Path(__file__).parents[3] / "datasets"))
import layers
import pencils as tables
import pigments

WAVELENGTHS = pigments.WAVELENGTHS
PAPER = pigments.PAPER
LOADS = np.array([0.0, 0.1, 0.2, 0.35, 0.5, 0.7, 0.9, 1.2, 1.6, 2.2])
RANGES = {
    "Fennmoor": (tables.FENNMOOR, "FM{:03d}"),
    "Brindlewick": (tables.BRINDLEWICK, "BW{:02d}"),
    "Quillet": (tables.QUILLET, "Q{}"),
}


@cache
def recipes(special: bool = False) -> dict[str, dict[str, float]]:
    """Pigments of every pencil by address; fluorescent and metallic ones where asked for."""
    found = {}
    for name, (table, code) in RANGES.items():
        for number, line in enumerate(table.strip().splitlines(), 1):
            _, recipe, *mark = (part.strip() for part in line.split("|"))
            if special or not {"metallic", "fluorescent"} & set(mark):
                found[f"{name}:{code.format(number)}"] = pigments.parse_recipe(recipe)
    return found


@lru_cache(maxsize=400)
def by_load(address: str) -> np.ndarray:
    """Reflectance (loads, wavelengths) of a film of each of LOADS; the first is bare paper."""
    return film(recipes(special=True)[address], PAPER)


def film(recipe: dict[str, float], paper: np.ndarray) -> np.ndarray:
    """As `by_load`, of any recipe on any paper."""
    absorption, scatter = pigments.absorption_and_scatter(recipe)
    below = pigments.under_surface(paper)
    films = [pigments.film_over(below, absorption, scatter, load) for load in LOADS[1:]]
    return np.array([paper, *(pigments.through_surface(film) for film in films)])


def lab_of(reflectance: np.ndarray) -> np.ndarray:
    """CIE L*a*b*, D50, 2 degrees, of reflectance (..., wavelengths)."""
    white = reflectance_to_xyz(WAVELENGTHS, np.ones(len(WAVELENGTHS)))
    return xyz_to_lab(reflectance_to_xyz(WAVELENGTHS, np.clip(reflectance, 0.0, 1.0)), white)


PRESSURES = {name: pressure.load for name, pressure in layers.PRESSURES.items()}
