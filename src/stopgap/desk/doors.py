"""Who may come in: nothing reaches a room but the browser that this desk was opened in.

The server listens on 127.0.0.1 alone, but any page in any browser of this machine can send it
requests, and a stranger's name can be made to lead here (DNS rebinding). So a request must name
this very host, bear the cookie that the one start key was exchanged for, and, where it changes
anything, come from a page of this desk: Origin (RFC 6454) and fetch metadata (W3C Fetch Metadata
Request Headers) say so. Cookies know no port (RFC 6265, 8.5); hence one name a port, and Origin
decides.
"""

import time
from collections.abc import Awaitable, Callable, Iterable, MutableMapping
from hmac import compare_digest
from http.cookies import CookieError, SimpleCookie
from secrets import token_urlsafe
from threading import Lock
from typing import Any

Scope = MutableMapping[str, Any]
Message = MutableMapping[str, Any]
Receive = Callable[[], Awaitable[Message]]
Send = Callable[[Message], Awaitable[None]]
Application = Callable[[Scope, Receive, Send], Awaitable[None]]

MOST_BYTES = 64 * 2**20
"""What a request may carry."""
_KEY_LIFE = 300.0  # seconds within which a start key must be used
_HEADERS = {
    "X-Content-Type-Options": "nosniff",
    "Referrer-Policy": "same-origin",  # no-referrer would take Origin from forms without script
    "Cross-Origin-Opener-Policy": "same-origin",
    "Cross-Origin-Resource-Policy": "same-origin",
    "Cache-Control": "no-store",
    "Content-Security-Policy": "default-src 'none'; img-src data:; frame-ancestors 'none'",
}


class Keys:
    """The secrets of one desk: its cookie, the start keys not used yet, the word of a second start.

    A start key opens once, within five minutes.
    """

    def __init__(self, port: int) -> None:
        self.port = port
        self.origin = f"http://127.0.0.1:{port}"
        self.host = f"127.0.0.1:{port}"
        self.cookie_name = f"stopgap-desk-{port}"
        self.second = token_urlsafe(32)
        self._cookie = token_urlsafe(32)
        self._starts: dict[str, float] = {}
        self._lock = Lock()

    def start_key(self) -> str:
        """A new start key."""
        key = token_urlsafe(32)
        with self._lock:
            self._starts[key] = time.monotonic() + _KEY_LIFE
        return key

    def exchange(self, key: str) -> str | None:
        """The cookie for a start key that was not used before; None for any other."""
        now = time.monotonic()
        with self._lock:
            until = self._starts.pop(key, 0.0)
        return self._cookie if now < until else None

    def knows(self, header: str) -> bool:
        """Whether a header `Cookie` bears the cookie of this desk."""
        try:
            found = SimpleCookie(header).get(self.cookie_name)
        except CookieError:
            return False
        return found is not None and _same(found.value, self._cookie)

    def is_second(self, authorization: str) -> bool:
        """Whether another start on this machine asks, which could read the word."""
        return _same(authorization, f"Bearer {self.second}")


def _same(found: str, expected: str) -> bool:
    return compare_digest(found.encode("utf-8"), expected.encode("utf-8"))


class Doors:
    """ASGI middleware that refuses whoever is not the user's own browser at this desk.

    `used` is told of each request that somebody made by hand.
    """

    def __init__(self, app: Application, *, keys: Keys, used: Callable[[], None]) -> None:
        self.app = app
        self.keys = keys
        self.used = used

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Let a request in, or answer why not."""
        if scope["type"] == "lifespan":
            await self.app(scope, receive, send)
            return
        if scope["type"] != "http":
            return
        headers = _text(scope["headers"])
        refused = self._refused(scope["method"], scope["path"], headers)
        if refused is not None:
            await _refuse(send, *refused)
            return
        if scope["path"] != "/mark":
            self.used()
        counted = _Counted(receive)
        started = False

        async def sending(message: Message) -> None:
            nonlocal started
            if message["type"] == "http.response.start":
                started = True
                there = {name.lower() for name, _ in message["headers"]}
                message["headers"] = [
                    *message["headers"],
                    *(pair for pair in _ours() if pair[0].lower() not in there),
                ]
            await send(message)

        try:
            await self.app(scope, counted, sending)
        except _TooMuchError:
            if not started:
                await _refuse(send, 413, _TOO_LARGE)

    def _refused(self, method: str, path: str, headers: dict[str, str]) -> tuple[int, str] | None:
        """The status and the sentence with which a request is refused, None where it is not."""
        keys = self.keys
        if headers.get("host") != keys.host:
            return 421, "This desk answers to its own address alone."
        if method not in ("GET", "HEAD", "POST"):
            return 405, "The desk shows pages and takes forms."
        length = headers.get("content-length", "0")
        if not length.isdecimal() or int(length) > MOST_BYTES:
            return 413, _TOO_LARGE
        if path == "/key":
            ours = keys.is_second(headers.get("authorization", ""))
            return None if ours and "origin" not in headers else (403, "No.")
        if path == "/enter":
            return None if method == "GET" else (405, "The desk is entered by its address.")
        return self._stranger(method, headers)

    def _stranger(self, method: str, headers: dict[str, str]) -> tuple[int, str] | None:
        """Why who asks for a room is not let in, None where they are the user's browser."""
        site = headers.get("sec-fetch-site", "same-origin")
        if not self.keys.knows(headers.get("cookie", "")):
            return 403, _NOT_OPENED
        if method == "POST":
            if headers.get("origin") != self.keys.origin or site != "same-origin":
                return 403, "That came from another page, so nothing was done."
        elif site not in ("same-origin", "none") and headers.get("sec-fetch-mode") != "navigate":
            return 403, "Another page asked for this, so it is not shown."
        return None


_NOT_OPENED = (
    "This window was not opened by the desk, or the browser keeps no cookie for it. "
    "Start the desk again to come in."
)
_TOO_LARGE = "That is larger than 64 MB, more than the desk takes at once. Nothing was done."


class _TooMuchError(Exception):
    """A body that says less than it carries."""


class _Counted:
    """What a request carries, up to MOST_BYTES."""

    def __init__(self, receive: Receive) -> None:
        self.receive = receive
        self.count = 0

    async def __call__(self) -> Message:
        message = await self.receive()
        self.count += len(message.get("body", b""))
        if self.count > MOST_BYTES:
            raise _TooMuchError
        return message


def _text(headers: Iterable[tuple[bytes, bytes]]) -> dict[str, str]:
    """Headers by name; one that is there twice is none, so that nobody chooses which counts."""
    found: dict[str, str] = {}
    for name, value in headers:
        key = name.decode("latin-1").lower()
        found[key] = "" if key in found else value.decode("latin-1")
    return found


def _ours() -> list[tuple[bytes, bytes]]:
    return [(name.encode(), value.encode()) for name, value in _HEADERS.items()]


async def _refuse(send: Send, status: int, sentence: str) -> None:
    body = f"{sentence}\n".encode()
    headers = [*_ours(), (b"content-type", b"text/plain; charset=utf-8")]
    headers += [(b"content-length", str(len(body)).encode()), (b"connection", b"close")]
    await send({"type": "http.response.start", "status": status, "headers": headers})
    await send({"type": "http.response.body", "body": body})
