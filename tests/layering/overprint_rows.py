"""Characterised presses as layers and overprints, and the usual ways of guessing a layered colour.

FOGRA39L is on coated paper, FOGRA28L on light coated, FOGRA30L on uncoated, TR002 on newsprint.
"""

import warnings
from functools import cache
from pathlib import Path

import numpy as np

with warnings.catch_warnings():
    warnings.simplefilter("ignore")
    import colour

from stopgap.layering import LayeredSample
from stopgap.swatches import Stack, Swatch

REFERENCE = Path(__file__).parents[1] / "reference"
PRESSES = ("FOGRA39L", "FOGRA28L", "FOGRA30L", "TR002")


@cache
def press(name):
    """Colours (3,) by tone values of cyan, magenta and yellow."""
    if name == "FOGRA39L":
        text = (REFERENCE / "overprints_fogra39.csv").read_text(encoding="utf-8")
        lines = text.splitlines()[4:]
    else:
        text = (REFERENCE / "overprints_more.csv").read_text(encoding="utf-8")
        start = f"{name},"
        lines = [line[len(start) :] for line in text.splitlines() if line.startswith(start)]
    rows = np.loadtxt(lines, delimiter=",")
    return {tuple(row[:3]): row[3:] for row in rows}


def overprints(inks, by_tone=None):
    """Paper (3,), layers (m, inks, 3), overprints (m, 3) and tone values (m, 3)."""
    by_tone = press("FOGRA39L") if by_tone is None else by_tone
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


def six_samples(by_tone):
    """Three pairs of full tones and three of 70 %, as layered swatches, and the paper (3,)."""
    paper, layers, measured, tones = overprints(2, by_tone)
    samples = []
    for tone in (100, 70):
        for row in np.flatnonzero((np.sort(tones, axis=1)[:, 1:] == tone).all(axis=1)):
            inks = np.flatnonzero(tones[row])
            pair = [
                Swatch("Ink", f"{ink} {tone}", tuple(lab), uncertainty=0.4, shared_uncertainty=0.3)
                for ink, lab in zip(inks, layers[row])
            ]
            samples.append(LayeredSample(Stack.of(*pair), tuple(measured[row])))
    return samples, paper


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
