"""The manual's pictures of the desk, taken in the system's Chromium with the demo's pencils:
`python .pictures/make_desk_pictures.py [FOLDER [WIDTH [light|dark]]]`.
"""

import shutil
import socket
import sys
import tempfile
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from io import BytesIO
from pathlib import Path

import uvicorn
from PIL import Image
from playwright.sync_api import Page, sync_playwright

from stopgap.desk import Usual
from stopgap.desk.asking import Desk
from stopgap.desk.doors import Keys
from stopgap.desk.pages import application
from stopgap.library import datasets, fill, open_library

KEPT = Path(__file__).parents[1] / "src" / "stopgap" / "manual" / "pictures"
WIDTH, HEIGHT = 1120, 940
SHOWN = 0.75  # of the size on the screen
QUALITY = 60
LESSON = (datasets() / "lesson.csv").read_text(encoding="utf-8")
NAMELESS = """for (const one of document.querySelectorAll("footer p"))
  if (one.textContent.includes("sqlite")) one.textContent = "The library is shore.sqlite."
"""
SHEET = """Nr;Name;Lab;mine;remark
1;Tide Line;78 -4 -12;x;
2;Wet Slate;41 -3 -8;;the old tin
2;Wet Slate;40 -3 -8;;
4;Lug Sand;66 8 21;x;
5;Gull Beak;79 8 7x;;
"""
ROOMS = {
    "wall": "/wall?size=small",
    "match": "/match?target=Fennmoor:FM017",
    "layers": "/layers?first=FM003&first_pressure=light&second=FM013&target=FM010&on=tan",
    "lists": "/lists?list=FM017%0AFM055%0A%23c8a46e",
    "blends": "/blends?from=FM113&to=FM112&alone=yes",
    "holes": "/holes?layers=no",
    "shop": "/shop?blends=FM113;%20FM112&list=%2331c0a0&alone=yes",
    "bring": "/bring",
    "print": "/print",
    "history": "/history",
    "guide": "/guide?topic=nearness",
}


def main(folder: Path, width: int = WIDTH, colours: str = "light") -> None:
    """Write the pictures into `folder`."""
    folder.mkdir(parents=True, exist_ok=True)
    with tempfile.TemporaryDirectory() as name:
        library = Path(name, "shore.sqlite")
        with open_library(library) as filled:
            fill(filled)
        with serving(library) as keys, sync_playwright() as playwright:
            chromium = shutil.which("chromium") or shutil.which("chromium-browser")
            browser = playwright.chromium.launch(executable_path=chromium, args=["--no-sandbox"])
            page = browser.new_page(
                viewport={"width": width, "height": HEIGHT}, color_scheme=colours
            )
            page.goto(f"{keys.origin}/enter?key={keys.start_key()}")
            page.wait_for_selector("footer")
            for room, address in ROOMS.items():
                page.goto(keys.origin + address)
                if room == "bring":
                    bring(page)
                page.wait_for_function("!document.querySelector('[data-awaited]')")
                page.wait_for_timeout(400)
                page.evaluate(NAMELESS)
                keep(page.screenshot(), folder / f"{room}.webp")
            browser.close()


def bring(page: Page) -> None:
    """A spreadsheet that was brought, with what is wrong in its cells."""
    page.get_by_label("what to call the range").fill("The old tin")
    page.get_by_label("or its rows").fill(SHEET)
    page.get_by_role("button", name="Look at it").click()
    page.wait_for_selector("table")


def keep(shot: bytes, path: Path) -> None:
    """A picture, smaller than on the screen."""
    picture = Image.open(BytesIO(shot)).convert("RGB")
    size = (round(picture.width * SHOWN), round(picture.height * SHOWN))
    picture.resize(size, Image.Resampling.LANCZOS).save(path, quality=QUALITY, method=6)


@contextmanager
def serving(library: Path) -> Iterator[Keys]:
    """A desk on a library, for as long as pictures are taken."""
    with socket.socket() as listening:
        listening.bind(("127.0.0.1", 0))
        listening.listen()
        keys, desk = Keys(listening.getsockname()[1]), Desk(library, Usual())
        desk.work.patience = desk.orders.patience = 60.0
        app = application(desk, keys)
        server = uvicorn.Server(uvicorn.Config(app, log_config=None, lifespan="off", ws="none"))
        thread = threading.Thread(target=server.run, kwargs={"sockets": [listening]})
        thread.start()
        yield keys
        server.should_exit = True
        thread.join(10)


if __name__ == "__main__":
    given = sys.argv[1:]
    main(Path(given[0]) if given else KEPT, *map(int, given[1:2]), *given[2:3])
