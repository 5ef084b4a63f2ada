"""A printed chart as a value: marks that check themselves, boxes that do not touch."""

import json
from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from stopgap.errors import InputError, UsageError
from stopgap.scanning import SPARE, BoxSection, grow, lay_out_edition
from stopgap.swatches import Edition, Mark, Rectangle, mark_places
from stopgap.swatches.edition import check_digit

A4, LETTER = (210.0, 297.0), (215.9, 279.4)


def own(name, count, page):
    """A family of an arrangement, its pencils numbered."""
    pencils = [(f"{name}:{number}",) for number in range(count)]
    return BoxSection(name, pencils, page, own_spare=True)


ARRANGED = (own("reds", 12, "warm"), own("browns", 26, "warm"), own("blues", 5, "cool"))


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
@pytest.mark.parametrize("arranged", [False, True])
def test_nothing_lies_on_anything_else(size, anchors, arranged):
    more = {"anchors": anchors, "thirds": {"Fennmoor:FM003"}}
    laid = lay_out_edition("1", ARRANGED, size, **more) if arranged else edition(size=size, **more)
    for page in laid.pages:
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
    fuller = laid.with_spare("Quillet:Q1", SPARE)
    before = [(page.number, box.outline) for page, box in laid.boxes()]
    assert [(page.number, box.outline) for page, box in fuller.boxes()] == before
    assert sum(box.pencils == ("Quillet:Q1",) for _, box in fuller.boxes()) == 1
    assert edition(spare_rows=0).with_spare("Quillet:Q1", SPARE) is None


@pytest.mark.parametrize("sections", [(), ARRANGED])
def test_what_is_kept_is_the_same_again(sections):
    laid = edition(anchors=("Fennmoor:FM001",), thirds={"Fennmoor:FM003"})
    if sections:
        laid = lay_out_edition("1", sections, A4)
        assert [page.section for page in laid.pages] == ["warm", "warm", "cool"]
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


families = st.lists(
    st.tuples(st.integers(1, 45), st.sampled_from(["warm", "cool"])), min_size=1, max_size=9
)


def arranged(sizes):
    """Families of those sizes, those of a section behind each other."""
    ordered = sorted(enumerate(sizes), key=lambda one: one[1][1])
    return [own(f"F{at}", count, section) for at, (count, section) in ordered]


def free(laid, words):
    """How many spare boxes stand under a heading."""
    return sum(box.spare and page.words_above(box) == words for page, box in laid.boxes())


def rows_of(page, words):
    boxes = [box for box in page.boxes if page.words_above(box) == words]
    return len({box.outline.y for box in boxes})


@settings(derandomize=True, deadline=None, max_examples=30)
@given(families)
def test_a_family_of_ones_own_is_whole_where_a_page_can_hold_it(sizes):
    """Eight rows of 26 mm and one heading fill an A4 page: (297 - 23 - 40 - 8.5) / 26."""
    sections = arranged(sizes)
    laid = lay_out_edition("1", sections, A4)
    for section in sections:
        pages = [page for page in laid.pages if rows_of(page, section.words)]
        assert {page.section for page in pages} == {section.page}
        boxes = [b for page in pages for b in page.boxes if page.words_above(b) == section.words]
        assert [box.pencils for box in boxes if not box.spare] == list(section.pencils)
        assert 1 <= sum(box.spare for box in boxes) <= 5
        assert all(box.spare for box in boxes[len(section.pencils) :])
        rows = len(boxes) // 5
        assert len(pages) == 1 if rows <= 8 else rows_of(pages[0], section.words) <= 8
    shown = [page.section for page in laid.pages]
    assert sum(one != other for one, other in pairwise(shown)) == len(set(shown)) - 1


@settings(derandomize=True, deadline=None, max_examples=30)
@given(families, st.lists(st.lists(st.integers(0, 400), max_size=12), min_size=1, max_size=4))
def test_new_pencils_of_a_family_go_to_its_spare_boxes_and_nothing_printed_moves(sizes, rounds):
    """Whatever comes, wherever it stands in its family, and whatever new family there is."""
    sections = arranged(sizes)
    laid = lay_out_edition("1", sections, A4)
    for number, comers in enumerate(rounds):
        for at, place in enumerate(comers):
            which = place % (len(sections) + 1)
            if which == len(sections):
                sections.append(BoxSection(f"new {number}", [], "cool", own_spare=True))
            pencils = list(sections[which].pencils)
            pencils.insert(place % (len(pencils) + 1), (f"late:{number}.{at}",))
            sections[which] = sections[which]._replace(pencils=pencils)
        spare = {s.words: free(laid, s.words) for s in sections}
        growth = grow(laid, sections)
        for before, after in zip(laid.pages, growth.edition.pages, strict=False):
            assert (after.number, after.headings) == (before.number, before.headings)
            assert (after.section, after.blanks) == (before.section, before.blanks)
            for old, new in zip(before.boxes, after.boxes, strict=True):
                assert (new.outline, new.fields) == (old.outline, old.fields)
                assert old.spare or new == old
        found = {}
        for page, box in growth.edition.boxes():
            if box.pencils:
                assert box.pencils not in found
                found[box.pencils] = page.words_above(box)
        assert found == {one: s.words for s in sections for one in s.pencils}
        supplement = {box.pencils for page in growth.pages for box in page.boxes}
        for section in sections:
            late = [one for one in section.pencils if one in supplement]
            placed = sum(found[(one.pencil,)] == section.words for one in growth.placed)
            assert placed == min(spare[section.words], placed + len(late))
        laid = growth.edition
