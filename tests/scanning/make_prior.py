"""Write what is expected of scanners and phones: `python make_prior.py [FILE]`, the same each time.

Devices are smooth parametric sensors behind CIE lamps, pencils those of the demo's generator at
random loads. Of each device the weights are fitted that best correct its paper-balanced readings;
their mean and the widest directions of their covariance are the prior of the class. Cameras that
others measured are kept for the tests.
"""

import json
import sys
from collections.abc import Callable
from pathlib import Path

import numpy as np

sys.path.append(str(Path(__file__).parent))

from scipy.optimize import minimize
from simulate import devices, materials

from stopgap.difference import metric_tensor
from stopgap.scanning.colour import DeviceClass, balanced_lab, features, places

SEED = 20261126
DEVICES = 240
KEPT = 16
RIDGE = 0.3
WIDER = {"flatbed": 0.9, "flatbed-led": 1.15, "phone": 1.7}
"""Standard deviations are taken wider than simulated: no real device is among the simulated, and
phones differ in more than their sensors."""
COVERED = {"flatbed": 61.0, "flatbed-led": 72.0, "phone": 68.0}
"""Per cent of what the weights leave over that lies within the misfit; a few devices go far off. So
chosen that of simulated pages 60 to 80 per cent lie within the whole doubt."""
OTHER_LAMPS = 0.25
"""Share of the flatbeds with colour filters whose lamp is a white LED or fluorescent."""
TABLE = Path(__file__).parents[2] / "src" / "stopgap" / "scanning" / "prior.json"

PAPER = materials.lab_of(materials.PAPER)


Maker = Callable[[np.random.Generator], devices.Device]


def makers() -> dict[DeviceClass, Maker]:
    lamps = devices.lamps()

    def flatbed(leds: bool) -> Callable[[np.random.Generator], devices.Device]:
        def make(rng: np.random.Generator) -> devices.Device:
            listed = [*lamps["led"], *lamps["fluorescent"]]
            lamp = listed[rng.integers(len(listed))] if rng.random() < OTHER_LAMPS else None
            return devices.flatbed(rng, profiled=rng.random() < 0.5, leds=leds, lamp=lamp)

        return make

    def phone(word: str) -> Callable[[np.random.Generator], devices.Device]:
        def make(rng: np.random.Generator) -> devices.Device:
            sensor = devices.parametric_sensor(rng)
            lamp = lamps[word][rng.integers(len(lamps[word]))]
            return devices.phone(rng, sensor, lamp, lamps["daylight"][rng.integers(4)])

        return make

    return {
        DeviceClass.FLATBED: flatbed(leds=False),
        DeviceClass.FLATBED_LED: flatbed(leds=True),
        DeviceClass.PHONE_DAYLIGHT: phone("daylight"),
        DeviceClass.PHONE_LED: phone("led"),
        DeviceClass.PHONE_FLUORESCENT: phone("fluorescent"),
        DeviceClass.PHONE_TUNGSTEN: phone("tungsten"),
    }


def reflectances(rng: np.random.Generator) -> np.ndarray:
    """Every plain pencil at a load of its own."""
    loads = np.exp(rng.normal(0.0, 0.3, len(materials.recipes())))
    return np.array(
        [
            [np.interp(load, materials.LOADS, column) for column in materials.by_load(name).T]
            for name, load in zip(materials.recipes(), loads, strict=True)
        ]
    )


def linear(device: devices.Device, reflectance: np.ndarray) -> np.ndarray:
    """What a file of the device says of flat fields, read by its profile."""
    coded = np.clip(device.encode(device.raw(reflectance)), 0.0, 1.0)
    if device.profiled:
        return (coded**device.gamma) @ (devices.XYZ_TO_RGB @ device.profile_matrix).T
    return np.where(coded <= 0.04045, coded / 12.92, ((coded + 0.055) / 1.055) ** 2.4)


def prior(kind: DeviceClass, make: Maker) -> dict[str, list]:
    """A row of the table."""
    stream = list(DeviceClass).index(kind)
    word = str(kind) if kind.flatbed else "phone"
    weights, left, at = [], [], []
    gram = 0.0
    for number in range(DEVICES):
        rng = np.random.default_rng([SEED, stream, number])
        device = make(rng)
        reflectance = reflectances(rng)
        known = materials.lab_of(reflectance)
        ratio = linear(device, reflectance) / linear(device, materials.PAPER[None])
        read = balanced_lab(ratio, PAPER)
        terms = features(read, PAPER)
        half = np.linalg.cholesky(metric_tensor(known)).transpose(0, 2, 1)
        design = np.einsum("nij,np->nipj", half, terms).reshape(3 * len(terms), -1)
        target = np.einsum("nij,nj->ni", half, known - read).ravel()
        normal = design.T @ design + RIDGE * np.eye(design.shape[1])
        fitted = np.linalg.solve(normal, design.T @ target)
        weights.append(fitted)
        gram = gram + design.T @ design / DEVICES / len(terms)
        left.append(((target - design @ fitted).reshape(-1, 3) ** 2).sum(axis=1))
        at.append(places(known, PAPER))
    mean = np.mean(weights, axis=0)
    half = np.linalg.cholesky(gram + 1e-9 * np.eye(len(gram))).T
    spread = WIDER[word] * (np.array(weights) - mean) @ half.T / np.sqrt(DEVICES - 1)
    _, size, directions = np.linalg.svd(spread, full_matrices=False)
    factors = np.linalg.solve(half, (size[:KEPT, None] * directions[:KEPT]).T).T
    squares = misfit(np.concatenate(at), np.concatenate(left))
    within = np.percentile(np.concatenate(left) / (np.concatenate(at) @ squares), COVERED[word])
    return {
        "mean": np.round(mean, 3).tolist(),
        "factors": np.round(factors, 3).tolist(),
        "misfit": np.round(within * squares, 3).tolist(),
    }


def misfit(at: np.ndarray, left: np.ndarray) -> np.ndarray:
    """Squares (6,) that make what is left over likeliest, after Laplace: a few go far off."""

    def unlikely(logarithms: np.ndarray) -> float:
        squares = at @ np.exp(logarithms)
        return float((0.5 * np.log(squares) + np.sqrt(2.0 * left / squares)).mean())

    return np.exp(minimize(unlikely, np.zeros(at.shape[1]), method="L-BFGS-B").x)


def make(path: Path) -> None:
    rows = {kind: prior(kind, maker) for kind, maker in makers().items()}
    lines = (f"{json.dumps(kind)}: {json.dumps(row)}" for kind, row in rows.items())
    path.write_text("{\n" + ",\n".join(lines) + "\n}\n", encoding="utf-8")


if __name__ == "__main__":
    make(Path(sys.argv[1]) if len(sys.argv) > 1 else TABLE)
