"""A pencil with several swatches: read, kept, renewed, edited, exported, taken back."""

import json
from dataclasses import replace

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from stopgap.errors import InputError, ProblemsInFile
from stopgap.library import (
    Convention,
    Entry,
    EntryKind,
    correct_range,
    edit_swatch,
    export_range,
    import_range,
    open_library,
    read_range,
    remove_further,
)
from stopgap.swatches import LaidState, Pressure, RangeCorrection, Source, Swatch, laid_key

pytestmark = pytest.mark.slow

MEASURED = Convention("D50", 2, Source.MEASURED)
HEADER = "code,name,L,a,b,pressure,passes,state,batch,paper,date,price,owned\n"
BOOK = """1,Wet Slate,45,0,0,medium,,,,,,2.5,
1,,40,0,0,,,,,,,,yes
1,,60,0,0,light,,,,,,,
1,,38,5,0,,,wetted,,,,,
1,,41,0,0,,,,,Tan,,,
2,Gull Wing,80,0,2,,,,,,,,
3,Foam,90,0,2,,,solvent,,,,,
"""


def draft(tmp_path, rows, name="Fen", **options):
    path = tmp_path / "range.csv"
    path.write_text(HEADER + rows, encoding="utf-8")
    return read_range(path, name, MEASURED, **options)


def laid(library, code="1"):
    """Of a pencil all that a swatch is, by how it was laid."""
    (pencil,) = [each for each in library.pencils() if each.first.code == code]
    return {laid_key(swatch): swatch for swatch in pencil.swatches}


@pytest.fixture
def library(tmp_path):
    with open_library(tmp_path / "library.sqlite") as opened:
        import_range(opened, draft(tmp_path, BOOK))
        yield opened


def test_rows_of_one_code_become_its_swatches(library):
    pencils = {pencil.first.code: pencil for pencil in library.pencils()}
    assert [len(pencil.swatches) for pencil in pencils.values()] == [5, 1, 1]
    colours = {swatch.code: swatch.lab[0] for swatch in library.swatches()}
    assert colours == {"1": 40.0, "2": 80.0}  # 3 was never swatched dry
    assert {s.code: s.lab[0] for s in library.swatches("tan")} == {"1": 41.0, "2": 80.0}
    for swatch in pencils["1"].swatches:  # what is known of the pencil is known of each
        assert (swatch.name, swatch.price, swatch.owned) == ("Wet Slate", 2.5, True)


def test_what_an_import_says_of_them(tmp_path):
    notes = [note.text for note in draft(tmp_path, BOOK).notes]
    assert "7 swatches of 3 pencils: 1 have several each." in notes
    assert any(note.startswith("Only wetted swatches") and ": 3." in note for note in notes)


def test_rows_laid_alike_are_an_error_or_readings(tmp_path):
    twice = BOOK + "1,,61,0,0,light,,,,,,,\n"
    with pytest.raises(ProblemsInFile) as refused:
        draft(tmp_path, twice)
    (problem,) = refused.value.problems
    assert (problem.row, problem.column) == (9, "code")
    taken = [swatch for swatch, _ in draft(tmp_path, twice, repeats=True).swatches]
    assert len(taken) == 7
    (light,) = [swatch for swatch in taken if swatch.pressure == "light"]
    assert (light.lab[0], light.readings.count) == (60.5, 2)


def test_a_date_parts_swatches_but_not_readings(tmp_path):
    dated = "1,,40,0,0,,,,,,2024-05-01,,\n1,,42,0,0,,,,,,2026-05-01,,\n"
    assert [swatch.lab[0] for swatch, _ in draft(tmp_path, dated).swatches] == [40.0, 42.0]
    (mean,) = draft(tmp_path, dated, repeats=True).swatches
    assert mean[0].lab[0] == 41.0


@pytest.mark.parametrize("form", ["CSV", "CGATS", "CxF"])
def test_all_of_them_are_written_and_read_again(library, tmp_path, form):
    found = library.colour_range("Fen")
    path = tmp_path / "again"
    path.write_bytes(export_range(found.every_swatch, form))
    again = read_range(path, "Fen", Convention(source=Source.MEASURED))
    assert [swatch for swatch, _ in again.swatches] == list(found.every_swatch)


def test_renaming_and_importing_again_keeps_every_swatch(library, tmp_path):
    before = laid(library)
    report = import_range(library, draft(tmp_path, BOOK), renew=True)
    assert (report.changed, report.unchanged, report.gone) == ((), 3, ())
    assert laid(library) == before
    renamed = BOOK.replace("Wet Slate", "Slate")
    report = import_range(library, draft(tmp_path, renamed), renew=True)
    assert (report.added, report.changed, report.gone) == ((), ("1",), ())
    after = laid(library)
    assert list(after) == list(before)
    assert {swatch.name for swatch in after.values()} == {"Slate"}
    assert [swatch.lab for swatch in after.values()] == [swatch.lab for swatch in before.values()]


def by_hand(library, **stated):
    swatch = replace(library.swatches()[0], **stated)
    library.add_swatch(swatch, Entry(EntryKind.LAB, swatch.lab), new_range=False, what="add")
    return laid_key(swatch)


def test_a_swatch_by_hand_outlives_a_new_file_and_those_of_the_old_one_go(library, tmp_path):
    key = by_hand(library, lab=(50.0, 1.0, 0.0), state=LaidState.BURNISHED)
    import_range(library, draft(tmp_path, "1,Wet Slate,39,0,0,,,,,,,,\n"), renew=True)
    left = laid(library)
    assert {swatch.lab[0] for swatch in left.values()} == {39.0, 50.0}
    with pytest.raises(InputError, match="swatched in the same way"):
        by_hand(library, lab=(50.0, 1.0, 0.0), state=LaidState.BURNISHED)
    # once the file has it, it is the file's, and there once
    burnished = "1,Wet Slate,39,0,0,,,,,,,,\n1,,52,0,0,,,burnished,,,,,\n"
    import_range(library, draft(tmp_path, burnished), renew=True)
    assert laid(library)[key].lab[0] == 52.0
    import_range(library, draft(tmp_path, "1,Wet Slate,39,0,0,,,,,,,,\n"), renew=True)
    assert key not in laid(library)


def test_a_pencil_by_hand_keeps_its_swatch_beside_those_of_a_file(library, tmp_path):
    hand = Swatch("Fen", "H", (33.0, 0.0, 0.0), "By hand", pressure=Pressure.MEDIUM)
    library.add_swatch(hand, Entry(EntryKind.LAB, hand.lab), new_range=False, what="add")
    for _ in range(2):
        rows = BOOK + "H,From the file,30,0,0,,,,,,,9,\n"
        report = import_range(library, draft(tmp_path, rows), renew=True)
        found = laid(library, "H")
        assert {swatch.lab[0] for swatch in found.values()} == {33.0, 30.0}
        assert {(s.name, s.price) for s in found.values()} == {("From the file", 9.0)}
    assert report.changed == ()


def test_what_the_user_decides_of_a_pencil_holds_for_all_and_of_a_swatch_for_its_first(library):
    (pencil, *_) = library.pencils()
    assert pencil.first.lab[0] == 40.0
    edit_swatch(library, pencil.first, {"price": 4.0, "state": LaidState.SOLVENT})
    after = library.pencils()[0].swatches
    assert {swatch.price for swatch in after} == {4.0}
    assert [swatch.state.wet for swatch in after].count(True) == 2
    assert library.swatches()[0].lab[0] == 41.0  # the other heavy dry one, on tan
    library.undo()
    assert library.pencils()[0] == pencil


def test_each_but_the_colour_can_be_taken_away_and_comes_back(library):
    (pencil, *_) = library.pencils()
    edit_swatch(library, pencil.first, {"pressure": Pressure.LIGHT, "batch": "old", "price": 4.0})
    (pencil, *_) = library.pencils()
    assert pencil.colour() is pencil.swatches[4]  # on tan: the first is light now
    gone = remove_further(library, pencil.first, 1)
    assert gone == pencil.first
    after = library.pencils()[0].swatches
    assert after == pencil.swatches[1:]
    assert [remove_further(library, after[0], 2) for _ in range(2)] == [after[1], after[2]]
    assert library.pencils()[0].swatches == (after[0], after[3])
    for _ in range(3):
        library.undo()
    assert library.pencils()[0] == pencil


def test_a_correction_moves_those_of_the_file_only(library):
    by_hand(library, lab=(50.0, 1.0, 0.0), state=LaidState.BURNISHED)
    before = laid(library)
    correct_range(library, "Fen", RangeCorrection(offset=(1.0, 0.0, -0.5)), "shift")
    for key, swatch in laid(library).items():
        moved = 0.0 if swatch.state == "burnished" else 1.0
        assert swatch.lab[0] == before[key].lab[0] + moved


def answers(stopgap_run, *questions):
    return [stopgap_run(*question, "--json")[1] for question in questions]


WET = st.lists(
    st.tuples(
        st.integers(1, 8),
        st.sampled_from(["wetted", "solvent"]),
        st.sampled_from(["light", "medium", "heavy"]),
        st.integers(0, 100),
    ),
    min_size=1,
    max_size=6,
    unique_by=lambda row: row[:3],
)


@settings(
    max_examples=8, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
@given(WET)
def test_wet_swatches_change_no_answer(stopgap_run, tmp_path, wet):
    dry = "".join(f"{n},Pencil {n},{12 * n},{n},{-n},,,,,,,{n},yes\n" for n in range(1, 8))
    rows = "".join(f"{n},,{L},40,-40,{p},,{state},,,,,\n" for n, state, p, L in wet)
    questions = [
        ("match", "Fen:3", "--layers"),
        ("match", "#445566"),
        ("blend", "Fen:1", "Fen:7"),
        ("family",),
    ]
    told = []
    for content in (dry, dry + rows):
        stopgap_run.library.unlink(missing_ok=True)
        with open_library(stopgap_run.library) as library:
            import_range(library, draft(tmp_path, content))
        told.append(answers(stopgap_run, *questions))
    assert told[0] == told[1]


def test_they_are_shown(library, stopgap_run):
    library.close()
    (first, second, third) = json.loads(stopgap_run("range", "show", "Fen", "--json")[1])[
        "swatches"
    ]
    assert first["swatch"]["lab"] == [40.0, 0.0, 0.0]
    assert [(s["lab"][0], s["pressure"], s["state"], s["colour"]) for s in first["swatches"]] == [
        (40.0, "heavy", "dry", True),
        (45.0, "medium", "dry", False),
        (60.0, "light", "dry", False),
        (38.0, "heavy", "wetted", False),
        (41.0, "heavy", "dry", False),
    ]
    assert [each["colour"] for each in second["swatches"]] == [True]
    assert [each["colour"] for each in third["swatches"]] == [False]
    page = stopgap_run("range", "show", "Fen", "--figures")[1]
    assert "also laid medium: lab(45.0 0.0 0.0)" in page
    assert "never swatched dry" in page
    checked = json.loads(stopgap_run("range", "check", "Fen", "--json")[1])["notes"]
    assert any("Only wetted swatches" in note and ": 3." in note for note in checked)
    assert (
        len(
            json.loads(stopgap_run("range", "show", "Fen", "--measurement", "--json")[1])[
                "swatches"
            ]
        )
        == 7
    )
    (listed,) = json.loads(stopgap_run("range", "list", "--json")[1])["ranges"]
    assert (listed["pencils"], listed["swatches"]) == (3, 7)


def test_further_swatches_from_the_command_line(library, stopgap_run):
    library.close()
    status, out, _ = stopgap_run(
        "swatch", "add", "fen", "2", "--lab", "70", "0", "3", "--batch", "b"
    )
    assert (status, out) == (0, "Added fen:2 (batch b).\n")
    status, _, error = stopgap_run(
        *("swatch", "add", "Fen", "2", "--lab", "70", "0", "3", "--price", "3")
    )
    assert status == 2
    assert "sets its price" in error
    status, _, error = stopgap_run("swatch", "remove", "Fen", "2", "--further", "2")
    assert (status, "has 1 swatch beside its colour" in error) == (1, True)
    assert stopgap_run("swatch", "remove", "Fen", "2", "--further", "1")[0] == 0
    (second,) = json.loads(stopgap_run("range", "show", "Fen", "--json")[1])["swatches"][1:2]
    assert len(second["swatches"]) == 1
    assert stopgap_run("own", "Fen:3")[0] == 0  # a pencil never swatched dry is a pencil


def test_a_swatch_that_departs_is_said_beside_answers(tmp_path, stopgap_run):
    rows = "1,A,40,0,0,medium,,,,,,,yes\n2,B,60,0,0,,,,,,,,yes\n3,C,80,0,0,,,,,,,,yes\n"
    with open_library(stopgap_run.library) as opened:
        import_range(opened, draft(tmp_path, rows))
    said = "Not swatched heavy and dry, so taken from the nearest: Fen:1 (laid medium)."
    listed = tmp_path / "list.csv"
    listed.write_text("colour\nFen:2\n")
    for question in (
        ("match", "Fen:2"),
        ("match", "Fen:1"),
        ("layer", "Fen:2", "Fen:1"),
        ("blend", "Fen:2", "Fen:3"),
        ("translate", str(listed)),
    ):
        assert said in json.loads(stopgap_run(*question, "--json")[1])["notes"], question
    assert "Fen:1 A · – (owned, laid medium)" in stopgap_run("match", "Fen:2")[1]
    assert said not in json.loads(stopgap_run("layer", "Fen:2", "Fen:3", "--json")[1])["notes"]
