"""What is said beside a recipe; trade practice, no source."""

from dataclasses import replace

import pytest

from stopgap.layering import PRESSURES, TOOTH, cautions, passes_held
from stopgap.swatches import Core, Finish, Lightfastness, LightfastnessScale, Swatch

RATED = Lightfastness(LightfastnessScale.ASTM, 1)
DARK = Swatch("Test", "dark", (25.0, 5.0, -30.0), lightfastness=RATED)
LIGHT = Swatch("Test", "light", (88.0, 0.0, 60.0), lightfastness=RATED)
ON_DRAWING = {"tooth": TOOTH["drawing"]}


def test_every_prediction_is_to_be_tried_and_nothing_else_is_said_without_cause():
    assert cautions([LIGHT, DARK], [0.65, 1.0], **ON_DRAWING) == (
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
    assert any("More colour than the tooth" in sentence for sentence in said) is too_much


def test_too_much_is_told_in_passes():
    said = cautions([LIGHT] * 3, [0.65, 0.65, 1.0], **ON_DRAWING)
    assert any("about 2 heavy passes, 3 medium or 5 light ones" in sentence for sentence in said)
    assert [passes_held(TOOTH["smooth"], load) for load in PRESSURES.values()] == [4, 2, 1]


def test_a_heavy_layer_beneath_burnishes_and_oil_slides_off_burnished_wax():
    wax, oil = (replace(DARK, code=str(core), core=core) for core in (Core.WAX, Core.OIL))
    assert "may slide" in cautions([LIGHT, DARK], [1.0, 0.35], **ON_DRAWING)[0]
    assert "oil over burnished wax" in cautions([wax, oil], [1.0, 0.35], **ON_DRAWING)[0]
    assert "oil over" not in "".join(cautions([oil, wax], [1.0, 0.35], **ON_DRAWING))
    assert "burnish" not in "".join(cautions([wax, oil], [0.65, 1.0], **ON_DRAWING))


def test_a_white_beneath_a_tint_and_a_white_that_burnishes_are_named():
    white = replace(LIGHT, code="white", lab=(96.0, 0.0, 2.0))
    first = cautions([white, DARK], [0.65, 1.0], **ON_DRAWING)
    assert any("Test:white first, a white beneath a tint" in sentence for sentence in first)
    last = cautions([DARK, white], [0.65, 1.0], **ON_DRAWING)
    assert any("Test:white heavy at the end burnishes" in sentence for sentence in last)
    assert not any("beneath a tint" in sentence for sentence in last)
    pressed = cautions([DARK, white], [0.65, 0.65], **ON_DRAWING)
    assert not any("burnish" in sentence for sentence in pressed)


def test_finishes_and_what_fades_soon():
    metallic = Swatch("Test", "m", (60.0, 0.0, 0.0), finish=Finish.METALLIC)
    neon = Swatch("Test", "n", (80.0, 60.0, 20.0), finish=Finish.FLUORESCENT, lightfastness=RATED)
    weak = replace(DARK, lightfastness=Lightfastness(LightfastnessScale.BWS, 3))
    said = cautions([metallic, neon], [0.3, 0.3], **ON_DRAWING)
    assert any("Test:m is metallic" in sentence for sentence in said)
    assert any("Test:n is fluorescent: it fades" in sentence for sentence in said)
    assert "Test:dark fades soon." in cautions([weak, LIGHT], [0.3, 0.3], **ON_DRAWING)
