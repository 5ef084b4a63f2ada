"""Rows of FOGRA39L as layers and overprints, and the usual ways of guessing a layered colour."""

import warnings
from pathlib import Path

import numpy as np

with warnings.catch_warnings():
    warnings.simplefilter("ignore")
    import colour

FILE = Path(__file__).parents[1] / "reference" / "overprints_fogra39.csv"


def overprints(inks):
    """Paper (3,), layers (m, inks, 3), overprints (m, 3) and tone values (m, 3)."""
    rows = np.loadtxt(FILE, delimiter=",", comments="#", skiprows=4)
    by_tone = {tuple(row[:3]): row[3:] for row in rows}
    layers, measured, tones = [], [], []
    for tone, lab in by_tone.items():
        singles = [
            tuple(value if i == j else 0.0 for j in range(3))
            for i, value in enumerate(tone)
            if value
        ]
        if len(singles) == inks and all(single in by_tone for single in singles):
            layers.append([by_tone[single] for single in singles])
            measured.append(lab)
            tones.append(tone)
    return by_tone[0, 0, 0], np.array(layers), np.array(measured), np.array(tones)


def average_of_lab(paper, layers):
    del paper
    return layers.mean(axis=1)


def product_of_srgb(paper, layers):
    srgb = colour.RGB_COLOURSPACES["sRGB"]
    d50 = colour.CCS_ILLUMINANTS["CIE 1931 2 Degree Standard Observer"]["D50"]

    def linear(lab):
        return np.clip(
            colour.XYZ_to_RGB(colour.Lab_to_XYZ(lab, d50), srgb, d50, "Bradford"), 0, None
        )

    rgb = linear(paper) * np.prod(linear(layers) / linear(paper), axis=1)
    return colour.XYZ_to_Lab(colour.RGB_to_XYZ(rgb, srgb, d50, "Bradford"), d50)
