"""README's pictures, drawn from the demo: `python .pictures/make_pictures.py [FOLDER]`."""

import sys
from collections.abc import Sequence
from pathlib import Path

import stopgap
from stopgap.blends import families
from stopgap.library import find_target
from stopgap.planner import (
    LayerQuestion,
    estimated_conditions,
    find_holes,
    find_stand_ins,
)
from stopgap.reports.answers import recipe_words
from stopgap.reports.blocks import Chip
from stopgap.reports.colour_map import pictured
from stopgap.reports.drawing.charts import edition_chart
from stopgap.reports.drawing.drawing import Drawing
from stopgap.reports.drawing.touching import chip_plot, map_plot
from stopgap.reports.wording import swatch_words
from stopgap.scanning import SHEETS, family_sections, lay_out_edition
from stopgap.swatches import Selection, Swatch

ASKED = "Fennmoor:Bottle Kelp Grove"
ON_THE_CHART = ("turquoises leaning blue", "turquoises leaning green", "vivid greens")


def main(folder: Path) -> None:
    """Write the pictures into `folder`."""
    with stopgap.demo_library() as library:
        swatches = library.swatches()
    for draw in (stand_ins, holes, chart):
        (folder / f"{draw.__name__}.svg").write_bytes(draw(swatches).svg()[0])


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
            f"{match.grade}: {swatch_words(match.swatch)}, {match.words}",
        )
        for match in answer.matches
    ]
    recipe = answer.layers[0]
    words = "; ".join(recipe_words(recipe))
    return chip_plot(
        [*rows, Chip((asked.lab, recipe.lab), f"promised {recipe.promise.grade}: {words}")]
    )


def chart(swatches: Sequence[Swatch]) -> Drawing:
    """A page to colour in."""
    found = [family for family in families(swatches) if family.name in ON_THE_CHART]
    edition = lay_out_edition("271828", family_sections(found), SHEETS["A4"])
    filed = {each.swatch.address: each for family in found for each in family.filed}
    return edition_chart(edition, filed, title="Fennmoor, Brindlewick, Quillet")


def holes(swatches: Sequence[Swatch]) -> Drawing:
    """What the owned pencils reach in layers, and what would fill the worst holes."""
    found = find_holes(swatches, Selection(), layers=estimated_conditions())
    shown, lines = pictured(found, figures=False)
    return map_plot(shown, f"What {found.owned} pencils reach", lines)


if __name__ == "__main__":
    main(Path(sys.argv[1]) if len(sys.argv) > 1 else Path(__file__).parent)
