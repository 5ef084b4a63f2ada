"""After whatever change the desk answers as one that has just been started, to the last bit."""

import shutil
from dataclasses import replace

import pytest
from test_rooms import chip

from stopgap.desk.ahead import make_ready, prepare
from stopgap.desk.asking import Desk
from stopgap.desk.forms import Sent
from stopgap.desk.pages import find_room
from stopgap.library import (
    Convention,
    backup,
    edit_swatch,
    import_range,
    keep_calibration,
    keep_paper,
    open_library,
    own,
    read_range,
    restore,
)
from stopgap.planner import RecipeCache, estimated_conditions, keep_lately
from stopgap.planner.arranging import change_arrangement
from stopgap.planner.recipes import beside, kept
from stopgap.swatches import Paper, Source, as_layered, join_families

pytestmark = pytest.mark.slow


@pytest.fixture
def own_library(own_library):
    """One range of it, of which but a few are owned, so that all is made soon."""
    few = {f"FM{number:03d}" for number in range(30, 42)}
    with open_library(own_library, as_one=True) as library:
        for name in library.range_names():
            if name != "Fennmoor":
                library.remove_range(name, "remove")
        every = library.swatches()
        own(library, every, owned=False)
        own(library, [one for one in every if one.code in few], owned=True)
    return own_library


def told(desk):
    """Every pencil, and what a colour is answered: of a pencil families are told as well, whose
    orders take their time.
    """
    with desk.reading() as library:
        pencils = desk.ground(library, Sent())
    match, over = [("target", "#7f9a8c"), ("layers", "always")], [("over", "FM003 medium")]
    layers = [("first", "FM053"), ("second", "FM017"), *over]
    asked = {"match": match, "layers": layers}
    answers = [find_room(room).answer(desk, Sent(sent)) for room, sent in asked.items()]
    return repr(pencils), *(repr(answer.report.data) for answer in answers)


def by_command(path, change):
    with open_library(path, as_one=True) as library:
        change(library, {one.code: one for one in library.swatches()})


def tick(window, code):
    assert window.post("/wall/own", [("set", chip(window, code)), ("page", "one")]).status == 303


def take_back(window, deed):
    button = window.get("/history").text.split(f'action="/history/{deed}"')[1]
    number = button.split('name="change" value="')[1].partition('"')[0]
    assert window.post(f"/history/{deed}", [("change", number)]).status == 303


def changes(window, path, folder):
    """Each change in turn, the desk's own and those of commands between them."""
    copy, file = folder / "copy.sqlite", folder / "more.csv"
    file.write_text("code,L,a,b,owned\n1,50,40,20,yes\n2,52,12,20,no\n", encoding="utf-8")
    with open_library(path, read_only=True) as library:
        backup(library, copy)
    more = read_range(file, "More", Convention("D50", 2, Source.MEASURED))
    yield lambda: tick(window, "FM053")
    yield lambda: (tick(window, "FM017"), tick(window, "FM053"))
    yield lambda: take_back(window, "undo")
    yield lambda: take_back(window, "redo")
    yield lambda: by_command(path, lambda all_, of: own(all_, [of["FM060"]], owned=True))
    yield lambda: (
        tick(window, "FM061"),
        by_command(path, lambda all_, of: edit_swatch(all_, of["FM053"], {"lab": (50, 30, 10)})),
        tick(window, "FM062"),
    )
    yield lambda: by_command(path, lambda all_, _: all_.take_back())
    yield lambda: by_command(path, lambda all_, _: import_range(all_, more))
    yield lambda: by_command(
        path, lambda all_, _: keep_paper(all_, Paper((85.0, 2.0, 12.0), name="pad", default=True))
    )
    learnt = replace(estimated_conditions(), tooth=3.0, samples=9)
    yield lambda: by_command(path, lambda all_, _: keep_calibration(all_, learnt, "pad"))
    yield lambda: by_command(
        path,
        lambda all_, _: change_arrangement(
            all_, None, lambda had, _: join_families(had, ["reds"], "roses"), "joined"
        ),
    )
    yield lambda: restore(copy, path)
    yield lambda: tick(window, "FM053")
    yield lambda: shutil.copy(copy, path.with_name("other")).replace(path)


def test_after_each_change_the_answers_are_those_of_a_new_desk(window, own_library, tmp_path):
    before = told(window.desk)
    for change in changes(window, own_library, tmp_path):
        change()
        after = told(window.desk)
        new = Desk(own_library, window.desk.usual, cache=RecipeCache(tmp_path / "recipes"))
        assert after == told(new)
    assert after == before


def test_right_after_a_tick_recipes_are_asked_beside_what_was_made(window, tmp_path, monkeypatch):
    desk = window.desk
    desk.cache = desk.cache._replace(folder=tmp_path / "recipes")
    prepare(desk)
    for codes in (("FM053",), ("FM017", "FM053")):  # the last is owned no longer
        for code in codes:
            tick(window, code)
            make_ready(desk)
        with monkeypatch.context() as none_made:
            none_made.setattr(kept, "recipes_under", None)
            none_made.setattr(beside, "recipes_beside", None)
            after = told(desk)
        assert after == told(Desk(desk.path, desk.usual, cache=RecipeCache(tmp_path / "anew")))


def test_what_a_tick_brought_is_written_as_if_made_anew(window, tmp_path, monkeypatch):
    desk = window.desk
    desk.cache = desk.cache._replace(folder=tmp_path / "recipes")
    prepare(desk)
    first = {*desk.cache.folder.iterdir()}
    with monkeypatch.context() as none_made:
        none_made.setattr(kept, "index_recipes", None)
        for code in ("FM053", "FM017"):
            tick(window, code)
            prepare(desk)
            keep_lately(desk.cache)
    (written,) = {*desk.cache.folder.iterdir()} - first  # the second in the place of the first
    after = told(desk)
    anew = Desk(desk.path, desk.usual, cache=RecipeCache(tmp_path / "anew"))
    prepare(anew)
    ours, others = desk.cache, anew.cache
    with desk.reading() as library:
        ground = desk.ground(library, Sent())
        laid = desk.selection(library, Sent(), owned=True).of(ground.swatches)
    numbers = kept.numbers_of(ground.conditions, [*map(as_layered, laid)])
    arrays, made = ours.read(numbers), others.read(numbers)
    assert arrays.keys() == made.keys()
    assert all(arrays[name].tobytes() == made[name].tobytes() for name in made)
    monkeypatch.setattr(kept, "index_recipes", None)
    assert told(Desk(desk.path, desk.usual, cache=RecipeCache(written.parent))) == after
