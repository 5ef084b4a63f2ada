"""What speaks against a pencil is marked by every command, in the same words; none is used up."""

import json
import random

from stopgap.library import open_library
from stopgap.swatches import Stock, marks_of

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
