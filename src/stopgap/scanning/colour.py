"""From a share of the paper's light to Lab, and what a device is expected to get wrong.

White paper is taken as white: R, G, B of a field over those of bare paper beside it, times the
paper's own colour. What is then left between that and an instrument's reading is a smooth function
of the colour, the same for everything of one device under one light. It is taken as linear in 18
features that vanish at the paper, with weights whose mean and covariance over many simulated
devices of a class stand in `prior.json`.

Reference: C. M. Bishop (2006), "Pattern Recognition and Machine Learning", section 3.3, Bayesian
linear regression; G. D. Finlayson, M. Mackiewicz and A. Hurlbert (2015), IEEE Transactions on Image
Processing 24(5), 1460-1470, for the habit of few terms that do not depend on exposure.
"""

import json
from collections.abc import Sequence
from enum import StrEnum
from functools import lru_cache
from importlib import resources
from typing import NamedTuple

import numpy as np

from stopgap.arrays import Floats, as_lab
from stopgap.colorimetry import RGB_TO_D50_XYZ, lab_to_xyz, xyz_to_lab
from stopgap.difference import metric_tensor
from stopgap.errors import UsageError

OWN_SHARE = 0.57
"""Of what no smooth function explains, what differs even between neighbouring colours; so chosen
that three in four simulated pairs of one page below ΔE00 8 lie within their own doubt."""
ASIDE = 0.35
"""How far another hand's layer lies beside the line from the paper, as a share of along it."""
_SCALE = 50.0
_TO_RGB = np.linalg.inv(RGB_TO_D50_XYZ)


class DeviceClass(StrEnum):
    """What took the pictures, and by which light where that matters."""

    FLATBED = "flatbed"
    FLATBED_LED = "flatbed-led"
    PHONE_DAYLIGHT = "phone by daylight"
    PHONE_LED = "phone by LED light"
    PHONE_FLUORESCENT = "phone by fluorescent light"
    PHONE_TUNGSTEN = "phone by tungsten light"

    @property
    def flatbed(self) -> bool:
        """Whether the page lay on glass."""
        return self in (DeviceClass.FLATBED, DeviceClass.FLATBED_LED)


LIGHTS = {
    "daylight": DeviceClass.PHONE_DAYLIGHT,
    "led": DeviceClass.PHONE_LED,
    "fluorescent": DeviceClass.PHONE_FLUORESCENT,
    "tungsten": DeviceClass.PHONE_TUNGSTEN,
}
"""What a phone's picture is by, by the word of its light."""

DEVICES = ("flatbed", "flatbed-led", "phone")


def device_class(device: str, light: str | None = None) -> DeviceClass:
    """The class of a device of DEVICES by a light of LIGHTS, daylight where none is stated.

    Raises
    ------
    UsageError
        For other words.
    """
    if device not in DEVICES:
        raise UsageError(f"{device!r} is not one of {', '.join(DEVICES)}.", argument="device")
    if light is not None and light not in LIGHTS:
        raise UsageError(f"{light!r} is not one of {', '.join(LIGHTS)}.", argument="light")
    return LIGHTS[light or "daylight"] if device == "phone" else DeviceClass(device)


class Prior(NamedTuple):
    """What is expected of a class of devices before anything is known of the one.

    Weights (3p,) are `mean` plus `factors` (k, 3p) times independent standard normals. `misfit`
    (6,) says what no weights explain, as squares of ΔE00 by `places`.
    """

    mean: Floats
    factors: Floats
    misfit: Floats


@lru_cache(maxsize=8)
def prior_of(kind: DeviceClass) -> Prior:
    """The prior of a class; made by `tests/scanning/make_prior.py`."""
    text = resources.files("stopgap.scanning").joinpath("prior.json").read_text(encoding="utf-8")
    row = json.loads(text)[kind]
    return Prior(np.array(row["mean"]), np.array(row["factors"]), np.array(row["misfit"]))


def balanced_lab(ratio: Floats, paper: Floats) -> Floats:
    """L*, a*, b* (..., 3) of shares (..., 3) of the light of a paper, whose Lab (3,) is known."""
    white = lab_to_xyz(paper) / 100.0 @ _TO_RGB.T
    return xyz_to_lab(100.0 * (ratio * white) @ RGB_TO_D50_XYZ.T)


def features(lab: Floats, paper: Floats) -> Floats:
    """(n, 18) of lightness, a, b and chroma C from the paper, per 50.

    Themselves, their products in pairs, L cubed and the cubes of a and b; C times C, which is
    a a + b b, is not repeated.
    """
    L, a, b = ((lab - paper) / _SCALE).T
    C = np.hypot(a, b)
    pairs = (L * L, L * a, L * b, L * C, a * a, a * b, b * b, a * C, b * C)
    cubes = (L * L * L, a * a * a, a * a * b, a * b * b, b * b * b)
    return np.column_stack([L, a, b, C, *pairs, *cubes])


def places(lab: Floats, paper: Floats) -> Floats:
    """(n, 6) by which misfit differs: everywhere, dark (squared), red, green, yellow, blue.

    Sensors and eyes part most over greens, where the curves of an eye overlap as no filters do.
    """
    L, a, b = ((lab - paper) / _SCALE).T
    sides = (np.maximum(side, 0.0) for side in (a, -a, b, -b))
    return np.column_stack([np.ones_like(L), L * L, *sides])


class Correction(NamedTuple):
    """What is added to a balanced reading, and how sure that is.

    `weights` (3p,), and `factors` (k, 3p) whose rows span their covariance, as in `Prior`.
    """

    paper: Floats
    weights: Floats
    factors: Floats
    misfit: Floats

    def corrected(self, lab: Floats) -> Floats:
        """L*, a*, b* (n, 3) of balanced readings (n, 3)."""
        return np.asarray(lab + _applied(features(lab, self.paper), self.weights))

    def shared(self, lab: Floats) -> Floats:
        """The uncertainty (n,) that readings of the device share, root mean square ΔE00.

        To what the weights leave open belongs what neighbouring colours are got wrong alike.
        """
        moved = self.moved(lab)
        open_still = np.einsum("kni,nij,knj->n", moved, metric_tensor(as_lab(lab)), moved)
        alike = (1.0 - OWN_SHARE**2) * self.unexplained(lab) ** 2
        return np.asarray(np.sqrt(open_still + alike))

    def moved(self, lab: Floats) -> Floats:
        """By how much each of the factors moves readings, Lab (k, n, 3)."""
        return np.stack([_applied(features(lab, self.paper), row) for row in self.factors])

    def own(self, lab: Floats) -> Floats:
        """The uncertainty (n,) of a reading by itself, root mean square ΔE00."""
        return OWN_SHARE * self.unexplained(lab)

    def unexplained(self, lab: Floats) -> Floats:
        """What no weights explain (n,), ΔE00."""
        return np.asarray(np.sqrt(places(lab, self.paper) @ self.misfit))


def expected(prior: Prior, paper: Floats) -> Correction:
    """The correction where no pencil's colour is known."""
    return Correction(paper, prior.mean, prior.factors, prior.misfit)


def _applied(terms: Floats, weights: Floats) -> Floats:
    return np.asarray(terms @ weights.reshape(terms.shape[1], 3))


class Anchor(NamedTuple):
    """A pencil whose colour is known: `read` is the balanced reading of its box.

    `same_layer` where this very box was measured; else another hand or day laid it, so that it may
    lie anywhere along the line from the paper to the colour.
    """

    name: str
    read: tuple[float, float, float]
    known: tuple[float, float, float]
    uncertainty: float
    same_layer: bool


class FromAnchors(NamedTuple):
    """A correction learnt from anchors.

    `left_one_out` is the mean ΔE00 of each anchor as the others predict it, None below three;
    `doubted` are those that fit no others, codes swapped perhaps; they were not used. `used` is
    False where the anchors would have made it worse.
    """

    correction: Correction
    left_one_out: float | None
    doubted: tuple[str, ...]
    used: bool


def whitened(
    anchors: Sequence[Anchor], prior: Prior, paper: Floats, hand: float
) -> tuple[Floats, Floats, float]:
    """Design (3n, k) and target (3n,) of z, where weights are mean + factors' z; noise is 1.

    And the logarithm of the determinant of what whitened them.
    """
    read, known = (
        np.array([getattr(anchor, key) for anchor in anchors]) for key in ("read", "known")
    )
    terms, before = features(read, paper), expected(prior, paper)
    own = before.unexplained(known)
    even = np.array([anchor.uncertainty for anchor in anchors]) ** 2 + own**2 / 3.0
    noise = even[:, np.newaxis, np.newaxis] * np.linalg.inv(metric_tensor(known))
    away = known - paper
    spread = np.array([0.0 if anchor.same_layer else hand**2 for anchor in anchors])
    noise += spread[:, np.newaxis, np.newaxis] * away[:, :, np.newaxis] * away[:, np.newaxis]
    aside = spread * (ASIDE * np.linalg.norm(away, axis=1)) ** 2  # a film's path is bent
    noise += aside[:, np.newaxis, np.newaxis] * np.eye(3)
    white = np.linalg.inv(np.linalg.cholesky(noise))
    moved = np.moveaxis(before.moved(read), 0, -1)
    left = known - read - _applied(terms, prior.mean)
    return (
        (white @ moved).reshape(-1, len(prior.factors)),
        (white @ left[..., np.newaxis]).ravel(),
        float(np.log(np.linalg.det(white)).sum()),
    )
