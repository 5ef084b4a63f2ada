"""A trial card: drawn, coloured in by a simulated hand, scanned, and learnt from."""

import json
import re

import numpy as np
import pytest
from simulate import devices, pages

from stopgap.difference import delta_E
from stopgap.library import open_library, stored_edition
from stopgap.library.store.editions import scanned_layers
from stopgap.scanning import FOLD, SHEETS, card_sections, new_edition
from stopgap.swatches import Pressure, Swatch

pytestmark = pytest.mark.slow

PAIR = ("Quillet:Q3", "Quillet:Q22")


@pytest.fixture
def desk(stopgap_run, demo_library, tmp_path, monkeypatch):
    """The runner on a copy of the demo, in a folder of its own."""
    monkeypatch.chdir(tmp_path)
    stopgap_run.library.write_bytes(demo_library.read_bytes())
    return stopgap_run


def drawn(desk, *words):
    """A chart drawn by the command, as the library keeps it."""
    status, out, error = desk("chart", "card.svg", *words)
    assert status == 0, error
    number = re.search(r"edition (\d{6})", out)[1]
    with open_library(desk.library, read_only=True) as library:
        return stored_edition(library, number)


def test_both_alone_both_orders_and_a_fold_at_three_pressures():
    one, other, third = (Swatch("Fen", code, (50.0, 0.0, 0.0)) for code in "123")
    edition = new_edition(card_sections([(one, other), (other, third)]), [one, other], SHEETS["A4"])
    (page,) = edition.pages
    there = [(box.pencils, page.words_above(box) == FOLD) for box in page.boxes if box.pencils]
    orders = [("Fen:1", "Fen:2"), ("Fen:2", "Fen:1")], [("Fen:2", "Fen:3"), ("Fen:3", "Fen:2")]
    assert there == [
        *((pencils, False) for pencils in [("Fen:1",), ("Fen:2",), *orders[0]]),
        *((pencils, True) for pencils in orders[0]),
        *((pencils, False) for pencils in [("Fen:3",), *orders[1]]),
        *((pencils, True) for pencils in orders[1]),
    ]
    for box in page.boxes:
        if box.pencils:
            assert [field.pressures[-1] for field in box.fields] == list(Pressure)
            below = {field.pressures[:-1] for field in box.fields}
            assert below == {(Pressure.MEDIUM,) * (len(box.pencils) - 1)}
    # folded, no box of another row lies beneath the line, and nothing is printed in a blank place
    for box in page.boxes:
        foot = box.outline.y + box.outline.height
        assert not any(blank.y < foot < blank.y + blank.height for blank in page.blanks)


def test_a_filled_card_is_read_and_teaches(desk, tmp_path):
    edition = drawn(desk, "--card", *PAIR)
    random = np.random.default_rng(19)
    device = devices.flatbed(random, profiled=True)
    painted = pages.paint(edition, 1, device, random)
    file, _ = pages.photograph(painted, device, pages.on_glass(edition, random), random)
    (tmp_path / "page.png").write_bytes(file)
    status, out, error = desk("scan", "page.png", "--device", "flatbed", "--json")
    assert status == 0, error
    boxes = edition.pages[0].boxes
    truth = {}
    for at, labs in painted.truth.items():
        for field, lab in zip(boxes[at].fields, labs, strict=True):
            truth.setdefault((boxes[at].pencils, field.pressures), lab)
    with open_library(desk.library, read_only=True) as library:
        layers = scanned_layers(library, edition)
    assert {(one.pencils, one.pressures) for one in layers} == {
        (pair, ("medium", str(pressure))) for pair in (PAIR, PAIR[::-1]) for pressure in Pressure
    }
    off = [
        float(delta_E(truth[one.pencils, tuple(map(Pressure, one.pressures))], one.lab))
        for one in layers
    ]
    assert np.mean(off) <= 2.0  # as flatbeds are read at all: test_learning's bars and a hand
    status, out, error = desk("calibrate", "--edition", edition.number, "--json")
    assert status == 0, error
    taught = json.loads(out)
    assert len(taught["before"]) == len(taught["after"]) >= len(layers)


def test_a_card_of_a_list_has_what_would_be_laid_for_it(desk, tmp_path):
    (tmp_path / "list.csv").write_text("colour\nFennmoor:FM055\n", encoding="utf-8")
    told = json.loads(desk("translate", "list.csv", "--json")[1])
    laid = [layer["swatch"] for layer in told["rows"][0]["given"]["layers"]]
    pair = tuple(f"{one['range']}:{one['code']}" for one in laid)
    edition = drawn(desk, "--card-list", "list.csv")
    assert pair in {box.pencils for box in edition.pages[0].boxes}
    (tmp_path / "own.csv").write_text("colour\nFennmoor:FM012\n", encoding="utf-8")
    assert desk("own", "Fennmoor:FM012")[0] == 0
    assert desk("chart", "none.svg", "--card-list", "own.csv")[0] == 3
