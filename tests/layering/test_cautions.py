"""What is said beside a recipe; trade practice, no source."""

import pytest

from stopgap.layering import TOOTH, cautions
from stopgap.swatches import Finish, Lightfastness, LightfastnessScale, Swatch

RATED = Lightfastness(LightfastnessScale.ASTM, 1)
DARK = Swatch("Test", "dark", (25.0, 5.0, -30.0), lightfastness=RATED)
LIGHT = Swatch("Test", "light", (88.0, 0.0, 60.0), lightfastness=RATED)
ON_DRAWING = {"tooth": TOOTH["drawing"]}


def test_every_prediction_is_to_be_tried_and_nothing_else_is_said_without_cause():
    assert cautions([LIGHT, DARK], [1.0, 1.0], **ON_DRAWING) == (
        "A prediction: try it on a scrap of the same paper first.",
    )


def test_light_over_dark_must_cover():
    said = cautions([DARK, LIGHT], [0.3, 0.3], **ON_DRAWING)
    assert "Test:light is lighter than Test:dark beneath and would have to cover" in said[0]
    assert len(cautions([DARK, LIGHT], [0.3, 0.3], opacity=[0.0, 1.0], **ON_DRAWING)) == 1
    assert len(cautions([DARK, LIGHT], [0.3, 0.3], opacity=[1.0, 0.0], **ON_DRAWING)) == 2


@pytest.mark.parametrize(
    ("paper", "loads", "too_much"),
    [
        ("drawing", [1.0, 1.0], False),
        ("drawing", [1.0, 1.0, 0.35], True),
        ("smooth", [1.0, 0.65], True),
        ("smooth", [0.65, 0.65], False),
        ("rough", [1.0, 1.0, 0.35], False),
    ],
)
def test_the_tooth_holds_so_much(paper, loads, too_much):
    said = cautions([LIGHT, DARK, DARK][: len(loads)], loads, tooth=TOOTH[paper])
    assert any("tooth" in sentence for sentence in said) is too_much


def test_finishes_and_lightfastness():
    metallic = Swatch("Test", "m", (60.0, 0.0, 0.0), finish=Finish.METALLIC)
    neon = Swatch("Test", "n", (80.0, 60.0, 20.0), finish=Finish.FLUORESCENT, lightfastness=RATED)
    wool = Swatch("Test", "w", (30.0, 0.0, 0.0),
                  lightfastness=Lightfastness(LightfastnessScale.BWS, 7))  # fmt: skip
    said = cautions([metallic, neon], [0.3, 0.3], **ON_DRAWING)
    assert any("Test:m is metallic" in sentence for sentence in said)
    assert any("Test:n is fluorescent: it fades" in sentence for sentence in said)
    assert any("Lightfastness of Test:m is not known" in sentence for sentence in said)
    assert any("different scales" in s for s in cautions([neon, wool], [0.3, 0.3], **ON_DRAWING))
