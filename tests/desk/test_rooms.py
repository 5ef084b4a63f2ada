"""Each room answers what the command answers, does what it says once, and names no command."""

import json
import re
import shutil
import sqlite3
import subprocess
import sys
import time
from concurrent.futures import ThreadPoolExecutor, wait
from contextlib import closing
from html import unescape
from html.parser import HTMLParser
from threading import Event
from urllib.parse import urlencode

import pytest
from window import Window

from stopgap.cli.program import COMMANDS, run
from stopgap.desk import Usual
from stopgap.desk.ahead import prepare
from stopgap.desk.forms import Sent
from stopgap.desk.pages import KEEP, ROOMS, find_room
from stopgap.desk.words import WORDS
from stopgap.desk.working import Orders
from stopgap.errors import Remedy
from stopgap.library import (
    Convention,
    datasets,
    decide_owned,
    import_range,
    open_library,
    read_range,
)
from stopgap.planner import RecipeCache
from stopgap.planner.recipes import kept
from stopgap.reports import RENDERERS

pytestmark = pytest.mark.slow

LESSON = (datasets() / "lesson.csv").read_text(encoding="utf-8")
BLENDS = (datasets() / "blends.csv").read_text(encoding="utf-8")
PAPERS = "colour,paper\n#31c0a0,cream\n#c8a46e,tan\n"
QUESTIONS = [
    ("wall", {}, "family wall"),
    ("wall", {"which": "owned", "on": "tan"}, "family wall --owned --on tan"),
    ("match", {"target": "Fennmoor:FM017"}, "match Fennmoor:FM017"),
    ("match", {"target": "#7f9a8c", "which": "owned"}, "match #7f9a8c --owned"),
    (
        "match",
        {"target": "FM055", "layers": "always", "range": "Quillet", "limit": "3", "under": "A"},
        "match FM055 --layers --range Quillet --limit 3 --under A",
    ),
    ("match", {"target": "FM013", "instead": "yes"}, "match FM013 --replace"),
    ("lists", {"list": LESSON}, f"translate {datasets() / 'lesson.csv'} --explain"),
    (
        "lists",
        {"list": "FM031\n#c8a46e", "sharing": "repeat", "alone": "yes", "which": "any"},
        "translate two.csv --explain --repeat --no-layers --any",
    ),
    ("blends", {"from": "FM113", "to": "FM112"}, "blend FM113 FM112"),
    (
        "blends",
        {"look": "listed", "blends": BLENDS, "alone": "yes", "step": "10,5"},
        f"gaps {datasets() / 'blends.csv'} --no-layers --step 10.5",
    ),
    ("holes", {"layers": "no", "range": "Quillet"}, "holes --no-layers --range Quillet"),
    (
        "shop",
        {"blends": "FM113; FM112", "list": PAPERS, "alone": "yes", "budget": "20"},
        "shop --blends blend.csv --list papers.csv --no-layers --budget 20",
    ),
    (
        "layers",
        {"first": "FM003", "first_pressure": "light", "second": "FM013", "on": "tan"},
        "layer FM003 FM013 --pressure light --on tan",
    ),
    ("history", {}, "history"),
]


def test_every_room_with_an_answer_is_compared_with_its_command():
    without = {"bring", "print", "guide"}  # what they show is a file's, or the manual
    assert {room for room, *_ in QUESTIONS} == set(ROOMS) - without


@pytest.mark.parametrize(("room", "asked", "command"), QUESTIONS)
def test_a_room_answers_what_the_command_does(room, asked, command, window, capsys, tmp_path):
    (tmp_path / "two.csv").write_text("FM031\n#c8a46e\n", encoding="utf-8")
    (tmp_path / "papers.csv").write_text(PAPERS, encoding="utf-8")
    blend = "name,from,to\nFM113 to FM112,FM113,FM112\n"
    (tmp_path / "blend.csv").write_text(blend, encoding="utf-8")
    words = [str(tmp_path / word) if word.endswith(".csv") else word for word in command.split()]
    assert run(["--library", str(window.desk.path), *words, "--json"]) in (0, 3)
    expected = json.loads(capsys.readouterr().out)
    panel = find_room(room).answer(window.desk, Sent(list(asked.items())))
    found = json.loads(RENDERERS["json"](panel.report))
    for answer in (found, expected):  # what would help is said in other words
        answer["notes"] = [note.split(". ")[0].rstrip(".") for note in answer.get("notes", ())]
    assert found == expected
    page = window.get(f"/{room}?{urlencode(asked)}")
    assert page.status == 200
    assert not COMMAND_LINE.search(shown(page.text)), shown(page.text)


COMMAND_LINE = re.compile(rf"(?<![\w-])--[a-z]|\bstopgap ({'|'.join(COMMANDS)})\b")


class _Shown(HTMLParser):
    def __init__(self):
        super().__init__()
        self.texts, self.inside, self.links = [], "", []

    def handle_starttag(self, tag, attrs):
        self.inside = tag
        self.links += [value for name, value in attrs if name in ("href", "action")]
        self.texts += [value for name, value in attrs if name in ("aria-label", "title")]

    def handle_data(self, data):
        if self.inside not in ("style", "script"):
            self.texts.append(data)


def read(text):
    parser = _Shown()
    parser.feed(text)
    return parser


def shown(text):
    return " ".join(filter(None, read(text).texts))


@pytest.mark.parametrize("room", ROOMS)
def test_a_room_is_whole_without_a_question_and_leads_nowhere_dead(window, room):
    answer = window.get(f"/{room}")
    found = read(answer.text)
    assert answer.status == 200
    assert ROOMS[room] in shown(answer.text)
    assert not COMMAND_LINE.search(shown(answer.text))
    for link in dict.fromkeys(found.links):
        if link.startswith("/match?target="):
            continue  # a pencil of the wall each
        if link.startswith("#"):
            assert f'id="{link[1:]}"' in answer.text
        elif "/" in link[1:]:
            name, deed = link[1:].split("/")
            assert deed in (KEEP, *find_room(name).deeds)
        elif link != "/close":
            assert window.get(link).status == 200, link


def test_the_guide_names_no_command(window):
    for link in read(window.get("/guide").text).links:
        if link.startswith("/guide?"):
            text = shown(window.get(link).text)
            assert not COMMAND_LINE.search(text), COMMAND_LINE.search(text)


def test_no_word_of_the_desk_names_a_command():
    assert set(WORDS) <= set(Remedy)
    assert not any(COMMAND_LINE.search(words) for words in WORDS.values())


def chip(window, code):
    """What the button of a pencil on the wall sends."""
    page = window.get("/wall?touch=tick").text
    return re.search(rf'value="(owned=[01] \w+ [^"]*:{code})"', page)[1]


def owned(window, code):
    with window.desk.reading() as library:
        return next(one.owned for one in library.swatches() if one.code == code)


def test_after_a_tick_no_recipe_is_made_anew(window, monkeypatch, tmp_path):
    def found():
        return find_room("match").answer(window.desk, Sent([("target", "FM055")])).report.data

    prepare(window.desk)  # in this thread, so that nothing goes on beside it
    before = found()
    with monkeypatch.context() as none_made:
        none_made.setattr(kept, "index_recipes", None)
        assert window.post("/wall/own", [("set", chip(window, "FM053"))]).status == 303
        after = found()
    assert after["layers"] != before["layers"]
    window.desk.cache = RecipeCache(tmp_path / "another")  # where nothing was prepared
    assert found() == after  # to the last bit


def test_a_tick_says_so_once_however_often_it_is_sent(window):
    sent = [("set", chip(window, "FM017"))]
    assert sent[0][1].startswith("owned=1")
    page = window.follow(window.post("/wall/own", sent))
    assert "You own FM017 Calyx Campion." in shown(page.text)
    assert owned(window, "FM017")
    mark = window.desk.mark()
    again = window.follow(window.post("/wall/own", sent))
    assert "You own FM017 Calyx Campion already." in shown(again.text)
    assert owned(window, "FM017")
    assert window.desk.mark() == mark


def test_a_script_is_told_the_new_state(window):
    sent = [("set", chip(window, "FM017"))]
    told = json.loads(window.post("/wall/own", sent, accept="application/json").body)
    assert (told["owned"], told["stale"]) == (True, False)
    assert told["set"] == chip(window, "FM017")
    assert told["mark"] == json.loads(window.get("/mark").body)["mark"]


def test_what_was_changed_since_is_not_overwritten(window, capsys):
    sent = [("set", chip(window, "FM017"))]
    run(
        ["--library", str(window.desk.path), "swatch", "edit", "Fennmoor", "FM017", "--name", "New"]
    )
    capsys.readouterr()
    answer = window.post("/wall/own", sent, accept="application/json")
    assert answer.status == 409
    assert "was changed since" in json.loads(answer.body)["said"]
    assert not owned(window, "FM017")
    assert "was changed since" in shown(window.follow(window.post("/wall/own", sent)).text)


@pytest.mark.parametrize("text", ["", "owned=1", "owned=2 x Fennmoor:FM017", "owned=1 x No:1", "x"])
def test_a_tick_that_means_nothing_does_nothing(window, text):
    mark = window.desk.mark()
    answer = window.post("/wall/own", [("set", text)], accept="application/json")
    assert answer.status == 409
    assert window.desk.mark() == mark


def test_ticks_of_one_page_are_one_change_for_a_minute(window, monkeypatch):
    def words():
        with window.desk.reading() as library:
            return [change.words for change in library.changes()]

    codes = ("FM017", "FM018", "FM019", "FM020", "FM021", "FM022")
    before, mine = words(), [owned(window, code) for code in codes]
    for code in ("FM017", "FM018", "FM019"):
        window.post("/wall/own", [("set", chip(window, code)), ("page", "one")])
    assert len(words()) == len(before) + 1
    assert re.fullmatch(r"you own FM019 .+ and 2 changes before it", words()[0])
    window.post("/wall/own", [("set", chip(window, "FM020")), ("page", "other")])
    window.post("/wall/own", [("set", chip(window, "FM021")), ("page", "one")])
    assert len(words()) == len(before) + 3
    monkeypatch.setattr("stopgap.library.store.history.TOGETHER", -1.0)
    window.post("/wall/own", [("set", chip(window, "FM022")), ("page", "one")])
    assert len(words()) == len(before) + 4
    with window.desk.reading() as library:
        number = library.changes()[0].number
    for _ in range(4):
        page = window.follow(window.post("/history/undo", [("change", str(number))]))
        assert "Taken back: you " in shown(page.text)
        found = re.search(r'name="change" value="(\d+)"', page.text)
        number = found[1]
    assert [owned(window, code) for code in codes] == mine
    assert words()[4:] == before


def test_undo_and_redo_take_only_what_was_seen(window):
    window.post("/wall/own", [("set", chip(window, "FM017"))])
    seen = re.search(r'name="change" value="(\d+)"', window.get("/history").text)[1]
    window.post("/wall/own", [("set", chip(window, "FM018"))])
    stale = window.follow(window.post("/history/undo", [("change", seen)]))
    assert "is not the newest" in shown(stale.text)
    assert owned(window, "FM017")
    newest = re.search(r'name="change" value="(\d+)"', window.get("/history").text)[1]
    window.post("/history/undo", [("change", newest)])
    assert "Taken back" not in shown(
        window.follow(window.post("/history/undo", [("change", newest)])).text
    )
    window.post("/history/redo", [("change", newest)])
    assert "Do again" not in shown(window.get("/history").text)


def test_what_takes_back_many_imports_names_the_first_of_them(window, tmp_path):
    file = tmp_path / "new.csv"
    file.write_text("code,L,a,b\nA1,50,0,0\n", encoding="utf-8")
    with open_library(window.desk.path) as library, library.changing("all of it"):
        for number in range(6):
            import_range(library, read_range(file, f"New {number}", Convention()))
    page = shown(window.get("/history").text)
    assert "Take back: all of it; import of New 0; import of New 1 and 4 more" in page


def test_what_was_bought_is_owned(window):
    sent = {"list": "#31c0a0", "alone": "yes", "tolerance": "9"}
    page = window.get(f"/shop?{urlencode(sent)}").text
    pencils = re.search(r'name="pencils" value="([^"]+)"', page)[1]
    page = window.follow(window.post("/shop/bought", [("pencils", pencils)]))
    assert "You own " in shown(page.text)
    assert owned(window, pencils.split(":")[1].split(";")[0])


def test_what_is_bought_of_a_plan_is_owned_one_by_one_within_a_budget(window):
    asked = {"blends": "FM113; FM112", "list": "#31c0a0\n#e04090"}
    asked |= {"alone": "yes", "tolerance": "9"}
    page = window.get(f"/shop?{urlencode(asked)}").text
    forms = re.findall(
        r'action="/shop/bought" aria-label="I bought ([^"]+)">(.*?)</form>', page, re.S
    )
    assert len(forms) > 1
    most = float(re.search(r'type="range"[^>]* max="([\d.]+)"', page)[1])
    code, form = forms[0]
    fields = [
        (name, unescape(text)) for name, text in re.findall(r'name="(\w+)" value="([^"]*)"', form)
    ]
    after = window.follow(window.post("/shop/bought", fields))
    assert owned(window, code)
    assert f"I bought {code}" not in after.text
    less = window.get(f"/shop?{urlencode({**asked, 'budget': '1', 'most': most})}").text
    assert f'max="{most}"' in less
    assert "stays open" in shown(less) or "Nothing to buy" in shown(less)


def test_layers_go_over_what_lies_there_already(window, own_library, capsys):
    asked = {"first": "FM013", "over": "FM003 light", "second": "FM017"}
    panel = find_room("layers").answer(window.desk, Sent(list(asked.items())))
    words = "layer FM003 FM013 FM017 --pressure light --pressure heavy --pressure heavy --json"
    assert run(["--library", str(own_library), *words.split()]) == 0
    told = json.loads(capsys.readouterr().out)
    assert panel.report.data["lab"] == told["lab"]
    assert "what lies there already" in shown(window.get(f"/layers?{urlencode(asked)}").text)


def test_a_blend_tells_what_closes_it_and_the_ways_it_can_go(window):
    asked = {"from": "FM013", "to": "FM055", "alone": "yes"}
    broken = shown(window.get(f"/blends?{urlencode(asked)}").text)
    assert "are gaps" in broken
    listed = {**asked, "look": "listed", "blends": "FM013; FM055"}
    gaps = find_room("blends").answer(window.desk, Sent(list(listed.items()))).report.data["gaps"]
    closing = [one["code"] for gap in gaps for one in gap["closing"]]
    assert len(closing) > 2
    assert all(code in broken for code in closing)
    ways = read(window.get(f"/blends?{urlencode({**asked, 'look': 'ways'})}").text)
    links = [link for link in ways.links if link.startswith("/blends?from")]
    assert len(links) > 1
    assert all(window.get(link).text.count('<ol class="strip') >= 1 for link in links)


def test_a_list_comes_as_a_file(window):
    body = (
        b'--b\r\nContent-Disposition: form-data; name="file"; filename="l.csv"\r\n\r\n'
        b"colour;label\nFM031;dusk\n\r\n--b--\r\n"
    )
    answer = window.post(
        "/lists/bring", body, **{"content-type": "multipart/form-data; boundary=b"}
    )
    page = window.follow(answer)
    assert "dusk" in shown(page.text)
    assert "colour,label\nFM031,dusk" in page.text


def test_what_is_kept_for_good_is_taken(own_library):
    window = Window(own_library, Usual(on="tan", step=7.0)).enter()
    assert 'value="7"' in window.get("/blends").text
    assert "on tan" in shown(window.get("/match?target=FM017").text)


def missing(path):
    path.unlink()


def replaced(path):
    path.write_bytes(b"not a library, though as long as one might be" * 100)


def newer(path):
    import sqlite3

    with sqlite3.connect(path) as connection:
        connection.execute("PRAGMA user_version = 9999")
    connection.close()


def a_folder(path):
    path.unlink()
    path.mkdir()


@pytest.mark.parametrize("trouble", [missing, replaced, newer, a_folder])
def test_a_library_that_cannot_be_used_is_a_sentence(window, trouble):
    tick = [("set", chip(window, "FM017"))]
    trouble(window.desk.path)
    for room in ROOMS:
        page = window.get(
            f"/{room}?target=FM017&from=FM001&to=FM002&layers=no&list=FM001&first=FM001"
        )
        assert page.status == 200
        if room not in ("guide", "bring"):
            assert str(window.desk.path) in shown(page.text)
            assert re.search(r'id="said"[^>]*>\s*<p>', page.text)
    assert window.get("/mark").status == 200
    if trouble is not missing:
        assert window.post("/wall/own", tick, accept="application/json").status == 409


def test_a_locked_library_is_a_sentence_soon(window, monkeypatch):
    tick = [("set", chip(window, "FM017"))]
    for patience in ("_READING", "_CHANGING"):
        monkeypatch.setattr(f"stopgap.desk.asking.{patience}", 0.1)
    with closing(sqlite3.connect(window.desk.path, isolation_level=None)) as other:
        other.execute("BEGIN EXCLUSIVE")
        begun = time.monotonic()
        page = shown(window.get("/wall").text)
        told = window.post("/wall/own", tick, accept="application/json")
        assert time.monotonic() - begun < 15.0  # not half a minute for each look
    assert page.count("is in use by another program. Close it there and try again.") == 1
    assert told.status == 409
    assert not owned(window, "FM017")


def test_a_read_only_library_is_a_sentence(window, monkeypatch):
    """Opened as SQLite opens a file that may not be written to, which root always may."""
    tick = [("set", chip(window, "FM017"))]
    connect, opened = sqlite3.connect, []

    def reading(address, *args, **kwargs):
        opened.append(address)
        return connect(re.sub("mode=rwc?$", "mode=ro", address), *args, **kwargs)

    with monkeypatch.context() as locked:
        locked.setattr(sqlite3, "connect", reading)
        told = window.post("/wall/own", tick, accept="application/json")
        page = window.follow(window.post("/wall/own", tick))
    assert any(address.endswith("mode=rwc") for address in opened)
    assert told.status == 409
    assert "may not be written to" in json.loads(told.body)["said"]
    assert "may not be written to" in shown(page.text)
    assert not owned(window, "FM017")


def line_of(window, family):
    panel = find_room("wall").answer(window.desk, Sent())
    found = next(one for one in panel.report.data["families"] if one["name"] == family)
    return [one["swatch"]["code"] for one in found["swatches"]]


def test_a_pencil_is_filed_where_a_button_says(window, own_library, tmp_path, capsys):
    line = line_of(window, "reds")
    page = window.get(f"/match?target={line[1]}").text
    form = re.search(r'aria-label="Earlier">(.*?)</form>', page, re.S)[1]
    fields = re.findall(r'name="(\w+)" value="([^"]*)"', form)
    other = tmp_path / "other.sqlite"
    shutil.copy(own_library, other)
    for _ in range(2):  # said again it changes nothing
        told = json.loads(window.post("/wall/move", fields, accept="application/json").body)
        assert not told["stale"]
        assert line_of(window, "reds")[:2] == [line[1], line[0]]
    sent = dict(fields)
    words = ["family", "move", sent["pencil"], "reds", "--before", sent["before"]]
    assert run(["--quiet", "--library", str(other), *words]) == 0
    capsys.readouterr()
    assert line_of(Window(other).enter(), "reds") == line_of(window, "reds")


class HeldOrders(Orders):
    """Orders that are searched once they are `let_go`, however soon they would be found."""

    def __init__(self):
        super().__init__(patience=0.0)
        self.let_go = Event()

    def _search(self):
        assert self.let_go.wait(60.0)
        super()._search()


def test_the_first_move_waits_for_no_search(window):
    line = line_of(window, "reds")
    sent = [("pencil", line[0]), ("family", "reds"), ("after", line[1])]
    before, orders = window.desk.mark(), window.desk.orders
    window.desk.orders = held = HeldOrders()
    answer = window.post("/wall/move", sent, accept="application/json")
    held.let_go.set()
    assert answer.status == 409
    assert "Do it again in a moment." in json.loads(answer.text)["said"]
    assert window.desk.mark() == before
    window.desk.orders = orders
    assert "is filed under" in shown(window.follow(window.post("/wall/move", sent)).text)


def test_a_family_of_ones_own_takes_pencils(window):
    page = window.follow(window.post("/wall/family", [("name", "Fjord blues")]))
    assert "There is a family Fjord blues now" in shown(page.text)
    page = window.get("/match?target=FM017").text
    assert '<option value="Fjord blues">' in page
    window.post("/wall/move", [("pencil", "Fennmoor:FM017"), ("family", "Fjord blues")])
    assert line_of(window, "Fjord blues") == ["FM017"]
    stale = [("pencil", "Fennmoor:FM018"), ("family", "roses"), ("after", "Fennmoor:FM017")]
    assert window.post("/wall/move", stale, accept="application/json").status == 409


def test_families_are_renamed_joined_parted_and_shown_otherwise(window, own_library, capsys):
    def did(deed, **fields):
        return shown(window.follow(window.post(f"/wall/{deed}", list(fields.items()))).text)

    reds, oranges = line_of(window, "reds"), line_of(window, "oranges")
    assert "warm reds now" in did("rename", family="reds", name="warm reds")
    assert "3 of warm reds" in did(
        "part", family="warm reds", pencils="; ".join(reds[1:4]), name="Fjord reds"
    )
    assert line_of(window, "Fjord reds") == reds[1:4]
    assert "stands behind Fjord reds" in did("join", family="oranges", into="Fjord reds")
    assert line_of(window, "Fjord reds") == [*reds[1:4], *oranges]
    did("family", name="Spare")
    assert "no family Spare" in did("remove", family="Spare")
    assert "holds" in did("remove", family="wines")  # which has pencils, so that it stays
    before = line_of(window, "wines")
    assert "by Shelf now" in did("begin", name="Shelf", begins="proposal")
    assert line_of(window, "reds") == reds
    assert "there already" in did("begin", name="shelf")
    assert "by mine now" in did("use", name="mine")
    assert (line_of(window, "wines"), line_of(window, "Fjord reds")[:3]) == (before, reds[1:4])
    assert run(["--library", str(own_library), "family", "wall", "--json"]) == 0
    told = json.loads(capsys.readouterr().out)["families"]
    command = {each["name"]: [one["swatch"]["code"] for one in each["swatches"]] for each in told}
    assert command["Fjord reds"] == line_of(window, "Fjord reds")
    page = window.get("/wall?arrange=yes&size=large").text
    assert '<option value="Fjord reds">' in page
    assert 'class="chips-large"' in page


def test_a_large_wall_has_parts_that_hold_every_pencil(window, monkeypatch):
    whole = re.findall(r'data-pencil="([^"$]+)"', window.get("/wall").text)
    monkeypatch.setattr("stopgap.desk.rooms.wall.MOST_CHIPS", 60)
    monkeypatch.setattr("stopgap.desk.rooms.wall._PART", 60)
    first = window.get("/wall?touch=look")
    parts = [link for link in read(first.text).links if "from=" in link]
    found = [re.findall(r'data-pencil="([^"$]+)"', window.get(link).text) for link in parts]
    assert len(parts) >= 4
    assert max(map(len, found)) <= 60
    assert [pencil for part in found for pencil in part] == whole
    assert found[0] == re.findall(r'data-pencil="([^"$]+)"', first.text)


def test_two_windows_and_the_command_line_lose_nothing(window, own_library, capsys):
    """Ticks of two pages and commands at once: each is there in the end, in a whole library."""
    other = Window(own_library).enter()
    with window.desk.reading() as library:
        free = [one.address for one in library.swatches() if not one.owned][:15]

    def tick(seat, page, address):
        sent = [("set", chip(seat, address.partition(":")[2])), ("page", page)]
        return seat.post("/wall/own", sent, accept="application/json").status

    jobs = []
    with ThreadPoolExecutor(6) as pool:
        for place, address in enumerate(free):
            if place % 3 == 2:
                words = ["--quiet", "--library", str(own_library), "own", address]
                jobs.append(pool.submit(subprocess.call, [sys.executable, "-c", COMMAND, *words]))
            else:
                jobs.append(pool.submit(tick, (window, other)[place % 3], f"p{place % 3}", address))
        found = [job.result() for job in jobs]
    assert set(found) == {0, 200}
    with window.desk.reading() as library:
        owned_now = {one.address for one in library.swatches() if one.owned}
    assert set(free) <= owned_now
    assert run(["--library", str(own_library), "library", "check"]) == 0


def test_who_reads_holds_up_nobody_who_joins_ticks(window, own_library):
    """A tick waits for the library with the desk's lock in hand: no reader may wait for that."""
    with ThreadPoolExecutor(1) as pool:
        with window.desk.lock:
            wall = pool.submit(window.get, "/wall?on=tan")
            wait([wall], timeout=1.0)
            assert not wall.done()
            with open_library(own_library) as library:
                decide_owned(library, ["Fennmoor:FM017"], owned=True)
        assert wall.result().status == 200


COMMAND = "from stopgap.cli.program import run; raise SystemExit(run())"
