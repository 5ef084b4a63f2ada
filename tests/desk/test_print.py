"""Charts and cards as files, and a coloured page read back, seen before it is stored."""

import json
import re
from io import BytesIO

import pytest
from pypdf import PdfReader
from test_bring import as_file
from test_rooms import shown

from stopgap.cli.program import run
from stopgap.library import Convention, import_range, read_range, stored_editions
from stopgap.reports.drawing.coloured import coloured_page
from stopgap.swatches import Source


def test_a_chart_is_the_edition_that_the_command_draws(window, tmp_path, capsys):
    answer = window.post("/print/chart", [("range", "Quillet"), ("family", "reds")])
    assert (answer.status, answer.headers["content-type"]) == (200, "application/pdf")
    number = re.search(r'filename="chart-(\d+)\.pdf"', answer.headers["content-disposition"])[1]
    text = "".join(page.extract_text() for page in PdfReader(BytesIO(answer.body)).pages)
    assert "Q5" in text
    words = ["chart", str(tmp_path / "c.pdf"), "--range", "Quillet", "--family", "reds"]
    assert run(["--library", str(window.desk.path), *words]) == 0
    assert f"edition {number}" in capsys.readouterr().out
    with window.desk.reading() as library:
        assert len(stored_editions(library)) == 1


def test_a_card_of_two_pencils(window):
    answer = window.post("/print/card", [("first", "FM012"), ("second", "BW08")])
    assert answer.headers["content-type"] == "application/pdf"
    text = PdfReader(BytesIO(answer.body)).pages[0].extract_text()
    assert "FM012" in text
    assert "BW08" in text
    page = window.follow(window.post("/print/card", [("first", "FM012"), ("second", "nobody")]))
    assert "No swatch is called" in shown(page.text)


def read(window, some):
    """What the desk says of a coloured page of `some` pencils; nothing is changed by it."""
    with window.desk.changing() as library:
        page = coloured_page(library, some)
    body, kind = as_file("", device="flatbed")
    body = body.replace(b"application/pdf", b"").replace(
        b'filename="C:\\\\x\\\\mine.csv"\r\n\r\n', b'filename="p.png"\r\n\r\n' + page
    )
    before = window.desk.mark()
    looked = window.post("/print/read", body, **kind)
    assert window.desk.mark() == before
    return looked, window.follow(looked)


def test_what_is_measured_already_is_not_offered(window):
    with window.desk.reading() as library:
        some = [one for one in library.swatches() if one.range == "Quillet"][:1]
    _, seen = read(window, some)
    assert "There is nothing to store." in shown(seen.text)
    assert "Take what was read" not in seen.text


def test_a_coloured_page_is_seen_before_it_is_stored(window, tmp_path):
    file = tmp_path / "tin.csv"
    rows = [f"T{at},{20 * at},{5 * at},{9 - at}" for at in range(1, 5)]
    file.write_text("\n".join(["code,L,a,b", *rows]), encoding="utf-8")
    with window.desk.changing() as library:
        import_range(library, read_range(file, "Tin", Convention("D50", 2, Source.SCANNED)))
        some = [one for one in library.swatches() if one.range == "Tin"]
    looked, seen = read(window, some)
    assert "Take what was read" in seen.text
    assert "T1" in shown(seen.text)
    assert seen.text.count('<img src="data:image/png;base64,') == 4
    assert "img-src 'self' data:;" in seen.headers["content-security-policy"]
    key = re.search(r"scan=([\w-]+)", looked.headers["location"])[1]
    told = window.follow(window.post("/print/take", [("scan", key)]))
    assert "4 pencils have the colours read" in shown(told.text)
    again = window.post("/print/take", [("scan", key)], accept="application/json")
    assert again.status == 409
    assert "not waiting here any more" in json.loads(again.body)["said"]


def test_an_answer_is_kept_as_the_sheet_that_the_command_writes(window, tmp_path, capsys):
    asked = [("target", "FM017"), ("layers", "never"), ("which", "owned")]
    answer = window.post("/match/keep", asked)
    assert answer.headers["content-disposition"] == 'attachment; filename="match.html"'
    out = tmp_path / "sheet.html"
    words = ["sheet", str(out), "--for", "match", "FM017", "--no-layers", "--owned"]
    assert run(["--library", str(window.desk.path), *words]) == 0
    capsys.readouterr()
    section = re.compile(r"<section.*</section>", re.S)
    here, there = (section.search(text)[0] for text in (answer.text, out.read_text("utf-8")))
    assert shown(here) == shown(there)
    assert "form-action" in answer.text  # the policy of a page that sends nothing
    assert "There is nothing to keep yet" in shown(window.follow(window.post("/match/keep")).text)


def test_the_page_for_the_phone_is_that_of_the_command(window, tmp_path, capsys):
    answer = window.post("/print/phone", [])
    out = tmp_path / "phone.html"
    words = ["pocket", str(out), "--no-recipes"]
    assert run(["--library", str(window.desk.path), *words]) == 0
    capsys.readouterr()
    assert answer.body == out.read_bytes()


@pytest.mark.parametrize("held", ["", "no picture", "\x89PNG\r\n\x1a\n"])
def test_what_is_no_picture_is_a_sentence(window, held):
    body, kind = as_file(held, device="phone")
    answer = window.post("/print/read", body, **kind)
    page = window.follow(answer)
    assert page.status == 200
    assert re.search(r'id="said"[^>]*>\s*<p>', page.text)
    assert "/print/take" not in page.text
