"""`scan` as it is typed: from a simulated flatbed's picture into the library and out again."""

import json
import re
from dataclasses import replace

import numpy as np
import pytest
from coloured import NUMBER, coloured_page
from jsonschema import Draft202012Validator
from simulate import devices, pages
from valid_html import faults_of

from stopgap.difference import delta_E
from stopgap.library import keep_edition, open_library, stored_edition, stored_editions
from stopgap.planner import ground_to_learn
from stopgap.planner.doubt import doubt_of
from stopgap.reports.schemas import answer_schema
from stopgap.swatches import Pressure, Source

pytestmark = pytest.mark.slow

ROWS = 12


@pytest.fixture(scope="module")
def scanned(tmp_path_factory, demo_library):
    """A range typed in, its chart painted with the demo's materials, and the picture of page 1."""
    folder = tmp_path_factory.mktemp("scanned")
    with open_library(demo_library, read_only=True) as library:
        demo = [each for each in library.swatches() if each.range == "Quillet"][:ROWS]
    lines = [f"{each.code},{each.name},#808080" for each in demo]
    (folder / "names.csv").write_text("code,name,hex\n" + "\n".join(lines), encoding="utf-8")
    return folder


@pytest.fixture
def desk(stopgap_run, scanned, tmp_path, monkeypatch):
    """The runner on a library with that range and its chart; a picture of it lies in the folder."""
    monkeypatch.chdir(tmp_path)
    done = stopgap_run("range", "import", scanned / "names.csv", "--name", "Quillet")
    assert done[0] == 0, done
    kept = scanned / "page.png"
    if not kept.exists():
        out = stopgap_run("chart", "c.svg", "--code-order", "--fields", "3", "--layers")[1]
        number = re.search(r"edition (\d{6})", out)[1]
        with open_library(stopgap_run.library, read_only=True) as library:
            edition = stored_edition(library, number)
        random = np.random.default_rng(15)
        device = devices.flatbed(random, profiled=True)
        painted = pages.paint(edition, 1, device, random)
        file, _ = pages.photograph(painted, device, pages.on_glass(edition, random), random)
        kept.write_bytes(file)
        boxes = edition.pages[0].boxes
        truth = {
            boxes[at].pencils[0]: [list(lab) for lab in labs]
            for at, labs in painted.truth.items()
            if len(boxes[at].pencils) == 1
        }
        (scanned / "truth.json").write_text(json.dumps(truth), encoding="utf-8")
        (scanned / "library").write_bytes(stopgap_run.library.read_bytes())
    stopgap_run.library.write_bytes((scanned / "library").read_bytes())
    (tmp_path / "page.png").write_bytes(kept.read_bytes())
    stopgap_run.truth = json.loads((scanned / "truth.json").read_text(encoding="utf-8"))
    return stopgap_run


def pencils(run, path=None):
    with open_library(path or run.library, read_only=True) as library:
        return {pencil.first.address: pencil for pencil in library.pencils()}


def test_from_paper_into_the_library(desk):
    """Every pencil's colour is that of its heavy field, near what an instrument reads of it."""
    status, out, error = desk("scan", "page.png", "--device", "flatbed", "--json")
    assert (status, error) == (0, "")
    answer = json.loads(out)
    Draft202012Validator(answer_schema("scan")).validate(answer)
    assert answer["stored"] == 3 * ROWS
    found = pencils(desk)
    for address, labs in desk.truth.items():
        pencil = found[address]
        colour = pencil.colour()
        assert colour.source is Source.SCANNED
        assert colour.pressure is Pressure.HEAVY
        assert colour.measurement.instrument.startswith("flatbed, profile simulated, ed")
        assert colour.shared_uncertainty > 0.0
        assert {each.pressure for each in pencil.swatches} == set(Pressure)
        assert pencil.first.source is Source.TYPED  # what was typed stays beneath
        assert labs
    off = [delta_E(found[each].colour().lab, labs[-1]) for each, labs in desk.truth.items()]
    assert np.mean(off) <= 1.6  # the bar of a flatbed with its profile is 1.3 over many pages
    assert desk("undo")[0] == 0
    assert all(len(pencil.swatches) == 1 for pencil in pencils(desk).values())


def test_what_is_read_lies_on_the_paper_of_its_chart(desk, monkeypatch):
    """Also when the paper has another name by then, unless another is asked for."""
    assert desk("paper", "add", "Kraft", "--colour", "lab(90 1 6)", "--grain", "rough")[0] == 0
    out = desk("chart", "kraft.svg", "--code-order", "--on", "kraft")
    assert out[0] == 0, out
    for words in (["--on", "Cream", "x.svg"], ["--on", "Kraft", "--edition", "1", "x.svg"]):
        assert desk("chart", *words)[0] in (1, 2)
    with open_library(desk.library) as library:
        fresh = stored_edition(library, re.search(r"edition (\d{6})", out[1])[1])
        assert fresh.paper == "Kraft"
        (old,) = (one for one in stored_editions(library) if one.number != fresh.number)
        assert old.paper == ""
        keep_edition(library, replace(old, paper=fresh.paper))
    assert desk("paper", "edit", "Kraft", "--name", "Wrapping")[0] == 0
    assert desk("scan", "page.png")[0] == 0
    laid = {one.paper for each in pencils(desk).values() for one in each.swatches if one.paper}
    assert laid == {"Wrapping"}
    brighter = max(each.colour("Wrapping").lab[0] for each in pencils(desk).values())
    assert brighter < 92.0
    asked = []

    def learn(library, on, grain):
        asked.append(on)
        return ground_to_learn(library, on, grain)

    monkeypatch.setattr("stopgap.planner.ground_to_learn", learn)
    for words in ((), ("--on", "white")):
        desk("calibrate", "--edition", old.number, *words)
    assert asked == ["Wrapping", "white"]
    while "scan of" not in desk("undo")[1]:
        pass  # what was learnt
    assert desk("scan", "page.png", "--on", "white")[0] == 0
    assert not any(one.paper for each in pencils(desk).values() for one in each.swatches)


def test_a_second_scan_takes_the_place_of_the_first(desk):
    for _ in range(2):
        assert desk("scan", "page.png", "--device", "flatbed")[0] == 0
    assert all(len(pencil.swatches) == 4 for pencil in pencils(desk).values())


def test_the_same_scan_is_told_apart_better_than_two_ranges(desk):
    """Sigma within one scan is of the own parts alone."""
    assert desk("scan", "page.png", "--device", "flatbed")[0] == 0
    colours = {address: pencil.colour() for address, pencil in pencils(desk).items()}
    asked = next(iter(colours.values()))
    _, out, _ = desk("match", asked.address, "--json", "--no-layers")
    for match in json.loads(out)["matches"]:
        other = colours["Quillet:" + match["swatch"]["code"]]
        apart = [replace(each, shared_uncertainty=0.0) for each in (asked, other)]
        assert match["sigma"] == pytest.approx(doubt_of(apart[:1], apart[1:]).sigmas[0])
        assert other.shared_uncertainty > 0.0


def test_the_hand_is_learnt_from_the_same_paper(desk):
    """Light and medium fields and layers of the simulated hand; its loads are 0.35 and 0.65."""
    number = re.search(r"Edition (\d{6})", desk("scan", "page.png", "--device", "flatbed")[1])
    status, out, error = desk("calibrate", "--edition", number[1], "--json")
    assert (status, error) == (0, "")
    learnt = json.loads(out)
    assert len(learnt["after"]) == 2 * ROWS + 10
    assert sum(learnt["after"]) <= sum(learnt["before"])
    assert 0.2 < learnt["pressures"]["light"] < learnt["pressures"]["medium"] < 0.9
    assert desk("calibrate", "--edition", "000001")[0] == 3
    assert desk("calibrate", "layered.csv", "--edition", number[1])[0] == 2
    assert desk("undo")[0] == 0  # the calibration
    assert "scan of" in desk("undo")[1]
    status, _, error = desk("calibrate", "--edition", number[1])
    assert status == 3
    assert "was scanned" in error


def test_nothing_is_stored_on_trial_and_the_preview_shows_doubt_first(desk, demo_library, tmp_path):
    library = tmp_path / "demo.sqlite"
    library.write_bytes(demo_library.read_bytes())
    (tmp_path / "page.png").write_bytes(coloured_page(library, leave=("Q7",)))
    before = pencils(desk, library)
    arguments = ("scan", "page.png", "--dry-run", "--replace-measured", "--preview", "look.html")
    status, out, _ = desk(*arguments, library=library)
    assert status == 0
    assert "9 swatches would be stored; nothing was." in out
    assert pencils(desk, library) == before
    page = (tmp_path / "look.html").read_text(encoding="utf-8")
    assert "img-src data:" in page
    assert faults_of(page) == []
    assert page.count("<img ") == 10  # and none of the spare boxes, which are white
    assert page.index("To look at") < page.index("Q7") < page.index("<h2>Read</h2>")
    assert page.index("empty or white") < page.index("<h2>Read</h2>")
    assert desk(*arguments, library=library)[0] == 1  # never over a file


def test_what_is_worth_measuring_is_named_by_its_place(desk):
    """By lamps eight boxes are advised, each by page, row and box."""
    asked = ("scan", "page.png", "--device", "phone", "--light", "led", "--dry-run", "--json")
    answer = json.loads(desk(*asked)[1])
    advised = answer["calibration"]["to_measure"]
    assert len(set(advised)) == 8
    (note,) = (note for note in answer["notes"] if "instrument" in note)
    for box in answer["boxes"]:
        address = box["swatch"] and f"{box['swatch']['range']}:{box['swatch']['code']}"
        if address in advised:
            place = f"(page {box['page']}, row {box['row']}, box {box['column']})"
            assert f"{address} {place}" in note


def test_measured_colours_stay(demo, tmp_path):
    page = tmp_path / "page.png"
    page.write_bytes(coloured_page(demo.library, leave=("Q5",)))
    status, out, _ = demo("scan", page, "--json")
    answer = json.loads(out)
    assert (status, answer["stored"]) == (0, 0)
    reasons = [box["reason"] for box in answer["boxes"] if box["swatch"]]
    assert reasons.count("measured already") == 9
    assert reasons.count("empty or white") == 1
    assert "--replace-measured" in demo("scan", page)[1]
    status, out, _ = demo("scan", page, "--json", "--replace-measured")
    assert json.loads(out)["stored"] == 9


def test_all_pages_or_none(demo, tmp_path):
    page, other = tmp_path / "page.png", tmp_path / "other.jpg"
    page.write_bytes(coloured_page(demo.library))
    other.write_bytes(b"no picture")
    status, out, error = demo("scan", page, other, "--replace-measured")
    assert (status, out) == (1, "")
    assert "Nothing was stored." in error
    assert "other.jpg" in error
    assert len(error.strip().splitlines()) == 1
    assert f"edition {NUMBER}" in demo("undo")[1]  # of the chart: there is no scan to take back


def test_what_cannot_teach_is_refused(desk, tmp_path):
    status, out, error = desk("scan", "page.png", "--anchor", "Quillet:Q1")
    assert (status, out) == (1, "")
    assert "was not measured" in error
    assert "Quillet:Q1" in error
    (tmp_path / "later.csv").write_text("code,name\nN1,waits for its colour\n", encoding="utf-8")
    assert desk("range", "import", "later.csv", "--name", "Later")[0] == 0
    assert "was not measured" in desk("scan", "page.png", "--anchor", "Later:N1")[2]
    assert desk("scan")[0] == 2


def test_from_names_to_the_first_stand_in_without_typing_a_number(
    stopgap_run, demo_library, tmp_path, monkeypatch
):
    """A spreadsheet of codes and names: print, colour in, scan, ask."""
    monkeypatch.chdir(tmp_path)
    with open_library(demo_library, read_only=True) as library:
        demo = [each for each in library.swatches() if each.range == "Quillet"][:ROWS]
    lines = [f"{each.code},{each.name},yes" for each in demo]
    (tmp_path / "names.csv").write_text("\n".join(["code,name,owned", *lines]), encoding="utf-8")
    assert stopgap_run("range", "import", "names.csv", "--name", "Quillet")[0] == 0
    status, out, _ = stopgap_run("chart", "c.svg", "--code-order")
    assert status == 0
    with open_library(stopgap_run.library, read_only=True) as library:
        edition = stored_edition(library, re.search(r"edition (\d{6})", out)[1])
    assert [box.pencils[0] for _, box in edition.boxes() if box.pencils] == [
        each.address for each in demo
    ]
    random = np.random.default_rng(15)
    device = devices.flatbed(random, profiled=True)
    painted = pages.paint(edition, 1, device, random)
    file, _ = pages.photograph(painted, device, pages.on_glass(edition, random), random)
    (tmp_path / "page.png").write_bytes(file)
    assert stopgap_run("match", demo[0].address)[0] == 3
    status, out, _ = stopgap_run("scan", "page.png", "--device", "flatbed", "--json")
    answer = json.loads(out)
    Draft202012Validator(answer_schema("scan")).validate(answer)
    assert (status, answer["stored"]) == (0, ROWS)
    found = pencils(stopgap_run)
    assert all(len(pencil.swatches) == 1 and pencil.first.owned for pencil in found.values())
    assert [pencil.first.name for pencil in found.values()] == [each.name for each in demo]
    boxes = edition.pages[0].boxes
    truth = {boxes[at].pencils[0]: labs[-1] for at, labs in painted.truth.items()}
    off = [delta_E(found[address].first.lab, lab) for address, lab in truth.items()]
    assert np.mean(off) <= 1.6
    matches = json.loads(stopgap_run("match", demo[0].address, "--owned", "--json")[1])["matches"]
    assert matches[0]["swatch"]["lab"] is not None
    renewed = stopgap_run("range", "import", "names.csv", "--name", "Quillet", "--replace")
    assert renewed[0] == 0
    assert "no colour yet" not in renewed[1]  # what was scanned outlives the names
    assert pencils(stopgap_run).keys() == found.keys()
    assert [stopgap_run("undo")[0] for _ in range(2)] == [0, 0]
    assert stopgap_run("match", demo[0].address)[0] == 3
