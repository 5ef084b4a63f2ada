"""README's pictures: each is there, is small, says what it shows, and is made by the script."""

import re
import runpy
from pathlib import Path

import pytest

from stopgap.desk.pages import ROOMS
from stopgap.reports.manual import find_topic

pytestmark = pytest.mark.slow

ROOT = Path(__file__).parents[2]
SHOWN = re.findall(
    r'(?:!\[([^\]]*)\]\(|<img alt="([^"]*)" [^>]*src=")(\.pictures/[^)"]+)',
    (ROOT / "README.md").read_text(encoding="utf-8"),
)


def test_shown_pictures_are_there_and_say_what_they_show():
    for *alternatives, path in SHOWN:
        said = "".join(alternatives)
        assert len(said) > 20
        content = (ROOT / path).read_bytes()
        assert 0 < len(content) < 300_000
        assert all(figure.encode() in content for figure in re.findall(r"\d+\.\d", said))


def test_pictures_are_made_by_the_script(tmp_path):
    """What is written in them; the outlines of letters may change with the version of a font."""
    runpy.run_path(str(ROOT / ".pictures" / "make_pictures.py"))["main"](tmp_path)
    made = sorted(tmp_path.iterdir())
    assert made
    for path in made:
        assert f".pictures/{path.name}" in {shown for *_, shown in SHOWN}
        texts = [
            re.findall(rb"<text[^>]*>([^<]*)<", content)
            for content in ((ROOT / ".pictures" / path.name).read_bytes(), path.read_bytes())
        ]
        assert bool(texts[0]) is (path.suffix == ".svg")
        assert texts[0] == texts[1]


def test_the_manual_shows_every_room_of_the_desk():
    manual = ROOT / "src" / "stopgap" / "manual"
    shown = re.findall(r"!\[(.*)\]\((pictures/.*)\)", (manual / "desk.md").read_text("utf-8"))
    assert [path for _, path in shown] == [f"pictures/{room}.webp" for room in ROOMS]
    assert all(len(said) > 20 for said, _ in shown)
    held = [(manual / path).read_bytes() for _, path in shown]
    assert sum(map(len, held)) < 400_000
    assert sorted(p.name for p in (manual / "pictures").iterdir()) == sorted(
        f"{room}.webp" for room in ROOMS
    )
    topic = find_topic("desk", {})
    assert "webp" not in topic.text
    pictured = "".join(passage.pictured for passage in topic.passages)
    assert pictured.count("data:image/webp;base64,UklGR") == len(ROOMS)  # "RIFF"
    taken = runpy.run_path(str(ROOT / ".pictures" / "make_desk_pictures.py"))["ROOMS"]
    assert list(taken) == list(ROOMS)
