"""The desk in a real browser: let in by its key, by touch, keyboard and without script."""

import re
import shutil
import socket
import threading
import time
from contextlib import contextmanager
from itertools import pairwise, product

import pytest
import uvicorn

from stopgap.cli.program import run
from stopgap.desk import Usual
from stopgap.desk.asking import Desk
from stopgap.desk.doors import Keys
from stopgap.desk.pages import ROOMS, application
from stopgap.desk.rooms.bring import Brought
from stopgap.library import edit_swatch, open_library
from stopgap.reports.drawing.coloured import coloured_page

pytestmark = pytest.mark.slow


@contextmanager
def serving(path):
    """A desk that really listens: its desk and its keys."""
    with socket.socket() as listening:
        listening.bind(("127.0.0.1", 0))
        listening.listen()
        keys, desk = Keys(listening.getsockname()[1]), Desk(path, Usual())
        app = application(desk, keys)
        config = uvicorn.Config(app, log_config=None, lifespan="off", ws="none", http="h11")
        server = uvicorn.Server(config)
        thread = threading.Thread(target=server.run, kwargs={"sockets": [listening]})
        thread.start()
        yield desk, keys
        server.should_exit = True
        thread.join(10)
        assert not thread.is_alive()


@pytest.fixture(scope="module")
def small_library(demo_library, tmp_path_factory):
    """A third of the demo, which axe-core reads sooner, some of its names very long."""
    path = tmp_path_factory.mktemp("small") / "library.sqlite"
    shutil.copy(demo_library, path)
    with open_library(path, as_one=True) as library:
        for name in ("Brindlewick", "Quillet"):
            library.remove_range(name, f"without {name}")
        late = [one for one in library.swatches() if "FM060" < one.code < "FM110"]
        for swatch in late:
            library.remove_swatch(swatch, f"without {swatch.code}")
        for swatch in library.swatches()[::3]:  # names that break nowhere
            edit_swatch(library, swatch, {"name": f"{swatch.name} {'Endless' * 9}"})
    return path


@pytest.fixture
def served(small_library, tmp_path):
    path = tmp_path / "library.sqlite"
    shutil.copy(small_library, path)
    with serving(path) as found:
        yield found


class Seat:
    """One window at the desk, let in by a key; it knows what went wrong and out."""

    def __init__(self, browser, keys, **options):
        self.keys = keys
        self.complaints, self.requests = [], []
        self.context = browser.new_context(**options)
        self.page = self.context.new_page()
        self.page.on("console", lambda message: self.complaints.append(message.text))
        self.page.on("pageerror", lambda error: self.complaints.append(str(error)))
        self.page.on("request", lambda request: self.requests.append(request.url))
        self.page.goto(f"{keys.origin}/enter?key={keys.start_key()}")
        self.page.wait_for_url(f"{keys.origin}/wall")
        self.page.wait_for_selector("footer")

    def go(self, address):
        self.page.goto(self.keys.origin + address)
        return self.page

    def violations(self):
        from axe_playwright_python.sync_playwright import Axe

        found = Axe().run(self.page).response["violations"]
        return [(rule["id"], [node["html"][:200] for node in rule["nodes"]]) for rule in found]


@pytest.fixture
def sit(browser, served):
    """Open windows; afterwards nothing may have complained, and nothing asked for elsewhere."""
    seats = []

    def make(width=1440, **options):
        viewport = {"width": width, "height": 900}
        seats.append(Seat(browser, served[1], viewport=viewport, **options))
        return seats[-1]

    yield make
    for seat in seats:
        seat.context.close()
        assert seat.complaints == []
        assert all(url.startswith(seat.keys.origin) for url in seat.requests)


ANSWERS = {
    "wall": "touch=tick",
    "match": "target=FM055&layers=always",
    "history": "",
    "guide": "topic=desk",
}
ANSWERS |= {"blends": "from=FM113&to=FM112&alone=yes", "shop": "list=%2331c0a0&alone=yes"}
ANSWERS |= {"lists": "list=FM031%0A%23c8a46e&alone=yes", "holes": ""}
ANSWERS |= {
    "layers": "first=FM003&first_pressure=light&second=FM013&target=FM010",
    "bring": "",
    "print": "",
}


def test_every_room_can_be_read(sit):
    """Each in every way of looking."""
    assert set(ANSWERS) == set(ROOMS)
    ways = [
        (1440, {"color_scheme": "light"}),
        (390, {"color_scheme": "dark"}),
        (820, {"forced_colors": "active"}),
    ]
    seats = [sit(width, **options) for width, options in ways]
    for room, asked in ANSWERS.items():
        for seat in seats:
            look_at(seat, f"/{room}?{asked}")


def test_what_waits_and_what_is_arranged_can_be_read(sit, served):
    """A spreadsheet with what is wrong in its cells, boxes beside their readings, families."""
    desk, _ = served
    table = "Nr;Name;Lab;mine\n1;Tide;78 -4 -12;x\n1;Slate;41 -3 -8;\n2;Beak;79 8 7x;\n"
    with desk.changing() as library:
        page = coloured_page(library, library.swatches()[:4])
    waits = Brought("tin.csv", table.encode(), "The old tin")
    ways = [
        (1440, {"color_scheme": "light"}, "/wall?arrange=yes"),
        (390, {"color_scheme": "dark"}, f"/bring?key={desk.wait(waits)}"),
        (820, {"forced_colors": "active"}, f"/print?scan={desk.wait(('scan', 'p.png', page, ''))}"),
    ]
    for (width, options, _), (*_, address) in product(ways, ways):
        look_at(sit(width, **options), address)


def look_at(seat, address):
    """axe-core, and whether anything juts out: as it is, and at 200 %, which halves the window."""
    page = seat.go(address)
    assert seat.violations() == [], address
    width = page.viewport_size["width"]
    for wide, size in ((width, 100), (width // 2, 100), (390, 200)):
        page.set_viewport_size({"width": wide, "height": 900})
        page.evaluate(f"document.documentElement.style.fontSize = '{size}%'")
        over = page.evaluate("document.documentElement.scrollWidth - innerWidth")
        assert over <= 0, (address, wide, size)
    page.set_viewport_size({"width": width, "height": 900})


def owned(desk, code):
    with open_library(desk.path, read_only=True) as library:
        return next(one.owned for one in library.swatches() if one.code == code)


@pytest.mark.parametrize("script", [True, False], ids=["script", "no script"])
def test_a_pencil_is_ticked_by_keyboard(sit, served, script):
    desk, _ = served
    page = sit(java_script_enabled=script).go("/wall?touch=tick")
    chip = page.get_by_role("button", name=re.compile("FM017"))
    assert chip.get_attribute("aria-pressed") == "false"
    chip.focus()
    page.keyboard.press("Enter")
    page.wait_for_selector("#said >> text=You own FM017 Calyx Campion.")
    page.wait_for_selector("[aria-pressed=true][aria-label*=FM017]")
    assert owned(desk, "FM017")
    page.keyboard.press("Tab") if script else None
    page.get_by_role("button", name=re.compile("FM017")).click()
    page.wait_for_selector("#said >> text=You no longer own FM017 Calyx Campion.")
    assert not owned(desk, "FM017")


def test_what_is_changed_elsewhere_shows_within_two_seconds(sit, served):
    desk, _ = served
    page = sit().go("/wall")
    assert run(["--quiet", "--library", str(desk.path), "own", "Fennmoor:FM017"]) == 0
    begun = time.monotonic()
    page.wait_for_selector("li.owned [aria-label*=FM017]")
    assert time.monotonic() - begun < 10  # two seconds where nothing else runs


def test_from_the_wall_to_its_stand_in_and_back_by_history(sit, served):
    desk, _ = served
    page = sit(820, has_touch=True).go("/wall")
    # each chip goes on below the one before, so that no line of the ground shows between them
    overlaps = page.eval_on_selector_all(
        ".wall li:not(:first-child, .apart) .point",
        """all => all.map((one) => [one.closest("li").previousElementSibling, one])
            .map((pair) => pair.map((each) => (each.querySelector?.(".point") ?? each)))
            .map(([one, other]) => [one, other].map((each) => each.getBoundingClientRect()))
            .filter(([one, other]) => Math.abs(one.bottom - other.bottom) < 1)
            .map(([one, other]) => one.right - other.left)""",
    )
    assert len(overlaps) > 40
    assert min(overlaps) > 1.9
    page.get_by_role("link", name=re.compile("FM017")).tap()
    page.wait_for_selector("text=Stand-ins for Fennmoor:FM017")
    page.get_by_role("button", name="I own FM017").tap()
    page.wait_for_selector("text=You own FM017 Calyx Campion.")
    page.get_by_role("link", name="History").tap()
    page.get_by_role("button", name=re.compile("Take back")).tap()
    page.wait_for_selector("#said >> text=Taken back")
    assert not owned(desk, "FM017")


def test_a_page_on_another_port_changes_and_reads_nothing(browser, served):
    """Cookies are sent to every port of a host; Origin and fetch metadata tell them apart."""
    from http.server import BaseHTTPRequestHandler, HTTPServer

    desk, keys = served

    class Elsewhere(BaseHTTPRequestHandler):
        def do_GET(self):
            self.send_response(200)
            self.send_header("Content-Type", "text/html")
            self.end_headers()
            self.wfile.write(b"<!DOCTYPE html><title>elsewhere</title>")

        def log_message(self, *arguments):
            pass

    server = HTTPServer(("127.0.0.1", 0), Elsewhere)
    threading.Thread(target=server.serve_forever, daemon=True).start()
    seat = Seat(browser, keys)
    before = desk.mark()
    page = seat.page
    page.goto(f"http://127.0.0.1:{server.server_port}/")
    tried = """async (origin) => {
      const found = [];
      for (const [path, options] of [
        ["/wall", {}],
        ["/wall/own", { method: "POST", body: new URLSearchParams({ set: "owned=1 x F:1" }) }],
        ["/close", { method: "POST" }],
      ]) for (const mode of ["cors", "no-cors"]) {
        const answer = await fetch(origin + path, { ...options, mode, credentials: "include" })
          .catch(() => null);
        found.push(answer && answer.type !== "opaque" ? await answer.text() : "");
      }
      return found;
    }"""
    assert set(page.evaluate(tried, keys.origin)) == {""}
    server.shutdown()
    server.server_close()
    assert desk.mark() == before
    assert seat.go("/wall").title().endswith("stopgap")
    seat.context.close()


def pencils_of(page, family):
    return page.locator(f"[data-family='{family}'] [data-pencil]").evaluate_all(
        "all => all.map(one => one.dataset.pencil)"
    )


def drag(page, pencil, onto, touch):
    """Carry a pencil onto another by the mouse, or by a finger that rests on it first."""
    page.locator(f"[data-pencil='{onto}']").evaluate("one => one.scrollIntoView({block: 'center'})")
    begin, end = (page.locator(f"[data-pencil='{one}']").bounding_box() for one in (pencil, onto))
    (x, y), (u, v) = ((box["x"] + 0.6 * box["width"], box["y"] + 20) for box in (begin, end))
    if touch:
        send = page.context.new_cdp_session(page).send
        at = [(x, y), *((x + (u - x) * step / 8, y + (v - y) * step / 8) for step in range(1, 9))]
        for place, (left, top) in enumerate(at):
            kind = "touchMove" if place else "touchStart"
            points = [{"x": left, "y": top}]
            send("Input.dispatchTouchEvent", {"type": kind, "touchPoints": points})
            page.wait_for_timeout(30 if place else 400)
            if place == len(at) - 1:
                page.wait_for_timeout(200)
        send("Input.dispatchTouchEvent", {"type": "touchEnd", "touchPoints": []})
        return
    page.mouse.move(x, y)
    page.mouse.down()
    page.mouse.move((x + u) / 2, (y + v) / 2, steps=4)
    for left in (u - 2, u):  # nobody is so quick that the pencils could not make room
        page.mouse.move(left, v, steps=4)
        page.wait_for_timeout(150)
    page.mouse.up()


@pytest.mark.parametrize(("width", "touch"), [(1440, False), (390, True)])
def test_a_pencil_is_dragged_to_its_place_and_to_another_family(sit, width, touch):
    page = sit(width, has_touch=touch).go("/wall")
    rows = page.locator("[data-family]").evaluate_all("all => all.map(one => one.dataset.family)")
    mine, theirs = next(
        (one, other) for one, other in pairwise(rows) if len(pencils_of(page, one)) > 2
    )
    line = pencils_of(page, mine)
    drag(page, line[0], line[2], touch)
    page.wait_for_selector(f"#said >> text=is filed under {mine}")
    assert pencils_of(page, mine)[:3] == [line[1], line[2], line[0]]
    drag(page, line[1], pencils_of(page, theirs)[0], touch)
    page.wait_for_selector(f"#said >> text=is filed under {theirs}")
    page.reload()
    page.wait_for_selector("footer")
    assert line[1] in pencils_of(page, theirs)
    assert line[1] not in pencils_of(page, mine)
    assert pencils_of(page, mine)[:2] == [line[2], line[0]]


def test_a_large_wall_comes_part_by_part(sit, monkeypatch):
    """Laid below as one goes, until all hang there, each in its own colour."""
    page = sit().go("/wall")
    wanted = page.evaluate(COLOURS)
    monkeypatch.setattr("stopgap.desk.rooms.wall.MOST_CHIPS", 10)
    monkeypatch.setattr("stopgap.desk.rooms.wall._PART", 10)
    page.goto(f"{page.url}?touch=look")
    for row in range(2, len({family for family, _ in wanted}) + 1):
        page.mouse.wheel(0, 10_000)
        page.wait_for_selector(f".wall-row:nth-child({row})", state="attached")
    assert page.evaluate(COLOURS) == wanted


COLOURS = """[...document.querySelectorAll('.wall-row')].flatMap(row =>
  [...row.querySelectorAll('.point')].map(one =>
    [row.dataset.family, one.dataset.pencil + getComputedStyle(one).backgroundColor]))"""


def test_an_answer_that_takes_longer_comes_by_itself(sit, served):
    desk, _ = served
    desk.work.patience = 0.0
    page = sit().go("/match?target=FM055")
    page.wait_for_selector("text=Stand-ins for Fennmoor:FM055")
    page.get_by_label("pencil or colour").fill("FM017")
    page.get_by_role("button", name="Find").click()
    page.wait_for_selector("text=Stand-ins for Fennmoor:FM017")
    assert "target=FM017" in page.url
    page.go_back()
    page.wait_for_selector("text=Stand-ins for Fennmoor:FM055")
    plain = sit(java_script_enabled=False).go("/match?target=FM031")
    plain.wait_for_selector("text=Stand-ins for Fennmoor:FM031")


def test_alt_and_an_arrow_move_a_pencil(sit):
    page = sit().go("/wall")
    row = page.locator("[data-family=reds]")
    first, second = row.locator("[data-pencil]").evaluate_all(
        "all => all.slice(0, 2).map(one => one.dataset.pencil)"
    )
    row.locator(f"[data-pencil='{first}']").focus()
    page.keyboard.press("Alt+ArrowRight")
    page.wait_for_selector("#said >> text=is filed under reds")
    page.reload()
    page.wait_for_selector("footer")
    line = row.locator("[data-pencil]").evaluate_all("all => all.map(one => one.dataset.pencil)")
    assert line[:2] == [second, first]
    row.locator(f"[data-pencil='{first}']").focus()
    page.keyboard.press("Alt+ArrowDown")
    page.wait_for_selector(f"[data-family]:not([data-family=reds]) [data-pencil='{first}']")
    assert page.evaluate("document.activeElement.dataset.pencil") == first
