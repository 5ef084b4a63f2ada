"""A first start, and a spreadsheet brought in: seen and mended first, stored when it is taken."""

import json
import re
from html import unescape

import pytest
from test_rooms import shown
from window import Window

from stopgap.cli.program import run
from stopgap.library import open_library

SHEET = "Nr;Farbname;L;a;b;mine\nA1;Wet Slate;45,2;-1,5;-4,3;ja\nA2;Gull;80;0,2;x;nein\n"


@pytest.fixture
def empty(tmp_path):
    return Window(tmp_path / "new" / "library.sqlite").enter()


def as_file(text, **fields):
    """A form with a file, and what a browser says it is."""
    parts = [
        f'--b\r\nContent-Disposition: form-data; name="{k}"\r\n\r\n{v}\r\n'
        for k, v in fields.items()
    ]
    parts.append(
        '--b\r\nContent-Disposition: form-data; name="file"; filename="C:\\\\x\\\\mine.csv"\r\n\r\n'
    )
    body = "".join(parts).encode() + text.encode() + b"\r\n--b--\r\n"
    return body, {"content-type": "multipart/form-data; boundary=b"}


def test_a_first_start_leads_to_what_can_be_brought(empty):
    assert empty.get("/").headers["location"] == "/bring"
    assert "Bring in a range, or look at invented ones" in shown(empty.get("/wall").text)
    steps = shown(empty.get("/bring").text)
    for step in (
        "Look at invented pencils first",
        "a spreadsheet",
        "a chart to colour in",
        "its scan",
    ):
        assert step in steps
    assert not empty.desk.path.exists()  # looking makes none
    page = empty.follow(empty.post("/bring/demo"))
    assert "Three invented ranges are here" in shown(page.text)
    assert empty.get("/").headers["location"] == "/wall"
    again = empty.follow(empty.post("/bring/demo"))
    assert "There are ranges here already" in shown(again.text)


@pytest.mark.parametrize("room", ["wall", "match?target=FM1", "lists?list=FM1", "holes?layers=no"])
def test_where_there_is_no_pencil_each_room_says_so_and_leads_on(empty, room):
    with open_library(empty.desk.path):
        pass
    page = shown(empty.get(f"/{room}").text)
    assert "There is no pencil in the library yet." in page
    assert "Bring in a range, or look at invented ones" in page


def key_of(answer):
    return re.search(r"key=([\w-]+)", answer.headers["location"])[1]


def test_who_names_no_range_has_it_called_as_its_file_and_loses_nothing(empty):
    body, kind = as_file(SHEET)
    page = empty.follow(empty.post("/bring/look", body, **kind)).text
    assert "Take 1 pencil as mine" in page
    page = empty.follow(empty.post("/bring/look", [("table", SHEET)])).text
    assert "Take 1 pencil as the pasted table" in page


def test_nothing_is_stored_before_it_is_taken(empty, capsys, tmp_path):
    body, kind = as_file(SHEET, name="Mine")
    looked = empty.post("/bring/look", body, **kind)
    page = empty.follow(looked)
    assert "Nothing is stored yet." in shown(page.text)
    assert "Take 1 pencil as Mine" in page.text
    assert "found 'x' in column b" in shown(page.text)
    assert not empty.desk.path.exists()

    table = SHEET.replace(";x;", ";2,1;")
    cells = re.findall(r'<td[^>]*><input type="text" name="([^"]+)" value="([^"]*)"', page.text)
    assert ("cell 3 4", "x") in cells
    wrong = re.findall(r'<td class="wrong"><input type="text" name="([^"]+)"', page.text)
    assert wrong == ["cell 3 4"]
    cells = [(name, "2,1" if text == "x" else unescape(text)) for name, text in cells]
    mended = empty.post("/bring/look", [("key", key_of(looked)), ("name", "Mine"), *cells])
    page = empty.follow(mended)
    assert "Take 2 pencils as Mine" in page.text
    stale = empty.follow(empty.post("/bring/take", [("key", key_of(looked))]))
    assert "not waiting here any more" in shown(stale.text)
    page = empty.follow(empty.post("/bring/take", [("key", key_of(mended))]))
    assert "Gull" in page.text

    (tmp_path / "mine.csv").write_text(table, encoding="utf-8")
    other = tmp_path / "other.sqlite"
    words = ["range", "import", str(tmp_path / "mine.csv"), "--name", "Mine", "--yes"]
    assert run(["--quiet", "--library", str(other), *words]) == 0
    answers = []
    for path in (empty.desk.path, other):
        capsys.readouterr()
        assert run(["--library", str(path), "range", "show", "Mine", "--json"]) == 0
        answers.append(json.loads(capsys.readouterr().out))
    assert answers[0] == answers[1]


def test_cells_that_are_left_alone_leave_the_file_alone(empty):
    body, kind = as_file(SHEET, name="Mine")
    looked = empty.post("/bring/look", body, **kind)
    page = empty.follow(looked).text
    cells = re.findall(r'<td[^>]*><input type="text" name="([^"]+)" value="([^"]*)"', page)
    again = empty.post(
        "/bring/look", [("key", key_of(looked)), ("name", "Mine"), ("white", "D65"), *cells]
    )
    brought = empty.desk.brought[key_of(again)]
    assert brought.held == SHEET.encode()
    assert '<option value="D65" selected>' in empty.follow(again).text
    empty.post("/bring/take", [("key", key_of(again))])
    with empty.desk.reading() as library:
        (found,) = library.ranges()
        assert found.white == "D65"


def test_a_mended_cell_says_so_in_itself(empty):
    body, kind = as_file("code,name,L,a,b\n1,GrÃ¼n,50,-40,20\n2,Kelp,40,2,9\n", name="Mine")
    page = empty.follow(empty.post("/bring/look", body, **kind)).text
    (cell,) = re.findall(r"<td[^>]*>(?:(?!</td>).)*taken as Grün", page, re.S)
    assert 'value="GrÃ¼n"' in cell


def test_a_column_is_what_one_says_it_is(empty):
    body, kind = as_file(SHEET, name="Mine")
    looked = empty.post("/bring/look", body, **kind)
    asked = [("key", key_of(looked)), ("name", "Mine"), ("column mine", "note")]
    mended = empty.post("/bring/look", asked)
    empty.follow(mended)
    empty.post("/bring/take", [("key", key_of(mended))])
    with empty.desk.reading() as library:
        (pencil,) = library.swatches()
    assert (pencil.note, pencil.owned) == ("ja", False)


@pytest.mark.parametrize(
    "text", ["nothing here", "\x00\x01", "PK\x03\x04not a workbook", "a;b\n" * 3]
)
def test_what_is_no_range_is_a_sentence(empty, text):
    body, kind = as_file(text, name="Mine")
    page = empty.follow(empty.post("/bring/look", body, **kind))
    assert page.status == 200
    assert re.search(r'id="said"[^>]*>\s*<p>.+\s*<p>', page.text)
    assert "/bring/take" not in page.text


def test_a_range_is_renewed_only_where_one_says_so(window):
    body, kind = as_file("code,L,a,b\nQ1,50,0,0\n", name="Quillet")
    looked = window.post("/bring/look", body, **kind)
    told = window.post("/bring/take", [("key", key_of(looked))], accept="application/json")
    assert told.status == 409
    assert "Say that it renews that range" in json.loads(told.body)["said"]


def test_few_wait_at_once(empty):
    keys = []
    for _ in range(6):
        body, kind = as_file(SHEET, name="Mine")
        keys.append(key_of(empty.post("/bring/look", body, **kind)))
    assert len(empty.desk.brought) == 4
    assert "not waiting here any more" in shown(empty.get(f"/bring?key={keys[0]}").text)
