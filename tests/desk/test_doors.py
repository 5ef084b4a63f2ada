"""Who is let in: each attack that a page on the web, another port or a stranger's name can try.

Origin: RFC 6454; fetch metadata: W3C Fetch Metadata Request Headers; cookies and ports: RFC 6265,
8.5; 421 Misdirected Request: RFC 9110, 15.5.20.
"""

import re

import pytest
from hypothesis import given
from hypothesis import strategies as st
from window import PORT, Window

from stopgap.desk.doors import MOST_BYTES
from stopgap.desk.forms import read_form

TICK = [("set", "owned=1 0 Fennmoor:FM017")]


def changes(window):
    with window.desk.reading() as library:
        return len(library.changes())


@pytest.mark.parametrize(
    "host",
    [
        "evil.example",
        f"evil.example:{PORT}",
        "127.0.0.1",
        f"127.0.0.1:{PORT + 1}",
        f"localhost:{PORT}",
        f"[::1]:{PORT}",
        "",
        None,
    ],
)
def test_another_host_is_misdirected(window, host):
    """So a name that was made to lead here (DNS rebinding) reads nothing."""
    answer = window.get("/wall", host=host)
    assert answer.status == 421
    assert "Fennmoor" not in answer.text
    assert window.post("/wall/own", TICK, host=host).status == 421


@pytest.mark.parametrize(
    "headers",
    [
        {"origin": None},
        {"origin": "null"},
        {"origin": "https://evil.example"},
        {"origin": f"http://127.0.0.1:{PORT + 1}"},
        {"origin": f"http://localhost:{PORT}"},
        {"sec_fetch_site": "cross-site"},
        {"sec_fetch_site": "same-site"},
        {"sec_fetch_site": "none"},
        {"cookie": None},
        {"cookie": f"stopgap-desk-{PORT}=guessed"},
        {"cookie": f"stopgap-desk-{PORT + 1}=x"},
        {"cookie": "\x00;;=="},
    ],
    ids=str,
)
def test_a_form_from_elsewhere_does_nothing(window, headers):
    before = changes(window)
    headers = {name.replace("_", "-"): value for name, value in headers.items()}
    for address in ("/wall/own", "/history/undo", "/close", "/shop/bought"):
        answer = window.post(address, TICK, **headers)
        assert answer.status == 403
        assert re.fullmatch(r"[^<>]+\n", answer.text)
    assert changes(window) == before


@pytest.mark.parametrize("site", ["cross-site", "same-site"])
def test_a_page_elsewhere_loads_nothing_but_may_lead_here(window, site):
    assert window.get("/wall", **{"sec-fetch-site": site}).status == 403
    assert window.get("/mark", **{"sec-fetch-site": site}).status == 403
    led = {"sec-fetch-site": site, "sec-fetch-mode": "navigate"}
    assert window.get("/wall", **led).status == 200  # GET changes nothing


def test_nobody_comes_in_without_the_cookie(own_library):
    window = Window(own_library)
    for address in ("/", "/wall", "/mark", "/match?target=FM017", "/icon.svg", "/nowhere"):
        answer = window.get(address)
        assert answer.status == 403
        assert "Fennmoor" not in answer.text


def test_a_start_key_opens_once(own_library):
    window = Window(own_library)
    key = window.keys.start_key()
    first = window.get(f"/enter?key={key}")
    assert (first.status, "set-cookie" in first.headers) == (200, True)
    cookie = first.headers["set-cookie"]
    assert {"HttpOnly", "SameSite=strict", "Path=/"} <= set(cookie.split("; ")[1:])
    assert cookie.startswith(f"stopgap-desk-{PORT}=")
    for replayed in (key, key.upper(), "", "x" * 5000):
        again = window.get(f"/enter?key={replayed}")
        assert (again.status, "set-cookie" in again.headers) == (403, False)


def test_a_start_key_grows_old(own_library, monkeypatch):
    window = Window(own_library)
    key = window.keys.start_key()
    monkeypatch.setattr("stopgap.desk.doors.time.monotonic", lambda: float("inf"))
    assert window.get(f"/enter?key={key}").status == 403


def test_a_second_start_needs_the_word_and_is_no_browser(window):
    word = {"authorization": f"Bearer {window.keys.second}"}
    plain = {"origin": None, "cookie": None}
    assert window.post("/key", **plain, **word).status == 200
    assert window.post("/key", **plain).status == 403
    assert window.post("/key", **plain, authorization="Bearer guessed").status == 403
    assert window.post("/key", cookie=None, **word).status == 403  # a page that got hold of it


@pytest.mark.parametrize("length", [str(MOST_BYTES + 1), "9" * 400, "-1", "1e3"])
def test_what_is_too_large_is_refused_before_it_is_read(window, length):
    answer = window.post("/lists/bring", b"x", **{"content-length": length})
    assert answer.status == 413
    assert "64 MB" in answer.text


def test_what_says_less_than_it_carries_is_refused(window):
    answer = window.post("/lists/bring", bytes(MOST_BYTES + 1), **{"content-length": "10"})
    assert answer.status == 413


@pytest.mark.parametrize("method", ["PUT", "DELETE", "OPTIONS", "TRACE", "PATCH"])
def test_other_methods_are_refused(window, method):
    assert window.ask(method, "/wall", b"", {}).status == 405


@pytest.mark.parametrize(
    "path",
    [
        "/../../etc/passwd",
        "/..%2f..%2fetc/passwd",
        "/wall/../../etc/passwd",
        "/rooms.py",
        "/wall/__init__",
        "/__class__",
        "/wall.py",
    ],
)
def test_no_address_opens_a_file_or_a_module(window, path):
    assert window.get(path).status in (404, 405)
    assert window.post(path, TICK).status in (404, 405)


@pytest.mark.parametrize("name", ["range", "on", "target", "under", "limit", "which", "layers"])
def test_what_an_address_says_is_text(window, name):
    """A script in it stays text, and a path is a name that nobody knows."""
    for text in (
        "<script>alert(1)</script>",
        "/etc/passwd",
        "../library.sqlite",
        "\x00",
        "9" * 999,
    ):
        answer = window.get(f"/match?target=FM017&{name}={text.encode().hex()}")
        assert answer.status == 200
        query = "&".join(["target=FM017", f"{name}={percent(text)}"])
        answer = window.get(f"/match?{query}")
        assert answer.status == 200
        assert "<script>alert" not in answer.text
        assert "root:" not in answer.text


def percent(text):
    return "".join(f"%{byte:02x}" for byte in text.encode())


def test_every_answer_is_fenced(window):
    answers = [window.get(path) for path in ("/wall", "/mark", "/icon.svg", "/nowhere", "/match")]
    answers.append(window.get("/wall", host="evil.example"))
    for answer in answers:
        policy = answer.headers["content-security-policy"]
        assert "default-src 'none'" in policy
        assert "frame-ancestors 'none'" in policy
        assert "unsafe" not in policy
        assert answer.headers["referrer-policy"] == "same-origin"
        assert answer.headers["x-content-type-options"] == "nosniff"
        assert answer.headers["cross-origin-resource-policy"] == "same-origin"
        assert answer.headers["cache-control"] == "no-store"
    page = answers[0].headers["content-security-policy"]
    assert "require-trusted-types-for 'script'" in page
    assert re.search(r"script-src 'sha256-[\w+/]+='", page)


def test_a_deed_leads_nowhere_else(window):
    for there in ("https://evil.example/", "//evil.example", "/\\evil.example", "/nowhere", "/key"):
        answer = window.post("/history/undo", [("change", "0"), ("there", there)])
        assert answer.status == 303
        assert answer.headers["location"].startswith("/history?said=")


@given(st.binary(max_size=400), st.text("abcdefXYZ 0123\u00e4", min_size=1, max_size=20))
def test_a_file_arrives_as_it_was_sent(held, name):
    """The form of RFC 7578 as a browser writes it, put together by hand."""
    boundary = "----x7MA4YWxk"
    if boundary.encode() in held:
        return
    body = b"".join(
        [
            f'--{boundary}\r\nContent-Disposition: form-data; name="list"\r\n\r\n'.encode(),
            name.encode(),
            f'\r\n--{boundary}\r\nContent-Disposition: form-data; name="file"; '.encode(),
            f'filename="{name}"\r\nContent-Type: application/octet-stream\r\n\r\n'.encode(),
            held,
            f"\r\n--{boundary}--\r\n".encode(),
        ]
    )
    sent = read_form(f"multipart/form-data; boundary={boundary}", body)
    assert sent.files == {"file": (name, held)}
    assert list(sent.pairs) == [("list", name)]
