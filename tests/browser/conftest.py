"""A real browser for the pages: the system's Chromium, driven by Playwright for Python."""

import shutil
from io import BytesIO

import numpy as np
import pytest
from PIL import Image

CHROMIUM = next(filter(None, map(shutil.which, ("chromium", "chromium-browser"))), None)
ARGUMENTS = [
    "--headless",
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    "--force-color-profile=srgb",
]


@pytest.fixture(scope="session")
def browser():
    if CHROMIUM is None:
        pytest.skip("no Chromium is installed (on Debian: apt-get install chromium)")
    from playwright.sync_api import sync_playwright

    with sync_playwright() as playwright:
        running = playwright.chromium.launch(executable_path=CHROMIUM, args=ARGUMENTS)
        yield running
        running.close()


class Visitor:
    """One person's window: opens pages from file, and knows what went wrong and out."""

    def __init__(self, context):
        self.context = context
        self.complaints = []
        self.requests = []
        self.page = context.new_page()
        self.page.on("console", lambda message: self.complaints.append(message.text))
        self.page.on("pageerror", lambda error: self.complaints.append(str(error)))
        self.page.on("dialog", self._refuse)
        self.page.on("request", lambda request: self.requests.append(request.url))

    def _refuse(self, dialog):
        self.complaints.append(f"dialog: {dialog.message}")
        dialog.dismiss()

    def open(self, path):
        self.page.goto(path.as_uri())
        return self.page

    def overflow(self):
        """How many pixels the page is wider than the window."""
        return self.page.evaluate("document.documentElement.scrollWidth - innerWidth")

    def violations(self):
        """What axe-core finds, every rule it has on."""
        from axe_playwright_python.sync_playwright import Axe

        found = Axe().run(self.page).response["violations"]
        return [
            (rule["id"], rule["impact"], [node["html"][:200] for node in rule["nodes"]])
            for rule in found
        ]

    def picture(self):
        """The whole page as an array (height, width, 3)."""
        shot = self.page.screenshot(full_page=True)
        return np.asarray(Image.open(BytesIO(shot)).convert("RGB"))


@pytest.fixture
def visit(browser):
    """Make windows; afterwards nothing may have complained, and nothing but the pages asked for."""
    visitors = []

    def make(width=800, height=900, **options):
        context = browser.new_context(viewport={"width": width, "height": height}, **options)
        visitors.append(Visitor(context))
        return visitors[-1]

    yield make
    for visitor in visitors:
        visitor.context.close()
        assert visitor.complaints == []
        assert all(url.startswith("file:") for url in visitor.requests)
        assert len(set(visitor.requests)) <= 1
