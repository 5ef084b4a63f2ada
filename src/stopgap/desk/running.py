"""How the desk starts, is found by a second start, and ends.

What a second start needs lies in a file that only the user can read, in their folder for what a
program remembers. The browser is led in by such a file too: a key in the address of a program's
arguments could be read by everybody on the machine.
"""

import json
import os
import shlex
import socket
import threading
import time
import webbrowser
from collections.abc import Callable
from contextlib import suppress
from hashlib import sha256
from pathlib import Path
from typing import NamedTuple
from urllib.error import URLError
from urllib.request import ProxyHandler, Request, build_opener

from platformdirs import user_state_path

from stopgap.desk.asking import Desk, Usual
from stopgap.desk.doors import Keys
from stopgap.errors import InputError

IDLE_HOURS = 8.0
"""After so long without anybody at it the desk ends."""
_LOOK = 5.0  # seconds between two looks at whether anybody is there
_PATIENCE = 2.0  # seconds in which a desk that runs must answer
Say = Callable[[str], None]


class Whereabouts(NamedTuple):
    """Where a desk for a library is told of while it runs."""

    state: Path
    door: Path

    @classmethod
    def of(cls, library: Path) -> "Whereabouts":
        """For the library at a path; its folder is the user's alone."""
        folder = user_state_path("stopgap", appauthor=False)
        folder.mkdir(parents=True, exist_ok=True, mode=0o700)
        name = sha256(os.fsencode(os.path.realpath(library))).hexdigest()[:16]
        return cls(folder / f"desk-{name}.json", folder / f"desk-{name}.html")


def open_desk(
    path: Path,
    usual: Usual,
    say: Say,
    *,
    browser: bool = True,
    idle_hours: float = IDLE_HOURS,
) -> None:
    """Open the desk on the library at `path`, or go to the one that is open; stay until it ends.

    `say` is told where it is; without `browser` that is the address to type.
    """
    place = Whereabouts.of(path)
    running = _running(place)
    if running is not None:
        say("The desk is open already.")
        _show(running, place, say, browser=browser)
        return
    with socket.socket(socket.AF_INET, socket.SOCK_STREAM) as listening:
        listening.bind(("127.0.0.1", 0))
        keys = Keys(listening.getsockname()[1])
        _write_own(place.state, json.dumps({"origin": keys.origin, "word": keys.second}))
        try:
            with suppress(KeyboardInterrupt):  # how one ends it at a terminal
                _serve(Desk(path, usual), keys, listening, place, say, browser, idle_hours)
        finally:
            for file in place:
                file.unlink(missing_ok=True)
    say("The desk is closed.")


def _serve(
    desk: Desk,
    keys: Keys,
    listening: socket.socket,
    place: Whereabouts,
    say: Say,
    browser: bool,
    idle_hours: float,
) -> None:
    import uvicorn

    from stopgap.desk.pages import application

    last = [time.monotonic()]
    app = application(desk, keys, used=lambda: last.__setitem__(0, time.monotonic()))
    settings = uvicorn.Config(
        app,
        http="h11",
        ws="none",
        lifespan="off",
        log_config=None,
        access_log=False,
        server_header=False,
        timeout_graceful_shutdown=1,
        h11_max_incomplete_event_size=64 * 1024,
    )
    server = uvicorn.Server(settings)
    app.state.close = lambda: setattr(server, "should_exit", True)

    def watch() -> None:
        while not server.should_exit:
            time.sleep(min(_LOOK, idle_hours * 3600.0))
            if time.monotonic() - last[0] > idle_hours * 3600.0:
                server.should_exit = True

    threading.Thread(target=watch, daemon=True).start()
    threading.Thread(target=app.state.look_ahead, daemon=True).start()
    listening.listen()  # so that the browser does not come too early
    _show(f"{keys.origin}/enter?key={keys.start_key()}", place, say, browser=browser)
    server.run(sockets=[listening])


def _show(address: str, place: Whereabouts, say: Say, *, browser: bool) -> None:
    """Lead the browser in by a file that only the user can read, or say the address."""
    if not browser:
        say(address)
        return
    _write_own(
        place.door,
        '<!DOCTYPE html><meta charset="utf-8"><title>stopgap</title>'
        f'<meta http-equiv="refresh" content="0; url={address}">',
    )
    if webbrowser.open(place.door.as_uri()):
        say("The desk is open in your browser. Close it there, or by Ctrl-C here.")
    else:
        say(f"No browser was found. Open this address in one:\n{address}")


def _running(place: Whereabouts) -> str | None:
    """The address by which to enter the desk that runs; None where none does."""
    try:
        state = json.loads(place.state.read_text(encoding="utf-8"))
        asked = Request(  # noqa: S310 (our own address, from a file of ours)
            f"{state['origin']}/key",
            data=b"",
            headers={"Authorization": f"Bearer {state['word']}"},
        )
        opener = build_opener(ProxyHandler({}))
        with opener.open(asked, timeout=_PATIENCE) as answer:
            key = json.load(answer)["key"]
    except (OSError, ValueError, KeyError, TypeError, URLError):
        return None
    return f"{state['origin']}/enter?key={key}"


def _write_own(path: Path, text: str) -> None:
    """Write a file that only the user can read, never through a link that lies there."""
    path.unlink(missing_ok=True)
    descriptor = os.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
    with os.fdopen(descriptor, "w", encoding="utf-8") as file:
        file.write(text)


def icon_text(command: str, ending: str = ".desktop") -> str:
    """A launcher for the desktop, by the ending of its file.

    `.desktop` is by the Desktop Entry Specification 1.5 (freedesktop.org), `.command` a shell's
    script (POSIX.1-2017, XCU 2.2) that a double click runs on macOS, `.cmd` a batch file of
    Windows, whose `start` does not wait (from memory).

    Raises
    ------
    InputError
        For any other ending.
    """
    if ending == ".command":
        return f"#!/bin/sh\nexec {shlex.quote(command)} desk\n"
    if ending == ".cmd":
        return f'@echo off\r\nstart "stopgap" "{command.replace("%", "%%")}" desk\r\n'
    if ending != ".desktop":
        raise InputError(f"expected a launcher .desktop, .command or .cmd, found {ending!r}.")
    quoted = '"' + "".join(f"\\{each}" if each in '"`$\\' else each for each in command) + '"'
    lines = [
        "[Desktop Entry]",
        "Type=Application",
        "Version=1.5",
        "Name=stopgap",
        "Comment=Stand-ins, layers and gaps for coloured pencils",
        f"Exec={quoted.replace('%', '%%')} desk",
        "Terminal=false",
        "Categories=Graphics;",
    ]
    return "\n".join([*lines, ""])
