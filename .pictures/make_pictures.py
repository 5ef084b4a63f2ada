"""README's pictures, drawn from the demo: `python .pictures/make_pictures.py [FOLDER]`."""

import sys
from collections.abc import Sequence
from pathlib import Path

import stopgap
from stopgap.blends import families
from stopgap.library.targets import find_target
from stopgap.planner import LayerQuestion, estimated_hand, find_stand_ins
from stopgap.reports.blocks import Chip
from stopgap.reports.charts import swatch_chart
from stopgap.reports.chip_plots import chip_plot
from stopgap.reports.drawing import Drawing
from stopgap.reports.layers import recipe_words
from stopgap.reports.words import swatch_words
from stopgap.swatches import Selection, Swatch

ASKED = "Fennmoor:Bottle Kelp Deep"
ON_THE_CHART = ("turquoises leaning blue", "turquoises leaning green", "vivid greens")


def main(folder: Path) -> None:
    """Write both pictures into `folder`."""
    with stopgap.demo_library() as library:
        swatches = library.swatches()
    for name, drawing in (("stand_ins", stand_ins(swatches)), ("chart", chart(swatches))):
        (folder / f"{name}.svg").write_bytes(drawing.svg())


def stand_ins(swatches: Sequence[Swatch]) -> Drawing:
    """A shade no longer made beside its nearest pencils and beside a recipe of two."""
    asked = find_target(ASKED, swatches)
    owned = Selection(owned=True).of(swatches)
    question = LayerQuestion(estimated_hand(), owned)
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
    return swatch_chart(found, title="Fennmoor, Brindlewick, Quillet")


if __name__ == "__main__":
    main(Path(sys.argv[1]) if len(sys.argv) > 1 else Path(__file__).parent)
