"""Stacks by what they say of themselves; the order of layers is physical, so it is never sorted."""

import pytest

from stopgap.swatches import LaidStack, Layer, Stack, Swatch

SLATE = Swatch("Shore", "7", (45.0, -1.0, -4.0))
GULL = Swatch("Shore", "2", (80.0, 0.0, 2.0))


def test_one_heavy_layer_is_the_pencil_itself() -> None:
    assert Stack.of(SLATE).single
    assert not Stack.of(SLATE, pressures=["light"]).single
    assert not Stack.of(SLATE, GULL).single


def test_order_of_layers_is_kept() -> None:
    stack = Stack.of(SLATE, GULL, pressures=["medium", "heavy"])
    assert stack == (Layer(SLATE, "medium"), Layer(GULL, "heavy"))
    assert stack.swatches == (SLATE, GULL)
    assert stack.pressures == ("medium", "heavy")
    assert stack.addresses == {"Shore:7", "Shore:2"}


def test_pencils_come_before_recipes_and_then_go_by_address() -> None:
    recipe, tint = Stack.of(GULL, SLATE), Stack.of(GULL, pressures=["light"])
    expected = [Stack.of(GULL), Stack.of(SLATE), tint, recipe]
    mixed = [recipe, Stack.of(SLATE), tint, Stack.of(GULL)]
    assert sorted(mixed, key=lambda stack: stack.key) == expected


def test_pressures_that_do_not_go_with_the_pencils_are_refused() -> None:
    with pytest.raises(ValueError, match="shorter"):
        Stack.of(SLATE, GULL, pressures=["light"])


def test_a_laid_stack_is_named_by_what_is_laid_and_sorted_pencils_first():
    one, two = Swatch("Shore", "1", (50.0, 0.0, 0.0)), Swatch("Shore", "2", (60.0, 0.0, 0.0))
    alone = LaidStack.of(two)
    both = LaidStack(Stack.of(one, two, pressures=["light", "medium"]), (45.0, 1.0, 2.0), 2.5)
    assert (alone.label, alone.recipe, alone.lab) == ("Shore:2", False, two.lab)
    assert alone.uncertainty == two.uncertainty
    assert (both.label, both.recipe) == ("Shore:1 light, then Shore:2 medium", True)
    assert sorted([both, alone], key=lambda laid: laid.key) == [alone, both]
