"""Families of one's own on the command line: kept, marked, taken back, on paper and in files."""

import csv
import json
import re

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

import stopgap
from stopgap.cli.arrange.family import FAMILY_COMMANDS
from stopgap.cli.ask.demo import datasets
from stopgap.cli.session import Session
from stopgap.library import Entry, EntryKind, keep_arrangement, stored_arrangement, stored_edition
from stopgap.planner import proposed_arrangement, user_filing
from stopgap.swatches import Swatch

pytestmark = pytest.mark.slow


def answer(run, *arguments):
    status, out, error = run(*arguments, "--json")
    assert (status, error) == (0, "")
    return json.loads(out)


def filing(run, *arguments):
    """Addresses by family, as they are shown."""
    return {
        family["name"]: [
            f"{filed['swatch']['range']}:{filed['swatch']['code']}" for filed in family["swatches"]
        ]
        for family in answer(run, "family", *arguments)["families"]
    }


def told(run, *arguments, status=0):
    found, out, error = run(*arguments)
    assert found == status, error
    return " ".join((out + error).split())


def test_the_moves_that_once_locked_the_library_leave_every_command_working(demo, tmp_path):
    one, other = "Fennmoor:FM014", "Fennmoor:FM024"
    assert "arrangement 'mine'" in told(demo, "family", "move", one, "wines")
    told(demo, "family", "move", other, "wines", "--after", one)
    told(demo, "family", "move", one, "wines", "--after", other)
    wines = filing(demo)["wines"]
    assert wines.index(other) + 1 == wines.index(one)
    for question in (
        ["sheet", tmp_path / "s.html"],
        ["chart", tmp_path / "c.svg", "--family", "wines"],
    ):
        assert demo(*question)[0] == 0
    told(demo, "family", "move", one, "wines", "--first")
    assert filing(demo)["wines"][0] == one


def test_families_by_hand_outlive_an_import_and_are_taken_back(demo):
    seen = filing(demo)
    told(demo, "family", "new", "Röte", "--section", "Seite 1", "--note", "für Anna")
    told(demo, "family", "move", "Fennmoor:FM014", "Fennmoor:FM015", "Röte")
    told(demo, "family", "move", "Fennmoor:FM001", "röte", "--also")
    before = filing(demo)
    assert (
        demo("range", "import", datasets() / "fennmoor.csv", "--name", "Fennmoor", "--replace")[0]
        == 0
    )
    assert filing(demo) == before
    (family,) = answer(demo, "family", "show", "RÖTE")["families"]
    assert (family["section"], family["note"], family["guests"]) == (
        "Seite 1",
        "für Anna",
        ["Fennmoor:FM001"],
    )
    assert all(filed["yours"] for filed in family["swatches"])
    moved = {"Fennmoor:FM014", "Fennmoor:FM015"}
    for name, line in seen.items():
        assert [one for one in line if one not in moved] == [
            one for one in before.get(name, []) if one not in moved
        ]
    for _ in range(4):  # the import, two pencils filed, the family
        told(demo, "undo")
    assert filing(demo) == seen
    assert answer(demo, "arrangement", "list")["arrangements"] == []


def test_several_arrangements_side_by_side(demo, tmp_path):
    proposal = filing(demo)
    told(demo, "arrangement", "new", "By box", "--from", "proposal")
    told(demo, "family", "join", "cool earths", "brown-greys", "warm earths")
    told(demo, "family", "rename", "warm earths", "Erden", "--before", "whites")
    told(demo, "family", "split", "wines", "deep", *filing(demo)["wines"][-2:])
    own = filing(demo)
    assert next(iter(own)) == "Erden"
    assert own["Erden"] == (
        proposal["warm earths"] + proposal["cool earths"] + proposal["brown-greys"]
    )
    assert own["deep"] == proposal["wines"][-2:]
    assert filing(demo, "--arrangement", "proposal") == proposal

    told(demo, "arrangement", "new", "Lesson")
    shown = answer(demo, "family")
    assert [family["waiting"] for family in shown["families"]] == [True]
    assert shown["arrangement"] == "Lesson"
    listed = answer(demo, "arrangement", "list")["arrangements"]
    assert [(one["name"], one["in_use"]) for one in listed] == [("By box", False), ("Lesson", True)]
    told(demo, "arrangement", "use", "by BOX")
    assert filing(demo) == own
    told(demo, "arrangement", "copy", "By box", "Other")
    assert filing(demo) == own
    told(demo, "family", "sort", "Erden")
    assert filing(demo) != own
    assert filing(demo, "--arrangement", "By box") == own
    told(demo, "arrangement", "remove", "Other")
    assert filing(demo) == proposal
    assert demo("family", "show", "Erden")[0] == 1
    assert demo("family", "show", "Erden", "--arrangement", "By box")[0] == 0
    assert demo("chart", tmp_path / "c.svg", "--family", "Erden")[0] == 1
    found = answer(demo, "gaps", "--no-layers", "--step", "5", "--arrangement", "By box")["gaps"]
    assert "Erden" in {gap["blend"] for gap in found}


def test_a_hundred_and_fifty_pencils_in_one_step(demo, tmp_path):
    rows = [one for line in filing(demo).values() for one in line][:150]
    path = tmp_path / "own.csv"
    with path.open("w", encoding="utf-8", newline="") as file:
        table = csv.writer(file)
        table.writerow(("pencil", "family", "place"))
        table.writerows((one, f"Kasten {at // 25}", at % 25 + 1) for at, one in enumerate(rows))
    said = told(demo, "arrangement", "new", "Kästen", "--from", path)
    assert said == "Kästen has 6 families and 150 pencils. It is in use."
    shown = filing(demo)
    assert [one for one in shown["Kasten 2"] if one in rows] == rows[50:75]
    for form in ("csv", "xlsx"):
        copy = tmp_path / f"copy.{form}"
        told(demo, "arrangement", "export", copy)
        told(demo, "arrangement", "new", f"from {form}", "--from", copy)
        again = filing(demo)  # one that waited may have found a place beside those that are kept
        for name in (f"Kasten {number}" for number in range(6)):
            assert [one for one in again[name] if one in shown[name]] == shown[name]


@pytest.mark.parametrize(
    ("arguments", "status", "says"),
    [
        (("family", "new", "show"), 2, "a word of 'stopgap family'"),
        (("family", "rename", "wines", "Tidy"), 2, "a word of 'stopgap family'"),
        (("family", "new", "reds"), 1, "already"),
        (("family", "remove", "wines"), 1, "join it to another"),
        (("family", "move", "Fennmoor:FM014", "wines", "--first", "--also"), 2, "choose one"),
        (("family", "move", "Fennmoor:FM014", "winse"), 1, "Did you mean 'wines'"),
        (("family", "show", "wines", "--arrangement", "none"), 1, "No arrangement is called"),
        (("arrangement", "use", "none"), 1, "none yet"),
        (("arrangement", "new", "proposal"), 2, "word of the tool's own"),
        (("arrangement", "new", "x", "--from", "section"), 3, "heading"),
        (("arrangement", "remove", "proposal"), 3, "not kept"),
        (("arrangement", "apply", "none.csv"), 1, "none.csv"),
    ],
    ids=str,
)
def test_what_cannot_be_is_said_and_changes_nothing(demo, arguments, status, says):
    said = told(demo, *arguments, status=status)
    assert says in said
    assert answer(demo, "arrangement", "list")["arrangements"] == []


def test_a_sheet_may_not_bring_a_family_called_like_a_command(demo, tmp_path):
    path = tmp_path / "own.csv"
    path.write_text("pencil,family\nFennmoor:FM014,Split\n", encoding="utf-8")
    assert "word of 'stopgap family'" in told(demo, "arrangement", "apply", path, status=1)
    assert "split" in FAMILY_COMMANDS


def test_a_new_pencil_takes_a_place_and_moves_nobody(demo):
    told(demo, "arrangement", "new", "mine", "--from", "proposal")
    before = filing(demo)
    for code, colour in (("N1", "#a04050"), ("N2", "#a05050"), ("N3", "#3050a0")):
        told(demo, "swatch", "add", "Fennmoor", code, "--hex", colour)
        after = filing(demo)
        for name, line in before.items():
            assert [one for one in after[name] if one in line] == line
        before = after
    assert sum(map(len, before.values())) == 243


def test_what_a_new_order_gains_is_shown_before_it_is_taken(demo):
    told(demo, "family", "move", "Fennmoor:FM024", "wines", "--first")
    kept = filing(demo)
    (wines,) = answer(demo, "family", "tidy", "wines")["families"]
    assert wines["total_then"] < wines["total"]
    assert filing(demo) == kept
    told(demo, "family", "sort", "wines")
    (family,) = answer(demo, "family", "show", "wines")["families"]
    assert family["largest_step"] == pytest.approx(wines["largest_step_then"])
    assert [f"{s['swatch']['range']}:{s['swatch']['code']}" for s in family["swatches"]] == wines[
        "order"
    ]


def test_a_check_proposes_places_with_their_steps(demo):
    told(demo, "family", "move", "Fennmoor:FM014", "blues", "--first")
    doubts = answer(demo, "family", "check")["doubts"]
    (odd,) = (one for one in doubts if one["pencils"] == ["Fennmoor:FM014"])
    assert (odd["kind"], odd["family"]) == ("odd", "blues")
    assert odd["offers"][0]["family"] in ("reds", "wines")
    assert 2 <= len(odd["offers"]) <= 3
    said = told(demo, "family", "check", "--figures")
    offer = odd["offers"][0]
    assert " and ".join(f"{step:.1f}" for step in offer["steps"]) in said
    assert {"step", "label"} <= {one["kind"] for one in doubts}


def session_on(run):
    """A session on the library of a runner."""
    session = Session()
    session.library = str(run.library)
    return session


def kept_places(library, name="mine"):
    """What is kept of an arrangement: family and hand of each pencil, and the order."""
    found = stored_arrangement(library, name)
    return [(one.name, place) for one in found.families for place in one.places]


def test_a_place_is_kept_by_the_change_that_brings_the_pencil_and_goes_with_it(demo, tmp_path):
    session = session_on(demo)
    told(demo, "arrangement", "new", "mine", "--from", "proposal")
    with session.open(read_only=True) as library:
        before = kept_places(library)
    (tmp_path / "tern.csv").write_text("code,L,a,b\n1,40,45,20\n2,70,-30,10\n")
    for command in (
        ["range", "import", tmp_path / "tern.csv", "--name", "Tern"],
        ["swatch", "add", "Tern", "3", "--lab", "40", "45", "21"],
        ["swatch", "add", "Tern", "4"],
        ["swatch", "edit", "Tern", "4", "--lab", "41", "45", "20"],  # a name gets its colour
    ):
        told(demo, *command)
    told(demo, "swatch", "edit", "Tern", "3", "--lab", "90", "0", "0")  # it was seen where it is
    with session.open(read_only=True) as library:
        kept = kept_places(library)
    new = [place for _, place in kept if place.pencil.startswith("Tern:")]
    assert sorted(place.pencil for place in new) == [f"Tern:{code}" for code in range(1, 5)]
    assert not any(place.by_hand for place in new)
    reds = [place.pencil for name, place in kept if name == "reds"]
    assert {reds.index("Tern:3") - reds.index("Tern:1")} <= {-2, -1, 1, 2}
    assert [one for one in kept if one[1] not in new] == before
    for _ in range(5):
        told(demo, "undo")
    with session.open(read_only=True) as library:
        assert kept_places(library) == before


COLOUR = st.tuples(st.floats(15, 95), st.floats(-60, 60), st.floats(-60, 60))


@settings(derandomize=True, deadline=None, max_examples=8)
@given(st.lists(COLOUR, min_size=6, max_size=14), st.data())
def test_whatever_comes_is_kept_at_its_place_and_nobody_moves(tmp_path_factory, colours, data):
    path = tmp_path_factory.mktemp("filed") / "library.sqlite"
    for code, lab in enumerate(colours):
        with stopgap.open_library(path) as library:
            entry = Entry(EntryKind.LAB, lab)
            library.add_swatch(Swatch("T", str(code), lab), entry, new_range=True, what="one more")
        if code < 4:
            continue
        with stopgap.open_library(path) as library:
            if code == 4:
                keep_arrangement(library, proposed_arrangement(library, "mine"), "an arrangement")
                before = kept_places(library)
                assert len(before) == 5
                continue
            now = kept_places(library)
            assert user_filing(library) == stored_arrangement(library, "mine")
            assert [one for one in now if one[1].pencil != f"T:{code}"] == before
            before = now
            if data.draw(st.booleans()):  # what goes leaves its place to come back to
                gone = data.draw(st.sampled_from(library.swatches()))
                library.remove_swatch(gone, "one less")


def test_a_new_pencil_gets_the_spare_box_of_its_family_on_the_printed_chart(demo, tmp_path):
    told(demo, "arrangement", "new", "wall", "--from", "proposal")
    told(demo, "family", "rename", "reds", "--section", "Left")
    two = ("--family", "reds", "--family", "blues")
    said = told(demo, "chart", tmp_path / "wall.svg", *two)
    number = re.search(r"edition (\d{6})", said)[1]
    with session_on(demo).open(read_only=True) as library:
        before = stored_edition(library, number)
    assert {page.section for page in before.pages} == {"Left", ""}
    told(demo, "swatch", "add", "Tern", "1", "--new-range", "--lab", "45", "55", "30")
    said = told(demo, "chart", tmp_path / "more.svg", *two, "--edition", number)
    assert "is now for Tern:1: write it there" in said
    with session_on(demo).open(read_only=True) as library:
        after = stored_edition(library, number)
    (place,) = ((page, box) for page, box in after.boxes() if box.pencils == ("Tern:1",))
    assert place[0].words_above(place[1]) == "reds"
    for (_, old), (_, new) in zip(before.boxes(), after.boxes(), strict=True):
        assert new.outline == old.outline
        assert new == old or (old.spare and new.pencils == ("Tern:1",))


def test_a_step_is_kept_with_an_arrangement(demo, monkeypatch, tmp_path):
    """The line before the arrangement before the setting before the default."""
    monkeypatch.setenv("STOPGAP_CONFIG", str(tmp_path / "config.toml"))
    blend = ("blend", "Fennmoor:FM017", "Fennmoor:FM003", "--no-layers", "--json")

    def limit(*more):
        return json.loads(demo(*blend, *more)[1])["limit"]

    assert limit() == 12.0
    assert demo("arrangement", "copy", "proposal", "Portraits")[0] == 0
    assert demo("arrangement", "use", "Portraits", "--step", "soft")[0] == 0
    assert demo("settings", "step", "bold")[0] == 0
    assert (limit(), limit("--step", "9")) == (7.0, 9.0)
    assert demo("arrangement", "copy", "Portraits", "Posters")[0] == 0
    assert limit() == 7.0
    assert demo("arrangement", "use", "Posters", "--step", "0")[0] == 0
    assert limit() == 16.0
    kept = json.loads(demo("arrangement", "list", "--json")[1])["arrangements"]
    assert {one["name"]: one["step"] for one in kept} == {"Portraits": 7.0, "Posters": None}
    assert "soft" in demo("arrangement", "list")[1]
    assert demo("arrangement", "use", "proposal", "--step", "soft")[0] == 1
    assert demo("arrangement", "use", "Posters", "--step", "-1")[0] == 1
    assert demo("undo")[0] == 0
    assert limit() == 7.0
