"""The desk as a program: how it starts, is found again, and ends."""

import json
import os
import re
import shutil
import signal
import subprocess
import sys
import time
from concurrent.futures import ThreadPoolExecutor
from contextlib import contextmanager, suppress
from http.client import HTTPException
from urllib.parse import urlencode
from urllib.request import ProxyHandler, Request, build_opener

import pytest

from stopgap.cli.program import run
from stopgap.desk import icon_text
from stopgap.library import open_library

RUN = """
import signal
signal.signal(signal.SIGINT, signal.default_int_handler)  # a shell's background job ignores it
from stopgap.cli import main
main()
"""


@contextmanager
def started(library, folder, *options):
    """The desk as a process of its own."""
    words = [sys.executable, "-c", RUN, "--library", str(library), "desk", *options]
    environment = {**os.environ, "XDG_STATE_HOME": str(folder), "BROWSER": "false"}
    process = subprocess.Popen(words, stdout=subprocess.PIPE, text=True, env=environment)
    try:
        yield process
    finally:
        process.kill()
        process.communicate()


def entered(process):
    """Where a desk that has been started is, and the cookie of who came in by what it printed."""
    address = process.stdout.readline().strip()
    with opened(address) as answer:
        return address.partition("/enter")[0], answer.headers["Set-Cookie"].partition(";")[0]


def opened(address, data=None, **headers):
    asked = Request(address, data, headers)  # noqa: S310 (the desk's own address)
    return build_opener(ProxyHandler({})).open(asked, timeout=10)


def test_it_opens_is_found_and_closes(own_library, tmp_path):
    folder = tmp_path / "state"
    with started(own_library, folder, "--no-browser") as process:
        address = process.stdout.readline().strip()
        origin = address.partition("/enter")[0]
        assert origin.startswith("http://127.0.0.1:")
        (state,) = folder.rglob("desk-*.json")
        assert state.stat().st_mode & 0o777 == 0o600
        assert state.parent.stat().st_mode & 0o777 == 0o700
        key = address.partition("key=")[2]
        assert key not in state.read_text(encoding="utf-8")
        with opened(address) as answer:
            cookie = answer.headers["Set-Cookie"].partition(";")[0]
        with opened(f"{origin}/wall", Cookie=cookie) as answer:
            assert b"Fennmoor:FM017" in answer.read()
            assert "server" not in answer.headers
        with started(own_library, folder, "--no-browser") as second:
            said, again, _ = second.communicate(timeout=20)[0].split("\n")
        assert said == "The desk is open already."
        assert again.startswith(f"{origin}/enter?key=")
        with opened(again) as answer:
            assert answer.headers["Set-Cookie"].partition(";")[0] == cookie
        with opened(f"{origin}/blends?look=families&which=any", Cookie=cookie) as answer:
            assert b"worked out" in answer.read()  # and is, while the desk is closed
        with opened(f"{origin}/close", b"", Cookie=cookie, Origin=origin) as answer:
            page = answer.read()
            assert b"closed" in page
            assert b'<link rel="icon" href="data:,">' in page  # there is nobody to fetch one from
        begun = time.monotonic()
        assert process.wait(10) == 0
        assert time.monotonic() - begun < 5.0  # a second where nothing else runs
        assert process.stdout.read() == "The desk is closed.\n"
        assert not list(folder.rglob("desk-*"))


def test_a_library_is_whole_after_the_desk_is_killed(own_library, tmp_path, capsys):
    with started(own_library, tmp_path / "state", "--no-browser") as process:
        origin, cookie = entered(process)
        with opened(f"{origin}/wall?touch=tick", Cookie=cookie) as answer:
            chips = re.findall(r'value="(owned=1 [^"]+)"', answer.read().decode())
        kept = {"Cookie": cookie, "Origin": origin}

        def burst(chip):
            with suppress(OSError, HTTPException):
                opened(f"{origin}/wall/own", urlencode({"set": chip}).encode(), **kept).close()
                return True
            return False

        with ThreadPoolExecutor(4) as pool:
            jobs = [pool.submit(burst, chip) for chip in chips[:40]]
            while sum(job.done() for job in jobs) < 5:
                time.sleep(0.01)
            process.kill()
        said = [chip.split(" ", 2)[2] for chip, job in zip(chips, jobs) if job.result()]
    assert run(["--library", str(own_library), "library", "check"]) == 0
    with open_library(own_library, read_only=True) as library:
        owned = {one.address for one in library.swatches() if one.owned}
    assert len(said) >= 5
    assert set(said) <= owned


def test_the_browser_is_led_in_by_a_file_and_ctrl_c_ends_it(own_library, tmp_path):
    folder = tmp_path / "state"
    looked = tmp_path / "looked"
    browser = tmp_path / "browser"
    browser.write_text(
        f'#!/bin/sh\nprintf "%s\\n" "$@" >{looked}\nstat -c %a "${{1#file://}}" >>{looked}\n'
    )
    browser.chmod(0o700)
    environment = {**os.environ, "XDG_STATE_HOME": str(folder), "BROWSER": f"{browser} %s"}
    words = [sys.executable, "-c", RUN, "--library", str(own_library), "desk"]
    with subprocess.Popen(words, stdout=subprocess.PIPE, text=True, env=environment) as process:
        assert "open in your browser" in process.stdout.readline()
        (door,) = folder.rglob("desk-*.html")
        address, mode = looked.read_text(encoding="utf-8").split()
        assert address == door.as_uri()
        assert mode == "600"
        assert "url=http://127.0.0.1:" in door.read_text(encoding="utf-8")
        process.send_signal(signal.SIGINT)
        try:
            assert process.wait(20) == 0
        finally:
            process.kill()
    assert not list(folder.rglob("desk-*"))


def test_a_state_that_a_crash_left_is_no_desk(own_library, tmp_path, monkeypatch):
    from stopgap.desk import running

    monkeypatch.setenv("XDG_STATE_HOME", str(tmp_path))
    place = running.Whereabouts.of(own_library)
    for text in ("", "{}", "[]", "nonsense", json.dumps({"origin": "http://127.0.0.1:1"})):
        place.state.write_text(text, encoding="utf-8")
        assert running._running(place) is None


def test_nobody_at_it_for_long_ends_it(own_library, tmp_path, monkeypatch):
    from stopgap.desk import Usual, open_desk

    monkeypatch.setenv("XDG_STATE_HOME", str(tmp_path))
    said = []
    begun = time.monotonic()
    with ThreadPoolExecutor(1) as pool:  # in this thread a browser's tests may have a loop running
        pool.submit(
            open_desk, own_library, Usual(), said.append, browser=False, idle_hours=0.2 / 3600
        ).result()
    assert time.monotonic() - begun < 10
    assert said[-1] == "The desk is closed."


def test_a_launcher_names_the_program(tmp_path, capsys):
    assert run(["desk", "--icon", str(tmp_path / "a.desktop")]) == 0
    text = (tmp_path / "a.desktop").read_text(encoding="utf-8")
    assert text.splitlines()[0] == "[Desktop Entry]"
    assert "Exec=" in text
    assert 'Exec="/a b/\\$x/stop%%gap" desk' in icon_text("/a b/$x/stop%gap")
    assert run(["desk", "--icon", str(tmp_path / "a.desktop")]) == 1
    assert "--overwrite" in capsys.readouterr().err


def test_launchers_of_other_systems(tmp_path, capsys):
    """The shell itself runs the one; the other is read as cmd.exe reads it: %% is one %."""
    stopgap = tmp_path / "it's $HOME" / "stopgap"
    stopgap.parent.mkdir()
    stopgap.write_text('#!/bin/sh\necho "ran $0 with $*"\n')
    stopgap.chmod(0o700)
    script = tmp_path / "a.command"
    script.write_text(icon_text(str(stopgap), ".command"))
    done = subprocess.run(["sh", str(script)], capture_output=True, text=True, check=True)
    assert done.stdout == f"ran {stopgap} with desk\n"
    batch = icon_text("C:\\100% mine\\stopgap.exe", ".cmd")
    assert batch.split("\r\n")[1].replace("%%", "%") == (
        'start "stopgap" "C:\\100% mine\\stopgap.exe" desk'
    )
    assert run(["desk", "--icon", str(tmp_path / "b.command")]) == 0
    assert os.access(tmp_path / "b.command", os.X_OK)
    assert (tmp_path / "b.command").read_bytes().startswith(b"#!/bin/sh\nexec ")
    assert run(["desk", "--icon", str(tmp_path / "b.cmd")]) == 0
    assert (tmp_path / "b.cmd").read_bytes().count(b"\r\n") == 2
    assert run(["desk", "--icon", str(tmp_path / "b.lnk")]) == 1
    assert "expected a launcher" in capsys.readouterr().err


@pytest.mark.skipif(shutil.which("desktop-file-validate") is None, reason="not installed")
def test_the_launcher_is_valid(tmp_path):
    path = tmp_path / "a.desktop"
    path.write_text(icon_text("/usr/bin/stopgap"), encoding="utf-8")
    subprocess.run(["desktop-file-validate", str(path)], check=True)
