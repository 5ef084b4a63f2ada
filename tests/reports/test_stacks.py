"""Stacks in strips: a label leaves no doubt about what is laid."""

import pytest

from stopgap.reports.wording import range_marks, stack_labels
from stopgap.swatches import LaidStack, Stack, Swatch

ONE, OTHER = Swatch("Box", "1", (40.0, 20.0, 0.0)), Swatch("Box", "2", (70.0, -5.0, 30.0))


def laid(pressures, *pencils):
    return LaidStack(Stack.of(*pencils, pressures=pressures), (50.0, 0.0, 0.0))


def test_codes_alone_are_pencils_laid_as_in_their_swatch():
    assert stack_labels([LaidStack.of(ONE), laid(("light",), ONE), laid(("medium",), ONE)]) == [
        "1",
        "1 light",
        "1 medium",
    ]


def test_a_tint_is_told_from_the_pencil_even_where_it_is_alone():
    assert stack_labels([laid(("light",), ONE)]) == ["1 light"]


def test_pressures_of_two_pencils_are_told_where_the_codes_come_twice():
    first, second = laid(("light", "heavy"), ONE, OTHER), laid(("heavy", "light"), ONE, OTHER)
    assert stack_labels([first]) == ["1+2"]
    assert stack_labels([first, first]) == ["1+2", "1+2"]
    assert stack_labels([first, second]) == ["1+2 light, heavy", "1+2 heavy, light"]


@pytest.mark.parametrize(
    ("names", "marks"),
    [
        (["Fen"], [""]),
        (["Fen", "Quillet"], ["F·", "Q·"]),
        (["Fennmoor", "Fenwick"], ["Fenn·", "Fenw·"]),
        (["Sea A", "Sea B", "Sea B"], ["A·", "B·", "B·"]),
        (["Sea", "Sea B"], ["S·", "B·"]),
        (["Fen", "Fennmoor"], ["Fen·", "Fenn·"]),
        (["Sea of A", "Sea of B", "Fen"], ["S…A·", "S…B·", "F·"]),
        (["Sea of A", "Sea by A", "Fen"], ["S…o·", "S…b·", "F·"]),
        (
            ["Sea of A", "Sea of B", "Sun of A", "Sun of B"],
            [f"{a}{b}·" for a in ("Sea of ", "Sun of ") for b in "AB"],
        ),
    ],
)
def test_ranges_are_told_apart_by_the_shortest_beginning(names, marks):
    found = range_marks(names)
    assert [found[name] for name in names] == marks


def test_codes_of_several_ranges_bear_their_marks():
    one, other = Swatch("Fen", "40", (50, 0, 0)), Swatch("Quillet", "40", (60, 0, 0))
    assert stack_labels([LaidStack.of(one), LaidStack.of(other)]) == ["F·40", "Q·40"]
