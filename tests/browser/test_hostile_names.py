"""Names that are script, markup, formulas, paths or steer a terminal, through every output."""

import csv
import io
import json
import re
import sys
from concurrent.futures import ThreadPoolExecutor
from html.parser import HTMLParser
from pathlib import Path
from urllib.parse import urlencode

import openpyxl
import pytest
from PIL import Image
from pypdf import PdfReader

import stopgap
from stopgap.cli.program import run
from stopgap.library import (
    Convention,
    Entry,
    EntryKind,
    keep_arrangement,
    keep_paper,
    open_library,
    read_range,
)
from stopgap.library.tables.cells import UNSEEN, written_out
from stopgap.swatches import ArrangedFamily, Arrangement, OwnPlace, Paper, Source, Swatch

sys.path.insert(0, str(Path(__file__).parents[1] / "desk"))

pytestmark = pytest.mark.slow

NAMES = (
    "<script>alert(1)</script>",
    '"><img src=x onerror=alert(2)>',
    "</style></title></script><script>alert(3)</script>",
    "' onmouseover='alert(4)' x='",
    "javascript:alert(5)",
    "]]><svg onload=alert(6)>--><script>alert(7)</script>",
    "\x1b[31m\x1b]0;title\x07red\x9b31m",
    "\u202eevil\u2066 \u200fleft",
    '=HYPERLINK("http://h.invalid")',
    "+cmd|' /C calc'!A0",
    "@SUM(1)",
    "../../../outside",
    "C:\\NUL",
    "{{ 7 * 7 }}{% raw %}${7*7}",
    r"$\frac{1}{2}$ \input{x} $x_",
    "&lt;b&gt;&#x3c;",
    "two\nlines\tand a tab",
    "nul\x00nul",
    "%s %(x)s {0}",
)
RANGE = '<b onclick="alert(8)">F</b>&'
COLOURS = [(20.0 + 4 * place, 12.0 * (place % 5 - 2), 9.0 * (place % 4)) for place in range(19)]
FORMULA = ("=", "+", "-", "@", "\t", "\r")
MARKS = re.compile(r"alert|onclick|onerror|onload|h\.invalid", re.IGNORECASE)


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    """A library whose every text is hostile, and lists that name its pencils."""
    folder = tmp_path_factory.mktemp("hostile")
    with open_library(folder / "library.sqlite", as_one=True) as library:
        for name, lab in zip(NAMES, COLOURS, strict=True):
            swatch = Swatch(
                RANGE, name, lab, name, owned=True, note=name, price=1.5, extra={f"x {name}": name}
            )
            entry = Entry(EntryKind.LAB, lab)
            library.add_swatch(swatch, entry, new_range=True, what=f"adding {name}")
        places = tuple(OwnPlace(f"{RANGE}:{name}") for name in NAMES[:9])
        families = (ArrangedFamily(NAMES[0], places[:5]), ArrangedFamily(NAMES[6], places[5:]))
        keep_arrangement(library, Arrangement(NAMES[1], families), "filing")
        keep_paper(library, Paper(name=NAMES[2], default=True))
    with (folder / "list.csv").open("w", encoding="utf-8", newline="") as file:
        rows = [("colour", "label"), *(("#804020", name) for name in NAMES[:9])]
        csv.writer(file).writerows(rows)
    with (folder / "buy.csv").open("w", encoding="utf-8", newline="") as file:
        csv.writer(file).writerows([("colour",), *((f"{RANGE}:{name}",) for name in NAMES[:6])])
    with (folder / "blends.csv").open("w", encoding="utf-8", newline="") as file:
        rows = [("name", "from", "to"), *((name, "#402010", "#d0c0b0") for name in NAMES[:3])]
        csv.writer(file).writerows(rows)
    return folder


@pytest.fixture
def say(folder, capsys, monkeypatch):
    """Run a command in the folder; what it printed, and nothing that steers a terminal."""
    monkeypatch.chdir(folder)

    def call(*words):
        capsys.readouterr()
        status = run(["--library", "library.sqlite", *words])
        said = capsys.readouterr()
        assert status == 0, said.err
        assert not UNSEEN.search(said.out)
        assert not UNSEEN.search(said.err)
        return said.out

    return call


ROWS = {
    "show": ("range", "show", RANGE),
    "match": ("match", f"{RANGE}:{NAMES[0]}", "--limit", "9", "--no-layers"),
    "find": ("find", "alert"),
    "family": ("family",),
    "translate": ("translate", "list.csv", "--no-layers"),
    "gaps": ("gaps", "blends.csv", "--no-layers"),
    "papers": ("paper", "list"),
    "arrangements": ("arrangement", "list"),
    "history": ("history",),
    "kit": ("kit", "--size", "3", "--list", "buy.csv"),
    "holes": ("holes", "--no-layers"),
    "tones": ("tones", f"{RANGE}:{NAMES[13]}", "--no-layers"),
    "shop": ("shop", "--list", "list.csv", "--tolerance", "90"),
    "settings": ("settings",),
}


@pytest.mark.parametrize("command", ROWS)
def test_terminal_csv_and_json_tell_them_harmlessly(command, say):
    assert say(*ROWS[command])
    for row in csv.reader(io.StringIO(say(*ROWS[command], "--csv"))):
        for cell in row:
            assert cell[:1] not in FORMULA or re.fullmatch(r"[-+]?[\d.]+", cell), cell
    json.loads(say(*ROWS[command], "--json"))


def test_json_has_every_name_as_it_is(say):
    told = json.loads(say("range", "show", RANGE, "--json"))
    assert {each["swatch"]["name"] for each in told["swatches"]} == set(NAMES)


@pytest.mark.parametrize("form", ["csv", "xlsx", "cgats", "cxf"])
def test_files_bring_every_name_back(form, say, folder):
    path = folder / f"out.{form}"
    say("range", "export", RANGE, path.name, "--overwrite")
    draft = read_range(path, RANGE, Convention("D50", 2, Source.MEASURED))
    for swatch, name in zip((each for each, _ in draft.swatches), NAMES, strict=True):
        for text in (swatch.code, swatch.name, swatch.note):
            assert written_out(text) == written_out(name)
    if form == "xlsx":
        cells = [cell for row in openpyxl.load_workbook(path).active for cell in row]
        assert not [cell for cell in cells if cell.data_type == "f" or cell.hyperlink]


HARMLESS = """() => {
  const all = [...document.querySelectorAll('*')];
  const attributes = all.flatMap(one => [...one.attributes]);
  return {
    events: attributes.filter(one => one.name.startsWith('on')).length,
    links: attributes.map(one => one.value)
      .filter(value => /^\\s*(javascript:|data:(?!image\\/png|text\\/csv))/i.test(value)),
    loaded: all.filter(one => /^(img|iframe|object|embed|foreignobject|base|form)$/i
      .test(one.localName)).length,
    scripts: all.filter(one => one.localName === 'script').length,
  };
}"""
PAGES = {
    "wall.html": ("sheet", "--title", NAMES[2]),
    "match.html": ("sheet", "--for", "match", f"{RANGE}:{NAMES[1]}", "--no-layers"),
    "list.html": ("sheet", "--for", "list", "list.csv", "--no-layers"),
    "blends.html": ("sheet", "--for", "blends", "blends.csv", "--no-layers"),
    "range.html": ("sheet", "--for", "range", RANGE),
    "pocket.html": ("pocket", "--no-recipes", "--title", NAMES[2], "--buy", "buy.csv"),
    "chart.svg": ("chart", "--title", NAMES[2]),
    "plot.svg": ("plot", "--target", f"{RANGE}:{NAMES[14]}"),
    "holes.html": ("sheet", "--for", "holes", "--no-layers"),
    "kit.html": ("sheet", "--for", "kit", "--size", "3", "--list", "buy.csv"),
    "card.svg": ("chart", "--card", f"{RANGE}:{NAMES[0]}", f"{RANGE}:{NAMES[1]}"),
    "strip.svg": ("plot", "--kind", "blend", "--blends", "blends.csv"),
}


def drawn(say, folder, name):
    command, *words = PAGES[name]
    say(command, name, "--overwrite", *words)
    return sorted(folder.glob(f"{name.partition('.')[0]}*.{name.rpartition('.')[2]}"))[0]


@pytest.mark.parametrize("name", PAGES)
def test_nothing_runs_on_a_page_or_in_a_drawing(name, say, folder, visit):
    visitor = visit()
    page = visitor.open(drawn(say, folder, name))
    if name == "pocket.html":
        page.wait_for_selector("#query")
        page.fill("#query", "alert")
        page.wait_for_selector("text=alert(1)")
    found = page.evaluate(HARMLESS)
    scripts = found.pop("scripts")
    assert found == {"events": 0, "links": [], "loaded": 0}
    # ours alone: a sheet has one where colours touch
    assert scripts == {"pocket.html": 2}.get(name, min(scripts, int(name.endswith(".html"))))
    assert not UNSEEN.search(page.inner_text("body") if name.endswith("html") else page.content())
    assert visitor.requests == [page.url]


class Elements(HTMLParser):
    """What of a page could do something: events, foreign addresses, names that became elements."""

    def __init__(self, html):
        super().__init__()
        self.found = []
        self.texts = []
        self.feed(html)

    def handle_starttag(self, tag, attrs):
        if tag in ("img", "iframe", "object", "embed", "base", "b"):
            self.found.append(tag)
        for name, value in attrs:
            if name.startswith("on") or re.match(r"\s*(javascript|https?):", value or ""):
                self.found.append((tag, name, value))
            if (tag, name) == ("svg", "onload"):
                self.found.append(tag)

    def handle_data(self, data):
        self.texts.append(data)


ASKED = {
    "wall": {"touch": "tick"},
    "match": {"target": f"{RANGE}:{NAMES[0]}", "layers": "never"},
    "lists": {"list": "\n".join(f"{RANGE}:{name}" for name in NAMES[:4]), "alone": "yes"},
    "blends": {"from": f"{RANGE}:{NAMES[0]}", "to": f"{RANGE}:{NAMES[1]}", "alone": "yes"},
    "layers": {"first": f"{RANGE}:{NAMES[0]}", "second": f"{RANGE}:{NAMES[2]}"},
    "shop": {"list": NAMES[1], "alone": "yes"},
    "holes": {"layers": "no"},
    "history": {},
    "bring": {},
    "guide": {},
    "print": {},
}


@pytest.mark.parametrize("room", ASKED)
def test_nothing_of_a_name_is_markup_in_a_room(room, folder):
    from window import Window

    from stopgap.desk.pages import ROOMS

    assert set(ASKED) == set(ROOMS)

    def look():
        return Window(folder / "library.sqlite").enter().get(f"/{room}?{urlencode(ASKED[room])}")

    with ThreadPoolExecutor(1) as beside:  # where no browser's loop runs
        answer = beside.submit(look).result()
    assert answer.status == 200
    page = Elements(answer.text)
    assert page.found == []
    assert not UNSEEN.search(re.sub(r"[\n\t]", "", "".join(page.texts)))
    assert room in ("bring", "guide", "print") or MARKS.search("".join(page.texts))


def test_nothing_of_a_name_is_markup_in_a_notebook(folder):
    with open_library(folder / "library.sqlite", read_only=True) as library:
        swatches = library.swatches()
        answers = [stopgap.match(swatches[0].address, library), *library.ranges()]
        for shown in (*swatches, *answers):
            page = Elements(shown._repr_html_())
            assert page.found == []
            assert not UNSEEN.search(repr(shown))


def test_pictures_and_printed_pages_hold_nothing_that_runs(say, folder):
    say("plot", "plot.png", "--target", f"{RANGE}:{NAMES[0]}", "--overwrite")
    with Image.open(folder / "plot.png") as picture:
        picture.load()
        assert not MARKS.search(str(picture.info))
    say("chart", "chart.pdf", "--title", NAMES[2], "--overwrite")
    reader = PdfReader(folder / "chart.pdf")
    assert not {"/OpenAction", "/AA", "/Names", "/AcroForm"} & set(reader.root_object)
    assert not [page for page in reader.pages if page.get("/AA") or page.annotations]


def test_nothing_was_written_elsewhere(folder):
    assert not [path for path in folder.parent.iterdir() if "outside" in path.name]
    assert {path.suffix for path in folder.iterdir()} <= {
        *(".sqlite", ".csv", ".xlsx", ".cgats", ".cxf", ".html", ".svg", ".png", ".pdf")
    }
