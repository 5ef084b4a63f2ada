import pytest

from stopgap.swatches import (
    MeasurementConditions,
    MeasurementMode,
    differing_conditions,
    several_conditions,
    stated_conditions,
)

M1 = MeasurementConditions("D50", 2, mode=MeasurementMode.M1, geometry="45/0")


@pytest.mark.parametrize(
    ("change", "says"),
    [
        ({}, ()),
        ({"mode": MeasurementMode.M0}, ("mode M1, not M0",)),
        ({"mode": None, "geometry": ""}, ()),  # what is not stated contradicts nothing
        ({"date": "2026"}, ()),
        ({"geometry": "D/8", "observer": 10}, ("observer 2, not 10", "geometry 45/0, not D/8")),
    ],
)
def test_what_two_measurements_differ_in(change, says):
    assert differing_conditions(M1, M1._replace(**change)) == says


def test_what_varies_in_a_range():
    assert several_conditions([M1, M1]) == ()
    assert several_conditions([M1, M1, M1._replace(mode=None)]) == ("mode M1 (2), not stated (1)",)
    assert several_conditions([M1, M1._replace(illuminant="", observer=None)]) == ()
    assert several_conditions([M1, M1._replace(illuminant="D65")]) == (
        "illuminant D50 (1), D65 (1)",
    )
    assert several_conditions([]) == ()


def test_what_is_stated():
    assert stated_conditions(M1) == {
        "illuminant": "D50",
        "observer": "2",
        "mode": "M1",
        "geometry": "45/0",
    }
