"""The whole job on 250 pencils at the desk: by mouse, by touch on two screens, by keyboard."""

import re
import shutil

import pytest
from test_desk_in_browser import Seat, serving

pytestmark = pytest.mark.slow

ROWS = "".join(f"M{n};Own {n};{30 + 3 * n};{50 + n},5;{-50 - n};ja\n" for n in range(1, 11))


class Mouse:
    """Points and clicks, and types where a field is."""

    touch = False

    def __init__(self, page):
        self.page = page

    def press(self, what):
        what.click()

    def write(self, field, text):
        self.press(field)
        field.fill(text)

    def choose(self, field, value):
        field.select_option(value)


class Finger(Mouse):
    """Taps."""

    touch = True

    def press(self, what):
        what.tap()


class Keys(Mouse):
    """Goes from one to the next by Tab, and writes and presses what has the focus."""

    def reach(self, what):
        for _ in range(300):
            away = what.evaluate("one => document.activeElement.compareDocumentPosition(one)")
            if not away:
                return
            self.page.keyboard.press("Shift+Tab" if away == 2 else "Tab")
        raise AssertionError(f"{what} is not reached by Tab")

    def press(self, what):
        if what.get_attribute("data-pencil"):  # behind up to 250 others, each of which is a stop
            assert what.evaluate("one => one.tabIndex") == 0
            what.focus()
        self.reach(what)
        kind = what.get_attribute("type")
        self.page.keyboard.press("Space" if kind == "checkbox" else "Enter")

    def write(self, field, text):
        self.reach(field)
        self.page.keyboard.insert_text(text)

    def choose(self, field, value):
        self.reach(field)
        self.page.keyboard.type(value)


@pytest.fixture(scope="module")
def library(demo_library, tmp_path_factory):
    path = tmp_path_factory.mktemp("jobs") / "library.sqlite"
    shutil.copy(demo_library, path)
    return path


@pytest.mark.parametrize(
    ("hand", "width"), [(Mouse, 1440), (Finger, 820), (Finger, 390), (Keys, 1440)]
)
def test_every_job_is_done(browser, library, tmp_path, hand, width):
    path = tmp_path / "library.sqlite"
    shutil.copy(library, path)
    sheet = tmp_path / "mine.csv"
    sheet.write_text(f"Nr;Farbname;L;a;b;mine\n{ROWS}", encoding="utf-8")
    with serving(path) as (_, keys):
        view = {"width": width, "height": 900}
        seat = Seat(browser, keys, viewport=view, has_touch=hand.touch, accept_downloads=True)
        jobs(seat.page, hand(seat.page), sheet)
        seat.context.close()
        assert seat.complaints == []
        assert all(url.startswith((keys.origin, "blob:")) for url in seat.requests)


def jobs(page, by, sheet):
    button = lambda name: page.get_by_role("button", name=name)  # noqa: E731
    field = lambda label: page.get_by_label(label, exact=True)  # noqa: E731

    def go(room):
        by.press(page.get_by_role("link", name=room, exact=True))
        page.wait_for_selector(f"h1 >> text={room}")
        page.wait_for_selector("footer")

    go("Bring in")
    by.write(field("what to call the range"), "Mine")
    with page.expect_file_chooser() as chosen:
        by.press(field("a spreadsheet"))
    chosen.value.set_files(sheet)
    by.press(button("Look at it"))
    by.press(button("Take 10 pencils as Mine"))
    page.wait_for_selector("text=The wall: 250 pencils")

    by.choose(field("touching a pencil"), "tick" if not isinstance(by, Keys) else "says")
    by.press(button("Show"))
    by.press(page.get_by_role("button", name=re.compile("FM017")))
    page.wait_for_selector("#said >> text=You own FM017 Calyx Campion.")

    go("Stand-ins")
    by.write(field("pencil or colour"), "FM055")
    by.press(button("Find"))
    page.wait_for_selector("text=Stand-ins for Fennmoor:FM055")
    by.choose(field("its family"), "olives")
    by.press(button("File it there"))
    page.wait_for_selector("#said >> text=is filed under olives")

    go("Try two")
    by.write(field("laid first"), "FM003")
    by.write(field("then"), "FM013")
    by.press(button("Lay them"))
    page.wait_for_selector("#answer .patches")

    go("Blends")
    by.write(field("from"), "FM113")
    by.write(field("to"), "FM112")
    by.press(field("without layers"))
    by.press(button("Show"))
    page.wait_for_selector("#answer li.gap")

    go("Shop")
    by.write(field("blends without gaps, one a line"), "FM113; FM112")
    by.press(field("without layers"))
    by.press(button("Plan"))
    page.wait_for_selector("#answer >> text=every step melts")
    by.press(button(re.compile("I bought")).first)
    page.wait_for_selector("#said >> text=You own")

    go("Print")
    by.write(field("one family"), "olives")
    with page.expect_download() as drawn:
        by.press(button("Draw a chart to colour in"))
    assert re.fullmatch(r"chart-\d{6}\.pdf", drawn.value.suggested_filename)
