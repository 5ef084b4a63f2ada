"""What a sensor behind a lamp makes of a spectrum, and what a device writes into its file.

A device sees R, G, B linearly (`raw`), makes display colours of them by a matrix fitted to smooth
spectra that are none of the pencils, and encodes them. Everything is seeded.
"""

import io
import struct
from dataclasses import dataclass, replace
from functools import cache

import numpy as np

from . import materials

W = materials.WAVELENGTHS
XYZ_TO_RGB = np.array(  # D50, Bradford; IEC 61966-2-1 and ICC.1:2022, as CSS Color 4 rounds it
    [
        [3.134136, -1.617386, -0.490663],
        [-0.978796, 1.916255, 0.033443],
        [0.071955, -0.228977, 1.405386],
    ]
)


@dataclass(frozen=True)
class Device:
    """A sensor and its processing.

    `seen` (wavelengths, 3) is sensor times lamp, 1 in sum for the perfect diffuser; `matrix` takes
    raw to linear RGB of sRGB; `profiled` writes raw values with a profile instead.
    """

    kind: str
    seen: np.ndarray
    matrix: np.ndarray
    profile_matrix: np.ndarray
    profiled: bool = False
    contrast: float = 0.0
    saturation: float = 1.0
    exposure: float = 0.95
    balance: tuple[float, float, float] = (1.0, 1.0, 1.0)
    gamma: float = 2.2

    def raw(self, reflectance: np.ndarray) -> np.ndarray:
        """Linear sensor values (..., 3) of reflectance (..., wavelengths)."""
        return reflectance @ self.seen

    def encode(self, raw: np.ndarray) -> np.ndarray:
        """Values from 0 to 1 as the file holds them, before they are rounded."""
        lit = raw * self.exposure
        if self.profiled:
            return np.clip(lit, 0.0, 1.0) ** (1.0 / self.gamma)
        rgb = lit @ self.matrix.T * np.asarray(self.balance)
        grey = rgb @ np.array([0.2126, 0.7152, 0.0722])
        rgb = np.clip(grey[..., None] + self.saturation * (rgb - grey[..., None]), 0.0, 1.0)
        coded = np.where(
            rgb <= 0.0031308, 12.92 * rgb, 1.055 * np.maximum(rgb, 1e-9) ** (1 / 2.4) - 0.055
        )
        return coded + self.contrast * coded * (1.0 - coded) * (coded - 0.45)

    def profile(self) -> bytes | None:
        """The ICC profile to embed, if there is one."""
        if not self.profiled:
            return None
        return matrix_profile(self.profile_matrix, self.gamma)


def gauss(centre: float, width: float) -> np.ndarray:
    return np.exp(-0.5 * ((W - centre) / width) ** 2)


@cache
def training_spectra(count: int = 300) -> np.ndarray:
    """Smooth reflectances (count, wavelengths) that are no pencils but dyes in general."""
    rng = np.random.default_rng(20261125)
    found = []
    for _ in range(count):
        absorption = rng.uniform(0.0, 0.3) + sum(
            rng.exponential(0.8) * gauss(rng.uniform(400, 700), rng.uniform(25, 80))
            for _ in range(rng.integers(1, 4))
        )
        if rng.random() < 0.4:
            absorption = absorption + rng.exponential(1.5) / (
                1.0 + np.exp((W - rng.uniform(460, 610)) / rng.uniform(8, 30))
            )
        found.append(0.9 * np.exp(-absorption))
    return np.array(found)


def fitted_matrix(seen: np.ndarray, target: np.ndarray, spectra: np.ndarray) -> np.ndarray:
    """Raw to `target` (n, 3) by least squares in relative terms, the white kept exactly.

    A little ridge keeps the matrices of overlapping sensors from blowing noise up.
    """
    raw = spectra @ seen
    weight = 1.0 / (target.mean(axis=1, keepdims=True) + 0.05)
    white_raw = seen.sum(axis=0)
    white = 0.01 * np.array([96.4212, 100.0, 82.5188])
    ridge = 0.5 * np.eye(3)
    anchored = np.vstack([raw * weight, 100.0 * white_raw, ridge])
    wanted = np.vstack([target * weight, 100.0 * white, np.zeros((3, 3))])
    return np.linalg.lstsq(anchored, wanted, rcond=None)[0].T


def device(
    kind: str,
    sensor: np.ndarray,
    lamp: np.ndarray,
    *,
    fit_lamp: np.ndarray | None = None,
    **more: object,
) -> Device:
    """A device whose matrix was fitted under `fit_lamp`, or under its own lamp."""
    from stopgap.colorimetry import reflectance_to_xyz

    spectra = training_spectra()
    xyz = reflectance_to_xyz(W, spectra) / 100.0
    fitted = normalised(sensor, lamp if fit_lamp is None else fit_lamp)
    profile = fitted_matrix(fitted, xyz, spectra)
    seen = normalised(sensor, lamp)
    return Device(kind, seen, XYZ_TO_RGB @ profile, profile, **more)


def normalised(sensor: np.ndarray, lamp: np.ndarray) -> np.ndarray:
    seen = sensor * lamp[:, None]
    return seen / seen.sum(axis=0)


def lamps() -> dict[str, list[np.ndarray]]:
    """CIE illuminants by the word of a light, on the grid of the materials."""
    import colour

    shape = colour.SpectralShape(400, 700, 10)
    names = {
        "daylight": ("D50", "D55", "D65", "D75"),
        "led": ("LED-B1", "LED-B2", "LED-B3", "LED-B4", "LED-V1"),
        "fluorescent": ("FL2", "FL7", "FL11", "FL3.4"),
        "tungsten": ("A",),
    }
    return {
        word: [_aligned(colour.SDS_ILLUMINANTS[name], shape) for name in listed]
        for word, listed in names.items()
    }


def _aligned(spectrum: object, shape: object) -> np.ndarray:
    """Means over 10 nm, so that lines between the steps count."""
    import colour

    fine = spectrum.copy().align(colour.SpectralShape(395, 705, 1)).values
    return np.array([fine[at : at + 11].mean() for at in range(0, 301, 10)])


def measured_cameras() -> list[np.ndarray]:
    """Sensitivities (wavelengths, 3) that others measured, as colour-science holds them."""
    import colour

    shape = colour.SpectralShape(400, 700, 10)
    return [
        np.clip(camera.copy().align(shape).values, 0.0, None)
        for camera in colour.MSDS_CAMERA_SENSITIVITIES.values()
    ]


def parametric_sensor(rng: np.random.Generator) -> np.ndarray:
    """A smooth sensor (wavelengths, 3): a Gaussian with a shoulder a channel; one in five broad.

    The broad ones are layers of silicon over each other, whose curves overlap far.
    """
    shift = rng.normal(0.0, 1.0, (3, 4))
    if rng.random() < 0.2:
        falling = 1.0 / (1.0 + np.exp((W - 500 - 12 * shift[0, 0]) / (28 + 4 * shift[0, 1])))
        middle = gauss(535 + 10 * shift[1, 0], 62 + 6 * shift[1, 1])
        long = gauss(595 + 12 * shift[2, 0], 62 + 6 * shift[2, 1])
        blocked = 1.0 / (1.0 + np.exp((W - 655 - 10 * shift[2, 2]) / 9.0))
        return np.column_stack([long, middle, falling * gauss(450, 70)]) * blocked[:, None]
    blue = gauss(455 + 7 * shift[0, 0], 27 + 4 * shift[0, 1])
    green = gauss(532 + 7 * shift[1, 0], 38 + 5 * shift[1, 1])
    red = gauss(603 + 8 * shift[2, 0], 30 + 5 * shift[2, 1])
    cut = 1.0 / (1.0 + np.exp((W - 660 - 10 * shift[2, 2]) / 9.0))
    leak = np.abs(shift[:, 3]) * 0.04 + 0.01
    return np.column_stack(
        [
            (red + leak[0] * green + 0.03 * blue) * cut,
            (green + leak[1] * red + leak[1] * blue) * cut,
            (blue + leak[2] * green) * cut,
        ]
    )


def flatbed(
    rng: np.random.Generator,
    *,
    profiled: bool,
    leds: bool = False,
    lamp: np.ndarray | None = None,
) -> Device:
    """A flatbed scanner: colour filters before a white lamp, or three LEDs in turn."""
    if leds:
        centres = (rng.normal(629, 4), rng.normal(524, 5), rng.normal(465, 4))
        widths = (rng.uniform(7, 10), rng.uniform(13, 18), rng.uniform(9, 13))
        sensor = np.column_stack([gauss(c, w) for c, w in zip(centres, widths, strict=True)])
        lamp = np.ones_like(W)
        kind = "flatbed-led"
    else:
        sensor = np.column_stack(
            [
                gauss(rng.normal(610, 5), rng.uniform(26, 32)),
                gauss(rng.normal(543, 4), rng.uniform(27, 33)),
                gauss(rng.normal(452, 4), rng.uniform(20, 26)),
            ]
        )
        white = 0.75 + 0.25 * gauss(rng.uniform(440, 620), 60)  # a xenon lamp, or mixed phosphors
        lamp = white if lamp is None else lamp
        kind = "flatbed"
    made = device(kind, sensor, lamp, exposure=rng.uniform(0.93, 0.99))
    if profiled:
        return replace(made, profiled=True)
    return replace(made, saturation=rng.uniform(0.98, 1.04), contrast=rng.uniform(-0.05, 0.05))


def phone(
    rng: np.random.Generator, sensor: np.ndarray, lamp: np.ndarray, fit_lamp: np.ndarray
) -> Device:
    """A phone: its matrix is for one daylight, its balance is not quite right, its tones are bent.

    `seen` is balanced on the lamp, as a phone does; the rest of the error is `balance`.
    """
    return device(
        "phone",
        sensor,
        lamp,
        fit_lamp=fit_lamp,
        exposure=rng.uniform(0.78, 0.92),
        balance=tuple(np.exp(rng.normal(0.0, 0.03, 3))),
        contrast=rng.uniform(0.0, 0.35),
        saturation=rng.uniform(1.0, 1.18),
    )


def matrix_profile(matrix: np.ndarray, gamma: float) -> bytes:
    """A display profile of three colorants and a power law: ICC.1:2022, clauses 7.2, 8.3, 10.6."""

    def fixed(value: float) -> bytes:
        return struct.pack(">i", round(value * 65536.0))

    def xyz(values: np.ndarray) -> bytes:
        return b"XYZ \0\0\0\0" + b"".join(fixed(float(value)) for value in values)

    curve = b"curv\0\0\0\0" + struct.pack(">IH", 1, round(gamma * 256.0)) + b"\0\0"
    text = b"simulated\0"
    description = b"desc\0\0\0\0" + struct.pack(">I", len(text)) + text + b"\0" * 78
    tags = {
        b"desc": description + b"\0" * (-len(description) % 4),
        b"cprt": b"text\0\0\0\0none\0\0\0\0",
        b"wtpt": xyz(np.array([0.9642, 1.0, 0.8249])),
        b"rXYZ": xyz(matrix[:, 0]),
        b"gXYZ": xyz(matrix[:, 1]),
        b"bXYZ": xyz(matrix[:, 2]),
        b"rTRC": curve,
        b"gTRC": curve,
        b"bTRC": curve,
    }
    at = 128 + 4 + 12 * len(tags)
    table, body = io.BytesIO(), io.BytesIO()
    table.write(struct.pack(">I", len(tags)))
    for name, data in tags.items():
        table.write(name + struct.pack(">II", at + body.tell(), len(data)))
        body.write(data)
    rest = table.getvalue() + body.getvalue()
    header = struct.pack(
        ">I4sI4s4s4s12s4s4sI4s4sQI",
        128 + len(rest),
        b"none",
        0x02400000,
        b"mntr",
        b"RGB ",
        b"XYZ ",
        struct.pack(">6H", 2026, 1, 1, 0, 0, 0),
        b"acsp",
        b"\0\0\0\0",
        0,
        b"\0\0\0\0",
        b"\0\0\0\0",
        0,
        0,
    )
    header += fixed(0.9642) + fixed(1.0) + fixed(0.8249)
    return header + b"\0" * (128 - len(header)) + rest
