"""What speaks against a pencil is marked by every command, in the same words; none is used up."""

import json
import random

import pytest

from stopgap.defaults import TOLERANCE
from stopgap.difference import GRADES, delta_E, grade
from stopgap.library import Entry, EntryKind, open_library
from stopgap.planner.nearness import FAR
from stopgap.swatches import Core, Finish, Stock, Swatch, marks_of

pytestmark = pytest.mark.slow

SAID = (
    {"laydown": 1},
    {"avoid": "crumbles"},
    {"avoid": "yes", "laydown": 2},
    {"stock": "stub"},
    {"stock": "empty"},
    {"stock": "half", "laydown": 3},
)
USES_ITS_OWN = ("translate", "blend", "gaps")
"""Commands whose every pencil is one at hand, but for what is asked about or would be bought."""
LEANS = {"blend": "steps", "kit": "pencils", "tones": "tones"}
"""Where commands say what is laid, of which a stub is told in a note."""


def mark_at_random(path, seed):
    """Say something of each owned pencil, by chance; the pencils by their addresses."""
    chance = random.Random(seed)
    with open_library(path) as library:
        for swatch in library.swatches():
            said = chance.choice((*SAID, {}))
            if said and (swatch.owned or chance.random() < 0.3):
                library.decide([swatch], said, "marking")
        return {swatch.address: swatch for swatch in library.swatches()}


def told_of(answer):
    """Every pencil in an answer, wherever it stands."""
    if isinstance(answer, dict):
        if {"range", "code", "status"} <= answer.keys():
            yield answer
        answer = list(answer.values())
    if isinstance(answer, list):
        for inner in answer:
            yield from told_of(inner)


def apart(put):
    """How far what was put in a pencil's place is from it."""
    return float(delta_E(put["asked"]["lab"], put["by"]["lab"]))


def test_every_command_marks_what_speaks_against_a_pencil(demo, tmp_path):
    known = mark_at_random(demo.library, 1)
    mine = [swatch for swatch in known.values() if swatch.at_hand]
    gone = {swatch.address for swatch in known.values() if swatch.stock is Stock.EMPTY}
    colours, blends = tmp_path / "list.csv", tmp_path / "blends.csv"
    colours.write_text("colour\n#c04a2b\n#38761d\n#7a5c99\nlab(30 5 -30)\n", encoding="utf-8")
    first, last = mine[0].address, mine[-1].address
    blends.write_text(f"name,from,to\nmine,{first},{last}\n", encoding="utf-8")
    for question in (
        ("match", "#7a5c99", "--owned", "--layers"),
        ("match", mine[3].address, "--limit", "9"),
        ("translate", colours, "--layers"),
        ("layer", first, last, "--pressure", "light"),
        ("blend", first, last, "--layers"),
        ("gaps", blends, "--layers"),
        ("shop", "--list", colours, "--for", first),
        ("kit", "--size", "9", "--list", colours),
        ("tones", first, "--layers"),
        ("table", "--from", "Quillet", "--to", "Fennmoor"),
        ("family", "show", "neutral greys"),
        ("find", "kelp"),
        ("range", "show", "Fennmoor"),
    ):
        _, out, said = demo(*question, "--json")
        assert out, (question, said)
        answer = json.loads(out)
        marked = {address(one["swatch"]): one["marks"] for one in answer.pop("marked")}
        named = set(map(address, told_of(answer)))
        says = {one: list(said) for one in named if (said := marks_of(known[one]))}
        assert named, question
        assert marked == says, question
        if question[0] in LEANS:
            used = (known[one] for one in map(address, told_of(answer[LEANS[question[0]]])))
            stubs = {one.address for one in used if one.stock is Stock.STUB}
            said = [note for note in answer["notes"] if " stub" in note]
            assert bool(said) is bool(stubs), question
        shown = " ".join(demo(*question)[1].split())
        for swatch in mine:
            if swatch.address in named:
                assert_marked(shown, swatch, question)
        if question[0] in USES_ITS_OWN:
            assert not {each for each in named & gone if f"{each} " in shown}, question
            assert "Used up, so not counted as yours" in shown


def address(told):
    """The address of a pencil as an answer has it."""
    return f"{told['range']}:{told['code']}"


def assert_marked(shown, swatch, question):
    """Where an address stands with its name, its marks stand too."""
    called = f"{swatch.address} {swatch.name}"
    for mark in marks_of(swatch):
        if called in shown:
            assert mark in shown, (question, called)


def test_what_lays_badly_is_replaced_by_what_is_known_to_lay_better(demo):
    demo("swatch", "edit", "Fennmoor", "FM017", "--laydown", "2")
    status, out, _ = demo("match", "Fennmoor:FM017", "--for-laydown", "--json")
    with open_library(demo.library) as library:
        lays = {swatch.address: swatch.laydown for swatch in library.swatches()}
    found = [address(one["swatch"]) for one in json.loads(out)["matches"]]
    assert status == 0
    assert all(lays[one] > 2 for one in found)
    assert "Fennmoor:FM017" not in found
    assert "5 of 5; wax too" in demo("match", "Fennmoor:FM017", "--for-laydown")[1]
    status, _, error = demo("match", "#c04a2b", "--for-laydown")
    assert (status, "--for-laydown: expected a pencil" in error) == (2, True)


def instead_slowly(asked, offered):
    """What replaces a pencil that lays badly: by the word for nearness, by core, by ΔE00."""
    words = list(GRADES)

    def key(each):
        apart = float(delta_E(asked.lab, each.lab))
        word = words.index(grade(apart))
        other = asked.core is not None and each.core is not asked.core
        return word, other and word < len(words) - 1, apart, each.address

    best = min((one for one in offered if (one.laydown or 0) > 2), key=key)
    return best if float(delta_E(asked.lab, best.lab)) <= FAR else None  # else hue ranks


def test_what_replaces_a_pencil_for_its_laydown_is_the_same_whatever_command_is_asked(
    demo, tmp_path
):
    chance = random.Random(5)
    with open_library(demo.library) as library:
        for swatch in library.swatches():
            library.decide([swatch], {"laydown": chance.choice((1, 2, 3, 4, 5, None))}, "marking")
        known = [one for one in library.swatches() if one.finish is Finish.PLAIN]
    mine = [one for one in known if one.at_hand]
    badly = [one for one in known if one.lays_badly and not one.discontinued]
    slowly = [(one, instead_slowly(one, mine)) for one in badly]
    badly = [one for one, instead in slowly if instead is not None]
    expected = {one.address: instead for one, instead in slowly if instead is not None}
    colours, blends = tmp_path / "list.csv", tmp_path / "blends.csv"
    colours.write_text("colour\n" + "\n".join(expected) + "\n#c04a2b\n", encoding="utf-8")
    few = tmp_path / "few.csv"
    few.write_text("colour\n" + "\n".join([*expected][::9]), encoding="utf-8")
    near = [one for one in badly if delta_E(one.lab, expected[one.address].lab) <= TOLERANCE]
    far = next(one.address for one in badly if one not in near)
    first, last = near[3].address, near[-9].address
    blends.write_text(f"name,from,to\nb,{first},{last}\n", encoding="utf-8")
    how = ("--for-laydown", "--json")

    _, out, _ = demo("translate", colours, "--repeat", "--no-layers", *how)
    given = {address(row["asked"]): row["given"] for row in json.loads(out)["rows"][:-1]}
    assert {one: address(given[one]) for one in given} == {
        one: instead.address for one, instead in expected.items()
    }
    for asked in badly[::9]:
        _, out, _ = demo("match", asked.address, "--owned", "--no-layers", "--limit", "1", *how)
        assert address(json.loads(out)["matches"][0]["swatch"]) == expected[asked.address].address

    for question in (("blend", first, last), ("gaps", blends), ("layer", first, last)):
        _, out, _ = demo(*question, *how)
        for one in (first, last):
            told = f"{one} lays badly ({{}} of 5): {expected[one].address} instead"
            assert any(told.format(level) in out for level in (1, 2)), (question, out[-900:])
        put = json.loads(out)["replaced"]
        assert {address(one["asked"]): address(one["by"]) for one in put} == {
            one: expected[one].address for one in (first, last)
        }
        assert all(one["delta_E"] == pytest.approx(apart(one), abs=1e-6) for one in put)
    assert json.loads(demo("layer", first, last, "--json")[1])["replaced"] == []
    for command in ("blend", "layer"):
        status, out, said = demo(command, first, far, *how)
        assert (status, out) == (3, "")
        assert f"{far} lays badly" in said
        assert f"the nearest, {expected[far].address}, is" in " ".join(said.split())
    lays = {one.address: one.laydown or 3 for one in known}
    for question, used in (
        (("blend", first, last), "steps"),
        (("layer", first, last), "layers"),
        (("shop", "--blends", blends, "--list", few, "--no-layers"), "buy"),
        (("translate", few, "--layers"), "rows"),
    ):
        _, out, _ = demo(*question, *how)
        answer = json.loads(out)[used]
        if used == "rows":
            answer = [row["given"] for row in answer]
        named = set(map(address, told_of(answer)))
        assert named, question
        put = json.loads(out).get("replaced", [])
        if used == "buy":
            asked = {first, last, *[*expected][::9]}
            unfilled = {one["need"] for one in json.loads(out)["unfilled"]}
            assert {address(one["asked"]) for one in put} == asked - unfilled
        else:
            assert len(put) == (0 if used == "rows" else 2), question
        assert all(lays[one] > 2 for one in named), question


def test_a_pencil_of_the_same_core_is_first_wherever_among_all_it_stands(demo):
    with open_library(demo.library) as library:
        (asked,) = (one for one in library.swatches() if one.address == "Fennmoor:FM017")
        library.decide([asked], {"laydown": 1}, "marking")
        L, a, b = asked.lab
        for number, core in enumerate([*["oil"] * 8, "wax"]):
            near = Swatch("N", str(number), (L + 1.3 + number / 40.0, a, b), core=Core(core))
            entry = Entry(EntryKind.LAB, near.lab)
            library.add_swatch(near, entry, new_range=True, what="one")
        library.decide([one for one in library.swatches() if one.range == "N"], {"laydown": 4}, "l")
    _, out, _ = demo("match", "Fennmoor:FM017", "--for-laydown", "--limit", "2", "--json")
    found = json.loads(out)["matches"]
    assert {one["grade"] for one in found} == {"very close"}
    assert [address(one["swatch"]) for one in found] == ["N:8", "N:0"]
    demo("swatch", "edit", "Fennmoor", "FM017", "--laydown", "5")
    status, _, said = demo("match", "Fennmoor:FM017", "--for-laydown")
    assert (status, "known to lay better than Fennmoor:FM017 (5 of 5)" in said) == (3, True)


def test_what_runs_out_is_listed_with_its_price_and_what_is_owned_in_its_place(demo, tmp_path):
    known = mark_at_random(demo.library, 2)
    colours = tmp_path / "list.csv"
    colours.write_text("colour\n#c04a2b\nFennmoor:FM055\nFennmoor:FM003\n", encoding="utf-8")
    with open_library(demo.library) as library:
        library.decide([known["Quillet:Q2"]], {"stock": "empty", "avoid": "scratches"}, "marking")
        known = {swatch.address: swatch for swatch in library.swatches()}
    gone = {one for one, each in known.items() if each.stock is Stock.EMPTY} - {"Quillet:Q2"}
    stubs = {one for one, each in known.items() if each.stock is Stock.STUB and each.owned}
    for arguments, called_for in (
        ((), ()),
        (
            ("--list", colours, "--for", "Quillet:Q1"),
            ("Fennmoor:FM055", "Fennmoor:FM003", "Quillet:Q1"),
        ),
    ):
        status, out, _ = demo("shop", "--restock", *arguments, "--json")
        answer = json.loads(out)
        rows = {address(row["swatch"]): row for row in answer["runs_out"]}
        lacking = {one for one in called_for if not known[one].at_hand}
        assert rows.keys() == gone | stubs | lacking
        assert answer["cost"] == pytest.approx(
            sum(row["price"] for row in rows.values() if row["price"] is not None)
        )
        for one, row in rows.items():
            assert (row["price"] is None) is known[one].discontinued
            near = sorted(
                (float(delta_E(known[one].lab, each.lab)), each.address)
                for each in known.values()
                if each.at_hand and each.finish is Finish.PLAIN and each.address != one
            )
            expected = [each for d, each in near[:2] if d <= answer["tolerance"]]
            assert [address(each["swatch"]) for each in row["stand_ins"]] == expected
            assert row["met"] is (row["price"] is not None or bool(expected))
        assert "Avoided, so not bought again: Quillet:Q2." in answer["notes"]
        assert status == (0 if all(row["met"] for row in rows.values()) else 3)


def test_restocking_where_nothing_runs_out_says_so_and_goes_with_no_plan(demo):
    assert demo("shop", "--restock")[:2] == (0, "Nothing runs out\n")
    demo("swatch", "add", "Nameless", "N1", "--stock", "stub", "--owned", "--new-range")
    assert "Nameless:N1 · – (owned, a stub, no colour yet)" in demo("shop", "--restock")[1]
    status, _, error = demo("shop", "--restock", "--budget", "5")
    assert (status, "does not go with" in error) == (2, True)


def test_a_pencil_that_is_used_up_is_owned_anew(demo):
    demo("swatch", "edit", "Quillet", "Q2", "--stock", "empty")
    assert "Quillet:Q2" in demo("shop", "--restock")[1]
    demo("own", "Quillet:Q2")
    with open_library(demo.library) as library:
        again = next(one for one in library.swatches() if one.address == "Quillet:Q2")
    assert (again.at_hand, again.stock) == (True, None)
    demo("undo")
    assert "Quillet:Q2" in demo("shop", "--restock")[1]


def test_what_is_avoided_is_never_bought(demo):
    asked = ("shop", "--for", "lab(66.2 35.2 0)", "--no-layers", "--json")
    (bought,) = json.loads(demo(*asked)[1])["buy"]
    chosen = address(bought["swatch"])
    demo("swatch", "edit", *chosen.split(":"), "--avoid", "breaks")
    again = {address(one["swatch"]) for one in json.loads(demo(*asked)[1])["buy"]}
    assert chosen not in again
