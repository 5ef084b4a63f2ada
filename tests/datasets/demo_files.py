"""The demo files as rows and colours; colours are computed by colour-science, not by stopgap."""

import csv
from pathlib import Path

import colour
import numpy as np
import numpy.typing as npt

DATASETS = Path(__file__).parents[2] / "datasets"
RANGES = {"Fennmoor": ("FM{:03d}", 120), "Brindlewick": ("BW{:02d}", 72), "Quillet": ("Q{}", 48)}
FILES = {
    *("fennmoor.csv", "brindlewick.csv", "quillet.csv", "owned.csv", "lesson.csv", "blends.csv"),
    *("layered.csv", "layered_held_out.csv", "paper.csv"),
}
WAVELENGTHS = np.arange(400, 701, 10)
GRID = colour.SpectralShape(400, 700, 10)
SHAPE = colour.SpectralShape(360, 780, 1)
OBSERVER = colour.MSDS_CMFS["CIE 1931 2 Degree Standard Observer"].copy().align(SHAPE)
D50 = colour.SDS_ILLUMINANTS["D50"].copy().align(SHAPE)
D50_xy = colour.CCS_ILLUMINANTS["CIE 1931 2 Degree Standard Observer"]["D50"]

Row = dict[str, str]
Floats = npt.NDArray[np.float64]


def read(name: str, delimiter: str = ",") -> list[Row]:
    with (DATASETS / name).open(encoding="utf-8-sig", newline="") as stream:
        return list(csv.DictReader(stream, delimiter=delimiter))


def read_range(name: str) -> list[Row]:
    rows = read(f"{name.lower()}.csv", ";" if name == "Quillet" else ",")
    if name != "Quillet":
        return rows
    return [
        {key if key in "Lab" else key.lower(): row[key].replace(",", ".") for key in row}
        for row in rows
    ]


def reflectances(rows: list[Row]) -> Floats:
    return np.array([[float(row[f"nm{w}"]) for w in WAVELENGTHS] for row in rows])


def integrate(spectra: Floats) -> Floats:
    """Tristimulus values, one spectrum at a time, perfect diffuser at Y = 1 (ASTM E308)."""
    shape = colour.SpectralShape(360, 780, 10)
    whole = np.pad(spectra, ((0, 0), (4, 8)), mode="edge")  # the last reading for missing ones
    XYZ = [
        colour.sd_to_XYZ(colour.SpectralDistribution(spectrum, shape), OBSERVER, D50)
        for spectrum in whole
    ]
    return np.array(XYZ) / 100.0


def range_lab(name: str, rows: list[Row]) -> Floats:
    if name == "Brindlewick":
        return np.asarray(colour.XYZ_to_Lab(integrate(reflectances(rows)), D50_xy))
    return np.array([[float(row[axis]) for axis in "Lab"] for row in rows])


def addresses_of(target: str, pencils: dict[str, Row]) -> list[str]:
    """The pencils that `RANGE:CODE` or `RANGE:NAME` means."""
    name, _, rest = target.partition(":")
    return [
        address
        for address, row in pencils.items()
        if address.startswith(f"{name}:") and rest in (row["code"], row["name"])
    ]


def is_current_and_plain(row: Row) -> bool:
    return row["finish"] == "plain" and row.get("status", "current") == "current"


def delta_E(lab_1: Floats, lab_2: Floats) -> Floats:
    return np.asarray(colour.delta_E(lab_1, lab_2, method="CIE 2000"))


def hue(lab: Floats) -> Floats:
    return np.degrees(np.arctan2(lab[..., 2], lab[..., 1])) % 360.0


def between(angle: Floats, start: float, end: float) -> npt.NDArray[np.bool_]:
    return (angle - start) % 360.0 <= ((end - start) % 360.0 or 360.0)
