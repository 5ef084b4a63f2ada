"""Pencils without a colour: kept by code and name, told apart, and waiting for their colour."""

import json
import math
from dataclasses import replace

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from jsonschema import Draft202012Validator
from whole_ranges import ranges

from stopgap.errors import InputError, NothingFoundError
from stopgap.library import (
    Convention,
    Entry,
    EntryKind,
    decide_owned,
    edit_swatch,
    export_range,
    find_target,
    held,
    import_range,
    keep_edition,
    keep_scan,
    open_library,
    propose_range,
    read_range,
    stored_editions,
)
from stopgap.planner import ground_of
from stopgap.reports.schemas import answer_schema
from stopgap.swatches import (
    NO_COLOUR,
    Edition,
    MeasurementConditions,
    Pressure,
    Source,
    Status,
    Swatch,
)

NAMES = "code,name,owned,price,status\n001,Kelp,yes,2.5,\n002,Wrack,no,,discontinued\n"
COLOURS = "code,name,L,a,b\n001,Kelp,40,-10,20\n002,Wrack,50,5,5\n003,Foam,95,0,2\n"


def draft(folder, text, name="Shore"):
    (folder / "range.csv").write_text(text, encoding="utf-8")
    return read_range(folder / "range.csv", name, Convention("D50", 2))


@pytest.fixture
def library(tmp_path):
    with open_library(tmp_path / "library") as opened:
        import_range(opened, draft(tmp_path, NAMES))
        yield opened


def by_code(library):
    return {pencil.first.code: pencil for pencil in library.pencils()}


def test_a_code_and_a_name_are_enough(library):
    kelp, wrack = library.names()
    assert (kelp.name, kelp.owned, kelp.price, kelp.coloured) == ("Kelp", True, 2.5, False)
    assert wrack.status is Status.DISCONTINUED
    assert library.swatches() == ()
    assert all(map(math.isnan, kelp.lab))
    assert library.colour_range("Shore").names == (kelp, wrack)
    assert decide_owned(library, ["Shore:2"], owned=True) == (1, 0, ())
    assert all(swatch.owned for swatch in library.names())
    assert library.undo() == "own Shore:002"
    assert library.names() == (kelp, wrack)


def test_what_bears_a_name_is_told_from_what_nobody_knows(library):
    known = ground_of(library).known
    with pytest.raises(NothingFoundError, match=r"Shore:001 \(Kelp\) has no colour yet") as told:
        find_target("kelp", known)
    assert told.value.details["pencil"] == "Shore 001"
    with pytest.raises(NothingFoundError, match="None of Shore:001"):
        find_target("Shore", known)


def test_a_file_that_brings_colours_keeps_what_was_decided(library, tmp_path):
    decide_owned(library, ["Shore:2"], owned=True)
    (wrack,) = (swatch for swatch in library.names() if swatch.code == "002")
    edit_swatch(library, wrack, {"price": 3.0})
    done = import_range(library, draft(tmp_path, COLOURS), renew=True)
    assert (done.added, done.changed) == (("003",), ("001", "002"))
    found = {swatch.code: swatch for swatch in library.swatches()}
    assert (found["002"].lab, found["002"].price, found["002"].owned) == ((50, 5, 5), 3.0, True)
    assert library.names() == ()
    library.undo()
    assert [swatch.code for swatch in library.names()] == ["001", "002"]


def test_a_file_of_names_takes_no_colour_away(library, tmp_path):
    import_range(library, draft(tmp_path, COLOURS + "004,Sand,80,1,9\n"), renew=True)
    before = by_code(library)
    after = "code,name,price\n001,Kelp green,4\n002,Wrack,\n003,Foam,\n004,Sand,\n"
    done = import_range(library, draft(tmp_path, after), renew=True)
    assert done.changed == ("001",)
    found = by_code(library)
    assert found["001"].first == replace(before["001"].first, name="Kelp green", price=4.0)
    assert {code: pencil.swatches for code, pencil in found.items() if code != "001"} == {
        code: pencil.swatches for code, pencil in before.items() if code != "001"
    }


def test_the_first_swatch_takes_the_place_of_a_name(library):
    light = Swatch("Shore", "001", (70.0, -5.0, 9.0), pressure=Pressure.LIGHT)
    library.add_swatch(light, Entry(EntryKind.LAB, light.lab), new_range=False, what="adding")
    (pencil,) = (pencil for pencil in library.pencils() if pencil.first.code == "001")
    assert [(each.pressure, each.lab) for each in pencil.swatches] == [(Pressure.LIGHT, light.lab)]
    assert (pencil.first.name, pencil.first.price, pencil.first.owned) == ("Kelp", 2.5, True)
    again = replace(light, lab=NO_COLOUR)
    with pytest.raises(InputError, match="exists already"):
        library.add_swatch(again, Entry(EntryKind.NOTHING), new_range=False, what="adding")


def test_a_colour_set_by_hand_over_a_name_stays_beside_another(library):
    kelp = library.names()[0]
    edit_swatch(library, kelp, {"lab": (40.0, 1.0, 2.0)})
    assert library.swatches()[0].lab == (40.0, 1.0, 2.0)
    light = Swatch("Shore", "001", (70.0, -5.0, 9.0), pressure=Pressure.LIGHT)
    library.add_swatch(light, Entry(EntryKind.LAB, light.lab), new_range=False, what="adding")
    first, second = by_code(library)["001"].swatches
    assert (first.lab, second.lab) == ((40.0, 1.0, 2.0), light.lab)
    assert not edit_swatch(library, first, {}, as_imported=True)  # it is a swatch, no decision
    assert library.swatches()[0].lab == (40.0, 1.0, 2.0)


def test_a_scan_lands_on_a_name_and_a_later_one_in_its_place(library):
    edition = keep_edition(library, Edition("000000", (210.0, 297.0), ()))
    read = [
        Swatch(
            *("Shore", "001", (float(30 + 20 * place), 1.0, 2.0)),
            source=Source.SCANNED,
            pressure=pressure,
            measurement=MeasurementConditions(instrument=f"flatbed, edition {edition.number}"),
        )
        for place, pressure in enumerate(reversed(Pressure))
    ]
    for turn in range(3):
        now = [replace(each, lab=(each.lab[0] + turn, 1.0, 2.0)) for each in reversed(read)]
        keep_scan(library, edition, now)
        swatches = by_code(library)["001"].swatches
        assert {each.pressure: each.lab[0] - turn for each in swatches} == {
            Pressure.HEAVY: 30.0,
            Pressure.MEDIUM: 50.0,
            Pressure.LIGHT: 70.0,
        }
        assert swatches[0].pressure is Pressure.HEAVY
    assert [swatch.code for swatch in library.names()] == ["002"]


def test_rows_without_a_colour_among_others(tmp_path):
    text = (
        "code,name,L,a,b,pressure\n1,Kelp,40,0,0,\n2,Wrack,,,,\n3,Foam,,,,\n3,Foam,95,0,2,light\n"
    )
    found = draft(tmp_path, text)
    assert [(swatch.code, swatch.coloured) for swatch, _ in found.swatches] == [
        *(("1", True), ("2", False), ("3", True))
    ]
    with open_library(tmp_path / "shore.db") as library:
        report = import_range(library, found)
    assert any("1 pencil has no colour yet" in note.text for note in report.notes)
    with pytest.raises(InputError, match="row 2"):  # half a colour is none
        draft(tmp_path, "code,L,a,b\n1,40,,\n")
    repeats = "code,L,a,b\n1,40,0,0\n1,41,0,0\n2,,,\n"
    (tmp_path / "r.csv").write_text(repeats, encoding="utf-8")
    merged = read_range(tmp_path / "r.csv", "Shore", Convention("D50", 2), repeats=True)
    assert [swatch.coloured for swatch, _ in merged.swatches] == [True, False]


def test_names_alone_are_no_guess_unless_a_column_may_be_a_colour(tmp_path):
    path = tmp_path / "names.csv"
    path.write_text(NAMES, encoding="utf-8")
    proposal = propose_range(path, "Shore", Convention())
    assert proposal.findings == ()
    assert proposal.draft.swatches == read_range(path, "Shore", Convention()).swatches
    path.write_text("code,name,tone\n1,Kelp,7\n2,Wrack,8\n", encoding="utf-8")
    (guess,) = propose_range(path, "Shore", Convention()).findings
    assert "land by name alone; kept as texts: 'tone'" in guess.text
    path.write_text("Kelp brown\nDeep wrack\nPale foam\n", encoding="utf-8")
    proposal = propose_range(path, "Shore", Convention())
    assert [each.name for each, _ in proposal.draft.swatches] == [
        *("Kelp brown", "Deep wrack", "Pale foam")
    ]
    assert proposal.findings  # a sheet that nothing heads is a guess


@pytest.mark.parametrize("form", ["CSV", "XLSX", "CGATS", "CxF"])
@settings(
    max_examples=15, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
@given(swatches=ranges(), data=st.data())
def test_names_come_back_from_the_formats_that_hold_them(form, swatches, data, tmp_path):
    known = {"source": Source.MEASURED} | {"measurement": MeasurementConditions("D50", 2)}
    told = []
    for swatch in swatches:
        name = data.draw(st.booleans())
        bare = {"lab": NO_COLOUR, "source": Source.TYPED, "measurement": MeasurementConditions()}
        plain = {"reflectance": None, "readings": None, "covariance": None}
        told.append(replace(swatch, **(bare | plain)) if name else replace(swatch, **known))
    if form in ("CSV", "XLSX") and told:
        path = tmp_path / "range"
        path.write_bytes(export_range(told, form))
        back = read_range(path, "Fen", Convention("D50", 2, Source.MEASURED))
        assert [swatch for swatch, _ in back.swatches] == told
    elif any(swatch.coloured for swatch in told):
        assert held(told, form) == [swatch for swatch in told if swatch.coloured]
    elif told:
        with pytest.raises(NothingFoundError, match="holds nothing else"):
            held(told, form)


def lab_of(out):
    return [each["swatch"]["lab"] for each in json.loads(out)["swatches"]]


@pytest.fixture
def named(stopgap_run, tmp_path):
    """The runner on a library of three names and one colour."""
    (tmp_path / "names.csv").write_text(NAMES + "003,Foam,no,,\n", encoding="utf-8")
    assert stopgap_run("range", "import", tmp_path / "names.csv", "--name", "Shore")[0] == 0
    for code, hexa in (("S1", "#c04a2b"), ("S2", "#b8503a"), ("S3", "#30506a")):
        words = ("swatch", "add", "Singles", code, "--hex", hexa, "--owned", "--new-range")
        assert stopgap_run(*words)[0] == 0
    return stopgap_run


def test_the_lab_of_a_name_is_null(named):
    out = named("range", "show", "Shore", "--json")[1]
    assert lab_of(out) == [None] * 3
    assert json.loads(out)["swatches"][0]["swatches"] == []
    assert "no colour yet" in named("range", "show", "Shore")[1]
    assert named("family", "move", "Shore:Kelp", "wines")[0] == 0
    (family,) = json.loads(named("family", "wines", "--json")[1])["families"]
    swatch = family["swatches"][0]
    assert (swatch["swatch"]["code"], swatch["swatch"]["lab"], swatch["fit"]) == ("001", None, None)
    assert family["steps"] == []
    Draft202012Validator(answer_schema("family")).validate(
        json.loads(named("family", "wines", "--json")[1])
    )


def test_asking_for_a_name_is_status_3_and_says_how_to_give_it_a_colour(named):
    status, out, error = named("match", "Shore:Kelp")
    assert (status, out) == (3, "")
    assert error == (
        "stopgap: Shore:001 (Kelp) has no colour yet. Colour in its box of 'stopgap chart' and "
        "read it with 'stopgap scan', or say it: 'stopgap swatch edit Shore 001 --lab L a b' (or "
        "--hex).\n"
    )
    assert named("layer", "Singles:S1", "Kelp")[0] == 3
    assert named("swatch", "edit", "Shore", "001", "--hex", "#406030")[0] == 0
    assert named("match", "Shore:Kelp", "--no-layers")[0] == 0


@pytest.mark.parametrize(
    "words",
    [
        ("match", "#c04a2b", "--no-layers"),
        ("layer", "S1", "S2"),
        ("family",),
        ("blend", "S1", "S3", "--no-layers", "--any", "--step", 90),
        ("gaps", "--any", "--no-layers"),
        ("find", "orange"),
        ("table", "--from", "Singles", "--to", "Singles"),
    ],
    ids=lambda words: words[0],
)
def test_every_other_command_leaves_names_out_and_says_how_many(named, words):
    status, out, _ = named(*words)
    assert status == 0
    told = " ".join(out.split())
    count = 2 if words[0] in ("match", "blend", "gaps") else 3  # a discontinued one is not offered
    assert f"{count} pencils have no colour yet, so that nothing is answered with them." in told


def test_a_name_is_added_by_hand_and_drawn_on_a_chart(named, tmp_path):
    added = named("swatch", "add", "Shore", "004", "--name", "Ink", "--owned")
    assert added == (0, "Added Shore:004 (without a colour).\n", "")
    assert named("swatch", "add", "Shore", "004")[0] == 1
    assert named("chart", tmp_path / "c.svg", "--code-order", "--fields", "3")[0] == 0
    with open_library(named.library, read_only=True) as library:
        (edition,) = stored_editions(library)
    assert [box.pencils[0] for _, box in edition.boxes() if box.pencils] == [
        *("Shore:001", "Shore:002", "Shore:003", "Shore:004"),
        *("Singles:S1", "Singles:S2", "Singles:S3"),
    ]
