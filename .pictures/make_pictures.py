"""README's pictures, drawn from the demo: `python .pictures/make_pictures.py [FOLDER]`."""

import sys
from collections.abc import Sequence
from io import BytesIO
from pathlib import Path

import matplotlib
import numpy as np
from matplotlib.figure import Figure
from matplotlib.patches import Rectangle
from PIL import Image

import stopgap
from stopgap.blends import families
from stopgap.blends.filing.boundaries import COLOUR_FAMILIES, family_fits
from stopgap.colorimetry import lab_to_hexes, lab_to_srgb, within_optimal_solid
from stopgap.library import find_target
from stopgap.planner import LayerQuestion, estimated_conditions, find_stand_ins
from stopgap.reports.answers import recipe_words
from stopgap.reports.blocks import Chip
from stopgap.reports.drawing.charts import edition_chart
from stopgap.reports.drawing.drawing import MM, Drawing, Measure, drawing_style, fonts_for
from stopgap.reports.drawing.plots import GROUND, INK
from stopgap.reports.text import harmless, unstacked
from stopgap.reports.wording import swatch_words
from stopgap.scanning import SHEETS, family_sections, lay_out_edition
from stopgap.swatches import Selection, Swatch

ASKED = "Fennmoor:Bottle Kelp Deep"
ON_THE_CHART = ("turquoises leaning blue", "turquoises leaning green", "vivid greens")

WHOLE, GREYS = 62, 15  # how far a* and b* reach
SLICES = ((90, WHOLE), (78, WHOLE), (64, WHOLE), (64, GREYS))
SLICES += ((50, WHOLE), (36, WHOLE), (24, WHOLE), (40, GREYS))
FINENESS = 301

_PAGE, _CHIPS, _ROW, _AIR, _EDGE = 160.0, 62.0, 11.0, 3.0, 4.0  # mm


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


def chip_plot(rows: Sequence[Chip]) -> Drawing:
    """A row for each chip: its colours in equal shares, on a neutral grey ground, and its label."""
    labels = [unstacked(harmless(row.label, 160)) for row in rows]
    fonts, unshown = fonts_for(labels)
    height = len(rows) * (_ROW + _AIR) - _AIR + 2 * _EDGE
    with drawing_style(fonts):
        figure = Figure(figsize=(_PAGE * MM, height * MM))
        axes = figure.add_axes((0.0, 0.0, 1.0, 1.0))
        axes.set_axis_off()
        axes.set(xlim=(0.0, _PAGE), ylim=(height, 0.0))
        axes.add_patch(Rectangle((0.0, 0.0), _CHIPS + 2 * _EDGE, height, color=GROUND, linewidth=0))
        words = Measure(8.0)
        for place, (row, label) in enumerate(zip(rows, labels, strict=True)):
            y = _EDGE + place * (_ROW + _AIR)
            share = _CHIPS / len(row.labs)
            for column, colour in enumerate(lab_to_hexes(row.labs)):
                x = _EDGE + column * share
                axes.add_patch(Rectangle((x, y), share, _ROW, facecolor=colour, linewidth=0))
            lines = words.wrap(label, _PAGE - _CHIPS - 4 * _EDGE, 2)
            top = y + _ROW / 2.0 + 1.0 - 1.8 * (len(lines) - 1)
            for number, line in enumerate(lines):
                axes.text(
                    _CHIPS + 3 * _EDGE,
                    top + 3.6 * number,
                    line,
                    color=INK,
                    parse_math=False,
                )
    return Drawing((figure,), fonts, unshown)


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
