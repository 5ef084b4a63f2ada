"""A colour target of the user's own: the same colours teach alike, however they are stated."""

import numpy as np
import pytest
from simulate import trials

from stopgap.errors import InputError, ProblemsInFile
from stopgap.library import read_patches
from stopgap.scanning.growth import place_of

pytestmark = pytest.mark.slow

KNOWN = 5


@pytest.fixture(scope="module")
def page():
    return trials.trial("phone, daylight", 104, pencils=15)


@pytest.fixture(scope="module")
def known(page):
    return trials.same_sheet(page, KNOWN, np.random.default_rng(3))


@pytest.fixture(scope="module")
def taught(page, known):
    return colours(trials.read(page, known))


def colours(reading):
    return {box.box.pencils[0]: box.heaviest.lab for box in reading.boxes}


def apart(one, other):
    """The differences (n, 3) of the boxes that both read."""
    return np.array([np.subtract(one[name], other[name]) for name in one.keys() & other.keys()])


def written(folder, heads, rows):
    path = folder / "patches.csv"
    path.write_text("\n".join([heads, *(",".join(map(str, row)) for row in rows)]), "utf-8")
    return path


def test_boxes_by_row_and_column_teach_as_their_pencils_do(page, known, taught, tmp_path):
    (sheet,) = page.edition.pages
    rows = [
        (*place_of(sheet, box), *known[box.pencils[0]].lab, 0.4)
        for box in sheet.boxes
        if box.pencils[0] in known
    ]
    target = read_patches(written(tmp_path, "row,column,L*,a*,b*,uncertainty", rows))
    reading = trials.read(page, target=target)
    assert (reading.calibration.method, reading.calibration.anchors) == ("anchors", KNOWN)
    found = colours(reading)
    assert set(found) == set(taught)
    assert np.abs(apart(found, taught)).max() < 1e-9


def test_patches_that_lie_on_the_page_teach_alike(page, known, taught, tmp_path):
    """Some boxes are taken off the chart, and what lies there is a target's patch."""
    (sheet,) = page.edition.pages
    rows = []
    for box in sheet.boxes:
        if box.pencils[0] in known:
            place = box.fields[0].place
            middle = (place.x + place.width / 2.0, place.y + place.height / 2.0)
            rows.append((1, *middle, place.height, *known[box.pencils[0]].lab, 0.4))
    target = read_patches(written(tmp_path, "page,across,down,size,L,a,b,uncertainty", rows))
    reading = trials.read(page, target=target)
    assert reading.calibration.anchors == KNOWN
    assert any(f"{KNOWN} boxes lie beneath" in note.text for note in reading.notes)
    found = colours(reading)
    assert set(found) == set(taught) - set(known)
    off = apart(found, taught)
    assert np.abs(off).max() < 1.5  # of each box a square in its middle was the patch
    before = apart(colours(trials.read(page)), taught)
    assert np.abs(off).mean() < 0.3 * np.abs(before).mean()


def test_patches_that_cannot_be_read_are_named(page, tmp_path):
    rows = [(-200, 20, 50, 0, 0), (105, 292, 90, 0, 0)]
    target = read_patches(written(tmp_path, "across,down,L,a,b", rows))
    reading = trials.read(page, target=target)
    (note,) = (note.text for note in reading.notes if "the target" in note.text)
    assert "patch 1 (out of the picture)" in note
    assert "patch 2" in note
    assert np.abs(apart(colours(reading), colours(trials.read(page)))).max() < 0.2
    away = [target[0]._replace(place=None, cell=(9, 1))]
    with pytest.raises(InputError, match="page 1 has no box 1 in row 9, which patch 1"):
        trials.read(page, target=away)


@pytest.mark.parametrize(
    ("heads", "row", "says"),
    [
        ("across,L,a,b", (10, 50, 0, 0), "across and down in millimetres"),
        ("across,down,row,column,hex", (1, 2, 3, 4, "#808080"), "or else row and column"),
        ("row,column,L,a,b", (1.5, 1, 50, 0, 0), "a whole number from 1 to 99"),
        ("row,column,L,a,b", (1, 1, 500, 0, 0), "a lightness from 0 to 100"),
        ("across,down,size,L,a,b", (10, 10, 2, 50, 0, 0), "a side of 4.5 to 100 mm"),
    ],
)
def test_what_is_no_target_is_refused(tmp_path, heads, row, says):
    with pytest.raises(ProblemsInFile) as caught:
        read_patches(written(tmp_path, heads, [row]))
    assert says in str(caught.value)
    with pytest.raises(InputError, match="no colour"):
        read_patches(written(tmp_path, "row,column", [(1, 1)]))
