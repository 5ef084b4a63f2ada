"""Whatever is sent, and whatever a pencil is called, is answered with a page and stays text."""

from html.parser import HTMLParser

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from window import Window

from stopgap.desk.pages import ROOMS, find_room
from stopgap.library import import_range, open_library, read_range
from stopgap.library.ranges.conversion import Convention

CHEAP = [room for room in ROOMS if room not in ("holes", "shop")]  # the others search for long
SAID = [
    *("", "0", "-1", "1e999", "nan", "9" * 30, "FM017", "Fennmoor", "Fennmoor:FM001-FM009"),
    *("#c04a2b", "#zzz", "lab(1 2)", "lab(52 40 30)", "\x00", "a;b;c", ";;;", '"', "\n\n", "1,5"),
    *("name,from,to\na,FM001,FM002", "colour\nFM001", "owned", "light", "listed", "A", "tan"),
    *("owned=1 x Fennmoor:FM017", "../x", "/etc/passwd", "x" * 3000, "=1+1", "{{7*7}}", "<b>"),
]
FIELDS = [
    *("target", "which", "range", "limit", "under", "instead", "on", "first", "second", "touch"),
    *("list", "sharing", "from", "to", "via", "step", "look", "blends", "topic", "said", "page"),
    *("set", "there", "pencil", "family", "before", "after", "change", "key", "scan", "name"),
    *("table", "source", "column x", "device", "size"),
]
fields = st.lists(
    st.tuples(st.sampled_from(FIELDS), st.sampled_from(SAID) | st.text(max_size=12)), max_size=6
)


@pytest.fixture(scope="module")
def kept(demo_library, tmp_path_factory):
    path = tmp_path_factory.mktemp("sent") / "library.sqlite"
    path.write_bytes(demo_library.read_bytes())
    return Window(path).enter()


@settings(deadline=None, max_examples=60, suppress_health_check=[HealthCheck.too_slow])
@given(room=st.sampled_from(CHEAP), said=fields, deed=st.integers(0, 9))
def test_whatever_is_sent_is_answered(kept, room, said, deed):
    said = [pair for pair in said if pair != ("look", "families")]
    said += [("alone", "yes"), ("layers", "never")]
    query = "&".join(f"{quoted(name)}={quoted(text)}" for name, text in said)
    assert kept.get(f"/{room}?{query}").status == 200
    deeds = [name for name in find_room(room).deeds if name != "chart"]
    if deeds and deed < 5:
        body = query.encode()
        assert kept.post(f"/{room}/{deeds[deed % len(deeds)]}", body).status in (200, 303)


def quoted(text):
    return "".join(f"%{byte:02x}" for byte in text.encode("utf-8", "replace"))


NAMES = [
    "<script>alert(1)</script>",
    '"><img src=x onerror=alert(2)>',
    "</style></title><script>alert(3)</script>",
    "{{ 7 * 7 }}{% raw %}",
    "' onmouseover='alert(4)",
    "</textarea><script>alert(5)</script>",
]


class Tags(HTMLParser):
    """Every tag and every attribute that a browser would see."""

    def __init__(self):
        super().__init__()
        self.tags, self.attributes = [], set()

    def handle_starttag(self, tag, attrs):
        self.tags.append(tag)
        self.attributes |= {name for name, _ in attrs}


def test_a_script_in_a_name_stays_text(tmp_path):
    rows = [f'"X{place}","{name.replace(chr(34), chr(34) * 2)}",{40 + 5 * place},10,10,yes'
            for place, name in enumerate(NAMES)]  # fmt: skip
    file = tmp_path / "names.csv"
    file.write_text("\n".join(["code,name,L,a,b,owned", *rows]), encoding="utf-8")
    with open_library(tmp_path / "library.sqlite") as library:
        import_range(library, read_range(file, NAMES[0], Convention("D50", 2)))
    window = Window(tmp_path / "library.sqlite").enter()
    asked = {"match": "target=X0", "layers": "first=X0&second=X1", "blends": "from=X0&to=X5"}
    asked |= {"lists": "list=X1", "wall": "touch=tick"}
    for room in ROOMS:
        query = f"{asked.get(room, '')}&{quoted(NAMES[0])}={quoted(NAMES[5])}"
        text = window.get(f"/{room}?{query}").text
        found = Tags()
        found.feed(text)
        assert found.tags.count("script") == 1, room
        assert "img" not in found.tags, room
        assert not any(name.startswith("on") and name != "on" for name in found.attributes), room
    page = window.get(f"/lists?list={quoted(NAMES[5])}").text
    assert "</textarea><script" not in page
