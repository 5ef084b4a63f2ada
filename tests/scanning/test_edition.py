"""A printed chart as a value: marks that check themselves, boxes that do not touch."""

import json

import pytest
from hypothesis import given
from hypothesis import strategies as st

from stopgap.errors import InputError, UsageError
from stopgap.scanning import BoxSection, lay_out_edition
from stopgap.swatches import Edition, Mark, Rectangle, mark_places
from stopgap.swatches.edition import check_digit

A4, LETTER = (210.0, 297.0), (215.9, 279.4)


def edition(pencils=70, size=A4, **more):
    codes = [(f"Fennmoor:FM{number:03d}",) for number in range(1, pencils + 1)]
    half = pencils // 2
    sections = [BoxSection("reds", codes[:half]), BoxSection("blues", codes[half:])]
    return lay_out_edition("204611", sections, size, **more)


def test_check_digit_of_the_standard():
    """ISO/IEC 7064:2003, MOD 11,10: 0794 becomes 07945, its own example; from memory."""
    assert check_digit("0794") == "5"


marks = st.builds(
    Mark, st.integers(0, 999999).map("{:06d}".format), st.integers(1, 99), st.integers(0, 3)
)


@given(marks)
def test_a_mark_is_ten_digits_and_reads_back(mark):
    assert len(mark.digits) == 10
    assert Mark.of(mark.digits) == mark


@given(marks, st.integers(0, 9), st.integers(1, 9))
def test_one_wrong_digit_is_noticed(mark, place, by):
    digits = list(mark.digits)
    digits[place] = str((int(digits[place]) + by) % 10)
    assert Mark.of("".join(digits)) is None


@pytest.mark.parametrize("text", ["", "12345", "12345678901", "١٢٣٤٥٦٧٨٩٠", "ABCDEFGHIJ"])
def test_other_symbols_are_no_marks(text):
    assert Mark.of(text) is None


def overlap(one: Rectangle, other: Rectangle) -> bool:
    return (
        one.x < other.x + other.width
        and other.x < one.x + one.width
        and one.y < other.y + other.height
        and other.y < one.y + one.height
    )


@pytest.mark.parametrize("size", [A4, LETTER])
@pytest.mark.parametrize("anchors", [(), ("Fennmoor:FM001", "Fennmoor:FM002")])
def test_nothing_lies_on_anything_else(size, anchors):
    for page in edition(size=size, anchors=anchors, thirds={"Fennmoor:FM003"}).pages:
        places = [box.outline for box in page.boxes] + list(mark_places(size))
        for at, place in enumerate(places):
            assert place.x >= 10.0
            assert place.y >= 10.0
            assert place.x + place.width <= size[0] - 10.0
            assert place.y + place.height <= size[1] - 10.0
            assert not any(overlap(place, other) for other in places[at + 1 :])
            assert not any(overlap(place, blank) for blank in page.blanks)


def test_every_pencil_has_one_box_and_every_page_the_anchors():
    laid = edition(anchors=("Fennmoor:FM001",), spare_rows=2)
    boxes = [box for _, box in laid.boxes()]
    assert sorted(box.pencils for box in boxes if not box.anchor and not box.spare) == sorted(
        (f"Fennmoor:FM{number:03d}",) for number in range(1, 71)
    )
    assert sum(box.spare for box in boxes) == 10
    for page in laid.pages:
        assert sum(box.anchor for box in page.boxes) == 1


def test_three_fields_are_each_ten_millimetres_wide():
    laid = edition(thirds={"Fennmoor:FM003"})
    (box,) = [box for _, box in laid.boxes() if box.pencils == ("Fennmoor:FM003",)]
    assert [field.pressures for field in box.fields] == [("light",), ("medium",), ("heavy",)]
    assert all(field.place.width >= 10.0 for field in box.fields)


def test_a_spare_box_is_given_away_and_nothing_moves():
    laid = edition(spare_rows=1)
    fuller = laid.with_spare("Quillet:Q1")
    before = [(page.number, box.outline) for page, box in laid.boxes()]
    assert [(page.number, box.outline) for page, box in fuller.boxes()] == before
    assert sum(box.pencils == ("Quillet:Q1",) for _, box in fuller.boxes()) == 1
    assert edition(spare_rows=0).with_spare("Quillet:Q1") is None


def test_what_is_kept_is_the_same_again():
    laid = edition(anchors=("Fennmoor:FM001",), thirds={"Fennmoor:FM003"})
    assert Edition.from_data(json.loads(json.dumps(laid.as_data()))) == laid


@pytest.mark.parametrize("lost", ["number", "size", "pages"])
def test_damaged_data_are_refused(lost):
    data = edition().as_data()
    del data[lost]
    with pytest.raises(InputError, match="damaged"):
        Edition.from_data(data)


def test_more_than_fits_is_refused():
    with pytest.raises(UsageError, match="known colour"):
        edition(anchors=[f"Quillet:Q{number}" for number in range(6)])
    with pytest.raises(UsageError, match="99 pages"):
        edition(pencils=4200)
