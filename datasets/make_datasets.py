"""Write the invented pencil ranges and the illustrator's lists: `python make_datasets.py [FOLDER]`.

Everything follows from the recipes in `pencils.py`, the pigments in `pigments.py` and one seed, so
a second run writes the same bytes. Lab is integrated from the reflectance factors as they are
printed (400 to 700 nm by 10 nm, 4 decimals) by colour-science after ASTM E308, for CIE illuminant
D50 and the CIE 1931 2 degree observer, and is printed with 2 decimals.
"""

import csv
import sys
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import pencils
import scene
from layers import Layer, laid
from pigments import PAPER, PIGMENTS, WAVELENGTHS, Floats, parse_recipe

SEED = 20240611
READING_NOISE = 0.0008  # of a reflectance factor, one standard deviation
HAND = 0.04  # of the pigment in a layer, one standard deviation between two layers
PAPER_NAME = "Saltings cartridge"

Row = dict[str, str]


@dataclass(frozen=True)
class Line:
    """What the pencils of one range have in common; prices in shells."""

    name: str
    table: str
    code: str  # with a place for the number
    core: str
    price: float


LINES = (
    Line("Fennmoor", pencils.FENNMOOR, "FM{:03d}", "wax", 2.4),
    Line("Brindlewick", pencils.BRINDLEWICK, "BW{:02d}", "oil", 3.6),
    Line("Quillet", pencils.QUILLET, "Q{}", "water-soluble", 1.8),
)


@dataclass(frozen=True)
class Pencil:
    """One pencil: its place in the range, its recipe and what was measured on its swatch."""

    line: Line
    number: int
    name: str
    recipe: Mapping[str, float]
    mark: str
    reflectance: Floats

    @property
    def code(self) -> str:
        """The invented product code."""
        return self.line.code.format(self.number)

    @property
    def address(self) -> str:
        """`RANGE:CODE`."""
        return f"{self.line.name}:{self.code}"

    @property
    def finish(self) -> str:
        """Plain, metallic or fluorescent."""
        return self.mark if self.mark in ("metallic", "fluorescent") else "plain"

    @property
    def fastness(self) -> float:
        """That of the pigment that fades first; tints fade sooner than their masstone."""
        white = self.recipe.get("white", 0.0)
        worst = min(PIGMENTS[name].fastness for name, n in self.recipe.items() if n >= 0.02)
        return worst * (1.0 - 0.2 * white / (white + 1.0)) if worst < 1.0 else worst


def measured(layers: Sequence[Layer], rng: np.random.Generator) -> Floats:
    """One reading of a swatch as an instrument prints it."""
    noise = rng.normal(0.0, READING_NOISE, WAVELENGTHS.size)
    return np.asarray(np.round(np.maximum(laid(layers) + noise, 0.002), 4), dtype=np.float64)


def make_pencils() -> list[Pencil]:
    """All pencils of all ranges, read once."""
    found = []
    for stream, line in enumerate(LINES):
        rng = np.random.default_rng([SEED, stream])
        for number, entry in enumerate(line.table.strip().splitlines(), 1):
            name, recipe_text, *mark = (part.strip() for part in entry.split("|"))
            recipe = parse_recipe(recipe_text)
            reading = measured([(recipe, "heavy")], rng)
            found.append(Pencil(line, number, name, recipe, "".join(mark), reading))
    return found


def lab_of(reflectances: Iterable[Floats]) -> Floats:
    """CIE L*a*b*, D50, CIE 1931 2 degree observer, perfect diffuser at Y = 100; (n, 31) -> (n, 3).

    ASTM E308 by colour-science. Beyond the ends the last reading stands for the missing ones, as
    the practice has it; the white is the perfect diffuser summed in the same way.
    """
    import colour

    shape = colour.SpectralShape(360, 780, 1)
    observer = colour.MSDS_CMFS["CIE 1931 2 Degree Standard Observer"].copy().align(shape)
    d50 = colour.SDS_ILLUMINANTS["D50"].copy().align(shape)
    readings = np.vstack([np.ones_like(WAVELENGTHS), *reflectances])
    whole = np.pad(readings, ((0, 0), (4, 8)), mode="edge")
    spectra = colour.MultiSpectralDistributions(whole.T, colour.SpectralShape(360, 780, 10))
    XYZ = colour.msds_to_XYZ(spectra, cmfs=observer, illuminant=d50, method="ASTM E308") / 100.0
    lab = colour.XYZ_to_Lab(XYZ[1:], colour.XYZ_to_xy(XYZ[0]))
    return np.asarray(np.round(lab, 2) + 0.0, dtype=np.float64)  # no minus zero


def metadata(pencil: Pencil, rng: np.random.Generator) -> Row:
    """The columns about the pencil; `rng` decides prices, opinions and omissions."""
    rating = pencil.fastness + rng.normal(0.0, 0.04)
    price = pencil.line.price * (1.3 if pencil.finish != "plain" else 1.0 + 0.05 * rng.integers(4))
    opinion = int(np.clip(round(4.2 - pencil.recipe.get("white", 0.0) + rng.normal(0, 0.7)), 1, 5))
    return {
        "code": pencil.code,
        "name": pencil.name,
        "status": "discontinued" if pencil.mark == "discontinued" else "current",
        "owned": "yes" if f"{pencil.line.name}:{pencil.name}" in scene.OWNED else "no",
        "finish": pencil.finish,
        "core": pencil.line.core,
        "astm": ("V", "IV", "III", "II", "I")[int(np.searchsorted((0.3, 0.45, 0.6, 0.75), rating))],
        "bws": str(int(np.clip(round(8.0 * rating), 1, 8))),
        "rated": "yes" if rng.random() < 0.65 else "",
        "price": f"{0.05 * round(price / 0.05):.2f}",
        "laydown": str(opinion) if rng.random() < 0.4 else "",
        "uncertainty": "1.5" if pencil.finish != "plain" else "",
        "paper": PAPER_NAME,
        "note": scene.NOTES.get(f"{pencil.line.name}:{pencil.name}", ""),
        "tin": str(next(n for n in (12, 24, 36, 72, 120) if rng.random() < n / 120)),
        "tray": f"{'ABC'[(pencil.number - 1) // 24 % 3]}{(pencil.number - 1) % 24 + 1}",
    }


def three(lab: Floats) -> Row:
    return {axis: f"{value:.2f}" for axis, value in zip("Lab", lab, strict=True)}


def spectrum(reflectance: Floats) -> Row:
    return {f"nm{w:.0f}": f"{r:.4f}" for w, r in zip(WAVELENGTHS, reflectance, strict=True)}


def fennmoor_row(row: Row, lab: Floats, _reflectance: Floats) -> Row:
    """All columns, Lab, lightfastness on ASTM."""
    keep = ("status", "owned", "finish", "core")
    rest = ("price", "laydown", "uncertainty", "paper", "note", "tin")
    return (
        {key: row[key] for key in ("code", "name")}
        | three(lab)
        | {key: row[key] for key in keep}
        | {"lightfastness": row["astm"], "lightfastness_scale": "ASTM"}
        | {key: row[key] for key in rest}
    )


def brindlewick_row(row: Row, _lab: Floats, reflectance: Floats) -> Row:
    """Spectra instead of Lab, lightfastness on the blue wool scale."""
    rest = ("finish", "core", "price", "laydown", "tray")
    return (
        {key: row[key] for key in ("code", "name", "status")}
        | {"lightfastness": row["bws"], "lightfastness_scale": "BWS"}
        | {key: row[key] for key in rest}
        | spectrum(reflectance)
    )


def quillet_row(row: Row, lab: Floats, _reflectance: Floats) -> Row:
    """Few columns, decimal comma, some never rated."""
    rating = {"Lightfastness": "", "Lightfastness_Scale": ""}
    if row["rated"]:
        rating = {"Lightfastness": row["astm"], "Lightfastness_Scale": "ASTM"}
    numbers = {key: text.replace(".", ",") for key, text in three(lab).items()}
    return (
        {"Code": row["code"], "Name": row["name"]}
        | numbers
        | {"Finish": row["finish"], "Core": row["core"]}
        | rating
        | {"Price": row["price"].replace(".", ","), "Note": row["note"]}
    )


DIALECTS = (
    (fennmoor_row, ",", "utf-8"),
    (brindlewick_row, ",", "utf-8"),
    (quillet_row, ";", "utf-8-sig"),  # as office programs write "CSV UTF-8"
)


def layered_rows(
    pairs: Sequence[scene.Pair], by_name: Mapping[str, Pencil], stream: int
) -> list[Row]:
    """Swatches of two pencils each, read like any other; the hand is never quite the same."""
    rng = np.random.default_rng([SEED, stream])

    def by_hand(name: str, pressure: str) -> Layer:
        uneven = 1.0 + rng.normal(0.0, HAND)
        return {part: n * uneven for part, n in by_name[name].recipe.items()}, pressure

    readings = [
        measured([by_hand(first, pressure), by_hand(second, over)], rng)
        for first, second, pressure, over in pairs
    ]
    return [
        {
            "first": by_name[first].address,
            "second": by_name[second].address,
            "first_pressure": pressure,
            "second_pressure": over,
        }
        | three(lab)
        for (first, second, pressure, over), lab in zip(pairs, lab_of(readings), strict=True)
    ]


def write(path: Path, rows: Sequence[Row], delimiter: str = ",", encoding: str = "utf-8") -> None:
    with path.open("w", encoding=encoding, newline="") as stream:
        table = csv.DictWriter(stream, list(rows[0]), delimiter=delimiter, lineterminator="\n")
        table.writeheader()
        table.writerows(rows)


def make(folder: Path) -> None:
    """Write every file into `folder`, which must exist."""
    all_pencils = make_pencils()
    by_name = {f"{pencil.line.name}:{pencil.name}": pencil for pencil in all_pencils}
    labs = lab_of(pencil.reflectance for pencil in all_pencils)
    for stream, (line, (row_of, *dialect)) in enumerate(zip(LINES, DIALECTS, strict=True)):
        rng = np.random.default_rng([SEED, 10 + stream])
        rows = [
            row_of(metadata(pencil, rng), lab, pencil.reflectance)
            for pencil, lab in zip(all_pencils, labs, strict=True)
            if pencil.line is line
        ]
        write(folder / f"{line.name.lower()}.csv", rows, *dialect)

    def address(target: str) -> str:
        return by_name[target].address if target in by_name else target

    write(folder / "owned.csv", [{"colour": address(target)} for target in scene.OWNED])
    write(
        folder / "lesson.csv",
        [
            {"colour": target if by_label else address(target), "label": label, "weight": weight}
            for target, label, weight, by_label in scene.LESSON
        ],
    )
    write(
        folder / "blends.csv",
        [
            {"name": name, "from": address(start), "to": address(end), "step": step}
            for name, start, end, step in scene.BLENDS
        ],
    )
    write(folder / "layered.csv", layered_rows(scene.LAYERED, by_name, 20))
    write(folder / "layered_held_out.csv", layered_rows(scene.HELD_OUT, by_name, 21))
    paper = np.round(PAPER, 4)
    write(
        folder / "paper.csv",
        [{"name": PAPER_NAME} | three(lab_of([paper])[0]) | spectrum(paper)],
    )


if __name__ == "__main__":
    make(Path(sys.argv[1]) if len(sys.argv) > 1 else Path(__file__).parent)
