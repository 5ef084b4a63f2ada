"""The desk in a real browser: let in by its key, by touch, keyboard and without script."""

import re
import shutil
import threading
import time

import pytest
import uvicorn

from stopgap.cli.program import run
from stopgap.desk import Usual
from stopgap.desk.asking import Desk
from stopgap.desk.doors import Keys
from stopgap.desk.pages import ROOMS, application
from stopgap.library import open_library

pytestmark = pytest.mark.slow


@pytest.fixture
def served(demo_library, tmp_path):
    """A desk that really listens: its desk and its keys."""
    import socket

    path = tmp_path / "library.sqlite"
    shutil.copy(demo_library, path)
    with open_library(path, as_one=True) as library:  # a third of it, which axe-core reads sooner
        for name in ("Brindlewick", "Quillet"):
            library.remove_range(name, f"without {name}")
        late = [one for one in library.swatches() if "FM060" < one.code < "FM110"]
        for swatch in late:
            library.remove_swatch(swatch, f"without {swatch.code}")
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


ANSWERS = {"wall": "touch=tick", "match": "target=FM055&layers=always", "history": "", "guide": ""}
ANSWERS |= {"blends": "from=FM113&to=FM112&alone=yes", "shop": "list=%2331c0a0&alone=yes"}
ANSWERS |= {"lists": "list=FM031%0A%23c8a46e&alone=yes", "holes": ""}
ANSWERS |= {
    "layers": "first=FM003&first_pressure=light&second=FM013&target=FM010",
    "bring": "",
    "print": "",
}


def test_every_room_can_be_read(sit):
    """Each in one of the ways of looking, the wall and a stand-in in every one."""
    assert set(ANSWERS) == set(ROOMS)
    ways = [
        (1440, {"color_scheme": "light"}),
        (390, {"color_scheme": "dark"}),
        (820, {"forced_colors": "active"}),
    ]
    seats = [sit(width, **options) for width, options in ways]
    for place, (room, asked) in enumerate(ANSWERS.items()):
        for seat in seats if room in ("wall", "match") else [seats[place % len(seats)]]:
            look_at(seat, f"/{room}?{asked}")


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
