"""README's pictures, drawn from the demo: `python .pictures/make_pictures.py [FOLDER]`."""

import sys
from collections.abc import Sequence
from io import BytesIO
from pathlib import Path

import matplotlib
import numpy as np
from PIL import Image

import stopgap
from stopgap.blends import families
from stopgap.blends.filing.boundaries import COLOUR_FAMILIES, family_fits
from stopgap.colorimetry import lab_to_srgb, within_optimal_solid
from stopgap.library import find_target
from stopgap.planner import LayerQuestion, estimated_conditions, find_stand_ins
from stopgap.reports.answers import recipe_words
from stopgap.reports.blocks import Chip
from stopgap.reports.drawing.charts import edition_chart
from stopgap.reports.drawing.drawing import Drawing
from stopgap.reports.drawing.touching import chip_plot
from stopgap.reports.wording import swatch_words
from stopgap.scanning import SHEETS, family_sections, lay_out_edition
from stopgap.swatches import Selection, Swatch

ASKED = "Fennmoor:Bottle Kelp Deep"
ON_THE_CHART = ("turquoises leaning blue", "turquoises leaning green", "vivid greens")

WHOLE, GREYS = 62, 15  # how far a* and b* reach
SLICES = ((90, WHOLE), (78, WHOLE), (64, WHOLE), (64, GREYS))
SLICES += ((50, WHOLE), (36, WHOLE), (24, WHOLE), (40, GREYS))
FINENESS = 301


def main(folder: Path, fineness: int = FINENESS) -> None:
    """Write the pictures into `folder`; `fineness` is the points along an axis of the map."""
    with stopgap.demo_library() as library:
        swatches = library.swatches()
    for name, drawing in (("stand_ins", stand_ins(swatches)), ("chart", chart(swatches))):
        (folder / f"{name}.svg").write_bytes(drawing.svg())
    (folder / "families.png").write_bytes(family_map(fineness))


def stand_ins(swatches: Sequence[Swatch]) -> Drawing:
    """A shade no longer made beside its nearest pencils and beside a recipe of two."""
    asked = find_target(ASKED, swatches)
    owned = Selection(owned=True).of(swatches)
    question = LayerQuestion(estimated_conditions(), owned)
    answer = find_stand_ins(asked, swatches, limit=3, layering=question)
    rows = [Chip((asked.lab,), f"asked for: {swatch_words(asked)}")]
    rows += [
        Chip(
            (asked.lab, match.swatch.lab),
            f"ΔE {match.delta_E:.1f}: {swatch_words(match.swatch)}, {match.words}",
        )
        for match in answer.matches
    ]
    recipe = answer.layers[0]
    words = "; ".join(recipe_words(recipe))
    return chip_plot([*rows, Chip((asked.lab, recipe.lab), f"ΔE {recipe.delta_E:.1f}: {words}")])


def chart(swatches: Sequence[Swatch]) -> Drawing:
    """A page to colour in."""
    found = [family for family in families(swatches) if family.name in ON_THE_CHART]
    edition = lay_out_edition("271828", family_sections(found), SHEETS["A4"])
    filed = {each.swatch.address: each for family in found for each in family.filed}
    return edition_chart(edition, filed, title="Fennmoor, Brindlewick, Quillet")


def family_map(fineness: int) -> bytes:
    """Where the families end: slices of the a*, b* plane, and two of the greys enlarged.

    Every colour is painted as itself as far as a screen can show it.
    """
    matplotlib.use("Agg")
    from matplotlib import pyplot

    figure, axes = pyplot.subplots(2, 4, figsize=(16, 8.4), layout="constrained")
    for place, (lightness, reach) in zip(axes.flat, SLICES, strict=True):
        axis = np.linspace(-reach, reach, fineness)
        a, b = np.meshgrid(axis, axis)
        lab = np.stack([np.full_like(a, lightness), a, b], axis=-1)
        filed = family_fits(lab).argmax(axis=-1)
        real = within_optimal_solid(lab.reshape(-1, 3)).reshape(a.shape)
        rgb = np.clip(lab_to_srgb(lab)[0].reshape(*a.shape, 3), 0.0, 1.0)
        rgb[~real] = 0.93
        place.imshow(rgb, origin="lower", extent=(-reach, reach, -reach, reach))
        ink = "black" if lightness > 55 else "white"
        for family in np.unique(filed[real]):
            inside = (filed == family) & real
            place.contour(axis, axis, inside, levels=[0.5], colors=ink, linewidths=0.8)
            if inside.mean() > 0.006:
                _name(place, COLOUR_FAMILIES[family], a[inside], b[inside], ink)
        place.set_title(f"L* = {lightness}")
        place.set_xlabel("a*")
        place.set_ylabel("b*")
    drawn = BytesIO()
    figure.savefig(drawn, dpi=60)
    pyplot.close(figure)
    small = BytesIO()
    Image.open(drawn).convert("RGB").quantize(96).save(small, "PNG", optimize=True)
    return small.getvalue()


def _name(place: object, name: str, a: np.ndarray, b: np.ndarray, ink: str) -> None:
    """Write a name at the point of its family that lies deepest inside the middle of it."""
    nearest = np.argmin((a - np.median(a)) ** 2 + (b - np.median(b)) ** 2)
    words = name.replace("turquoises leaning", "turquoises\nleaning").replace("-", "-\n")
    place.text(a[nearest], b[nearest], words, color=ink, fontsize=6.5, ha="center", va="center")


if __name__ == "__main__":
    main(Path(sys.argv[1]) if len(sys.argv) > 1 else Path(__file__).parent)
