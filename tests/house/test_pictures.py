"""README's pictures: each is there, is small, says what it shows, and is made by the script."""

import re
import runpy
from pathlib import Path

ROOT = Path(__file__).parents[2]
SHOWN = re.findall(
    r'(?:!\[([^\]]*)\]\(|<img alt="([^"]*)" [^>]*src=")(\.pictures/[^)"]+)',
    (ROOT / "README.md").read_text(encoding="utf-8"),
)


def test_pictures_are_made_by_the_script(tmp_path):
    runpy.run_path(str(ROOT / ".pictures" / "make_pictures.py"))["main"](tmp_path)
    made = {path.name for path in tmp_path.iterdir()}
    assert made == {Path(path).name for *_, path in SHOWN}
    for *alternatives, path in SHOWN:
        assert len("".join(alternatives)) > 20
        committed = (ROOT / path).read_bytes()
        assert len(committed) < 100_000
        # what is written in it; the outlines of letters may change with the version of the font
        texts = [
            re.findall(rb"<text[^>]*>([^<]*)<", content)
            for content in (committed, (tmp_path / Path(path).name).read_bytes())
        ]
        assert texts[0] == texts[1]
