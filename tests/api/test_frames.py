"""Pencils to frames and back: nothing is lost, and a frame is read as a range file is."""

import math

import numpy as np
import pandas
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

import stopgap
from stopgap.errors import InputError, ProblemsInFile, StopgapError
from stopgap.swatches import (
    FIELDS,
    NO_COLOUR,
    Core,
    Finish,
    Lightfastness,
    LightfastnessScale,
    Pressure,
    Source,
    Stock,
)


@pytest.fixture(scope="module")
def swatches(demo_library):
    with stopgap.open_library(demo_library, read_only=True) as library:
        return library.swatches()


def test_the_demo_comes_back_as_it_was(swatches):
    frame = stopgap.to_frame(swatches)
    assert len(frame) == 240
    assert stopgap.from_frame(frame) == swatches
    shuffled = frame.sample(frac=1.0, random_state=1)
    assert [one.address for one in stopgap.from_frame(shuffled)] == [
        f"{row['range']}:{row['code']}" for _, row in shuffled.iterrows()
    ]


def test_columns_are_what_they_hold(swatches):
    frame = stopgap.to_frame(swatches)
    assert list(frame.columns[:3]) == ["range", "source", "code"]
    assert frame[["L", "a", "b"]].to_numpy().tolist() == [list(one.lab) for one in swatches]
    assert frame["owned"].dtype == bool
    assert frame["owned"].tolist() == [one.owned for one in swatches]


TEXT = st.text("abcÄé,; '\"=01<", max_size=8).map(str.strip)
PENCIL = st.builds(
    stopgap.Swatch,
    range=st.sampled_from(["One", "Two"]),
    code=st.integers(1, 10**6).map(str),
    lab=st.tuples(st.floats(0, 100), st.floats(-120, 120), st.floats(-120, 120))
    | st.just(NO_COLOUR),
    name=TEXT.filter(lambda text: text[:1] not in ("'", "=")),
    owned=st.booleans(),
    finish=st.sampled_from(Finish),
    core=st.sampled_from(Core) | st.none(),
    lightfastness=st.builds(Lightfastness, st.just(LightfastnessScale.BWS), st.integers(1, 8))
    | st.none(),
    price=st.floats(0, 1e6) | st.none(),
    laydown=st.integers(1, 5) | st.none(),
    stock=st.sampled_from(Stock) | st.none(),
    pressure=st.sampled_from(Pressure),
    passes=st.integers(1, 99),
    uncertainty=st.floats(0, 100),
    shared_uncertainty=st.floats(0, 100),
    source=st.sampled_from(Source),
)


@settings(deadline=None, max_examples=30)
@given(st.lists(PENCIL, min_size=1, max_size=5, unique_by=lambda one: one.code))
def test_any_pencils_come_back(pencils):
    """All of the table of fields; a name has no colour to have a source."""
    again = stopgap.from_frame(stopgap.to_frame(pencils))
    assert [one.range for one in again] == [one.range for one in pencils]
    for one, other in zip(pencils, again, strict=True):
        kept = FIELDS.keys() if one.coloured else FIELDS.keys() - {"lab", "source"}
        assert {name: getattr(other, name) for name in kept} == {
            name: getattr(one, name) for name in kept
        }


def test_a_frame_of_ones_own_is_read_as_a_range_file():
    frame = pandas.DataFrame({"code": [1, 2], "hex": ["#ff0000", None], "price": [1.5, np.nan]})
    first, second = stopgap.from_frame(frame)
    assert (first.range, first.code, first.price) == ("colours", "1", 1.5)
    assert first.lab == pytest.approx(stopgap.target("#ff0000").lab)
    assert math.isnan(second.lab[0])
    with pytest.raises(ProblemsInFile, match="row 2, column price"):
        stopgap.from_frame(frame.assign(price=["1", "dear"]))
    with pytest.raises(InputError, match="code"):
        stopgap.from_frame(frame[["hex"]])
    with pytest.raises(InputError, match="source: expected one of measured"):
        stopgap.from_frame(frame.assign(source="guessed"))


def test_colours_in_stand_ins_out(swatches):
    frame = pandas.DataFrame({"label": ["sky", "sand"], "colour": ["#7f9a8c", "lab(80 2 20)"]})
    found = stopgap.translate(frame, swatches, layers=False)
    out = stopgap.to_frame(found)
    assert out["label"].tolist() == ["sky", "sand"]
    assert out["delta_E"].tolist() == [row.delta_E for row in found.rows]
    plain = pandas.DataFrame([list(stopgap.target("#7f9a8c").lab)], columns=["L", "a", "b"])
    again = stopgap.translate(plain, swatches, layers=False)
    assert again.rows[0].given == found.rows[0].given
    with pytest.raises(InputError, match="expected a column colour"):
        stopgap.translate(pandas.DataFrame({"x": [1]}), swatches)


def test_blends_and_weights_come_as_frames(swatches):
    blends = pandas.DataFrame(
        {"from": ["FM113"], "to": ["FM112"], "step": [15.0], "by_lightness": ["yes"]}
    )
    found = stopgap.gaps(swatches, blends, layers=False)
    assert (found.blends[0].name, found.blends[0].limit) == ("blend 1", 15.0)
    frame = pandas.DataFrame({"colour": ["#7f9a8c", "#c04a2b"], "weight": [2.5, np.nan]})
    rows = stopgap.translate(frame, swatches, layers=False).rows
    assert [row.asked.weight for row in rows] == [2.5, 1.0]
    for wrong in (
        {"step": ["far"]},
        {"by_lightness": ["perhaps"]},
        {"to": ["no such"]},
        {"to": [None]},
    ):
        with pytest.raises(StopgapError):
            stopgap.gaps(swatches, blends.assign(**wrong), layers=False)
    with pytest.raises(InputError, match="weight: expected a number"):
        stopgap.translate(frame.assign(weight="much"), swatches, layers=False)
    with pytest.raises(InputError, match="expected the columns from and to"):
        stopgap.gaps(swatches, blends[["to"]], layers=False)
