"""A browser's window without a browser: requests straight into the application."""

import asyncio
from concurrent.futures import ThreadPoolExecutor
from urllib.parse import urlencode, urlsplit

from stopgap.desk import Usual
from stopgap.desk.asking import Desk
from stopgap.desk.doors import Keys
from stopgap.desk.pages import application

PORT = 8765


class Answered:
    """What came back."""

    def __init__(self, status, headers, body):
        self.status = status
        self.headers = {name.decode().lower(): value.decode() for name, value in headers}
        self.body = body

    @property
    def text(self):
        return self.body.decode("utf-8")


class Window:
    """One window, let in by a start key, which sends what a browser would."""

    def __init__(self, library, usual=None):
        self.keys = Keys(PORT)
        self.desk = Desk(library, usual or Usual())
        self.desk.work.patience = self.desk.orders.patience = 60.0
        self.app = application(self.desk, self.keys)
        self.cookie = None
        self.host = self.keys.host

    def enter(self):
        answer = self.get(f"/enter?key={self.keys.start_key()}")
        assert answer.status == 200
        self.cookie = answer.headers["set-cookie"].partition(";")[0]
        return self

    def get(self, address, **headers):
        return self.ask("GET", address, b"", {"sec-fetch-site": "same-origin", **headers})

    def post(self, address, fields=(), **headers):
        kind = {"content-type": "application/x-www-form-urlencoded"}
        usual = {**kind, "origin": self.keys.origin, "sec-fetch-site": "same-origin", **headers}
        body = fields if isinstance(fields, bytes) else urlencode(list(fields)).encode()
        return self.ask("POST", address, body, usual)

    def ask(self, method, address, body, headers):
        sent = {"host": self.host, "content-length": str(len(body)), **headers}
        if self.cookie is not None:
            sent.setdefault("cookie", self.cookie)
        parts = urlsplit(address)
        scope = {
            "type": "http",
            "http_version": "1.1",
            "method": method,
            "scheme": "http",
            "path": parts.path,
            "raw_path": parts.path.encode(),
            "query_string": parts.query.encode(),
            "root_path": "",
            "headers": [
                (name.replace("_", "-").encode(), value.encode())
                for name, value in sent.items()
                if value is not None
            ],
            "client": ("127.0.0.1", 1),
            "server": ("127.0.0.1", PORT),
        }
        # in a thread of its own: in this one a browser's tests may have a loop running
        with ThreadPoolExecutor(1) as pool:
            return pool.submit(asyncio.run, self._run(scope, body)).result()

    async def _run(self, scope, body):
        waiting = [{"type": "http.request", "body": body, "more_body": False}]
        said = []

        async def receive():
            return waiting.pop() if waiting else {"type": "http.disconnect"}

        async def send(message):
            said.append(message)

        await self.app(scope, receive, send)
        start = next(message for message in said if message["type"] == "http.response.start")
        return Answered(
            start["status"], start["headers"], b"".join(each.get("body", b"") for each in said)
        )

    def follow(self, answer):
        """The page that a deed leads on to."""
        assert answer.status == 303, answer.text
        return self.get(answer.headers["location"])
