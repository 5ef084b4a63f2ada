"""Ways in strips: a label leaves no doubt about what is laid."""

from stopgap.planner import Way
from stopgap.reports.ways import way_labels
from stopgap.swatches import Swatch

ONE, OTHER = Swatch("Box", "1", (40.0, 20.0, 0.0)), Swatch("Box", "2", (70.0, -5.0, 30.0))


def laid(pressures, *pencils):
    return Way("some", (50.0, 0.0, 0.0), pencils, pressures=pressures)


def test_codes_alone_are_pencils_laid_as_in_their_swatch():
    assert way_labels([Way.of(ONE), laid(("light",), ONE), laid(("medium",), ONE)]) == [
        "1",
        "1 light",
        "1 medium",
    ]


def test_a_tint_is_told_from_the_pencil_even_where_it_is_alone():
    assert way_labels([laid(("light",), ONE)]) == ["1 light"]


def test_pressures_of_two_pencils_are_told_where_the_codes_come_twice():
    first, second = laid(("light", "heavy"), ONE, OTHER), laid(("heavy", "light"), ONE, OTHER)
    assert way_labels([first]) == ["1+2"]
    assert way_labels([first, first]) == ["1+2", "1+2"]
    assert way_labels([first, second]) == ["1+2 light, heavy", "1+2 heavy, light"]
