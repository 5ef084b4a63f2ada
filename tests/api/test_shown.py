"""How values show themselves: a line of text, and blocks of the sheets in a notebook."""

import re
import subprocess
import sys
from dataclasses import replace

import pytest

import stopgap
from stopgap.api.shown import ANSWERS, LONGEST, report_of
from stopgap.errors import InputError
from stopgap.reports import RENDERERS
from stopgap.swatches import FreeColour, Stack

BAD = "<script>alert(1)</script>&\u202e"


@pytest.fixture(scope="module")
def values(demo_library, scanned):
    with stopgap.open_library(demo_library, read_only=True) as library:
        swatches = library.swatches()
        return [
            *answers_of(library),
            scanned.found,
            library,
            swatches[3],
            library.ranges()[2],
            stopgap.target("#7f9a8c"),
            Stack.of(*swatches[:3]),
        ]


def answers_of(library):
    answer = stopgap.match("FM017", library)
    list_ = stopgap.translate(["FM020", "no such"], library, layers=False)
    blend = stopgap.blend("FM113", "FM112", library, layers=False)
    found = stopgap.gaps(library, [("dusk", "FM113", "FM112")], layers=False)
    bought = stopgap.shop(library, colours=["FM058"], layers=False)
    family = stopgap.families(library, ["blues"])[0]
    layered = stopgap.layer("FM003", "FM013", swatches=library)
    inner = [answer.matches[0], *list_.rows, list_.rows[0].given, *found.gaps, *bought.buy]
    return [answer, list_, blend, found, bought, family, layered, *inner]


def test_a_repr_is_one_line_of_at_most_120_characters(values):
    kinds = {type(value) for value in values}
    assert kinds >= set(ANSWERS)
    for value in values:
        assert repr(value).startswith(f"<{type(value).__name__} ")
        assert len(repr(value)) <= LONGEST == 120
    long = replace(values[-4], name="Kelp\n" * 99)
    assert len(repr(long)) == 120
    assert "\n" not in repr(long)


def test_values_are_shown_so_before_anything_is_asked():
    script = (
        "import stopgap\nwith stopgap.demo_library() as library:\n"
        "    print(library, *library.ranges(), library.swatches()[0], sep='\\n')"
    )
    told = subprocess.run(
        [sys.executable, "-c", script], capture_output=True, text=True, check=True
    ).stdout.splitlines()
    assert [line.split()[0] for line in told] == ["<Library", *["<ColourRange"] * 3, "<Swatch"]


def test_an_answer_shows_what_its_sheet_shows(values):
    """Tags apart, each word of the sheet between head and foot, in the same order."""
    for value in values:
        if isinstance(value, ANSWERS):
            sheet = RENDERERS["html"](report_of(value))
            body = sheet[sheet.index("<main") : sheet.index("<footer")]
            shown = value._repr_html_()
            shown = re.sub("<h2>.*?</h2>", "", shown[shown.index("</style>") :])  # its title
            plain = [re.sub(r"<[^>]*>|\s+", " ", text).split() for text in (body, shown)]
            assert plain[0] == plain[1]


def test_text_of_a_pencil_is_escaped_and_styles_stay_inside(values):
    (swatch,) = (one for one in values if isinstance(one, stopgap.Swatch))
    shown = replace(swatch, name=BAD)._repr_html_()
    assert "<script" not in shown
    assert "\u202e" not in shown
    assert "&lt;script&gt;" in shown
    name = re.search(r'class="stopgap (s\w+)"', shown)[1]
    styles = shown[shown.index("<style>") + 7 : shown.index("</style>")]
    assert styles.startswith(f".{name} {{")
    assert styles.count("{") == styles.count("}")
    assert ":root" not in styles
    other = replace(swatch, lab=(10.0, 0.0, 0.0))._repr_html_()
    assert name not in other


def test_what_is_no_answer_has_no_report():
    with pytest.raises(InputError, match="expected an answer"):
        report_of(3)
    assert FreeColour("x", (1.0, 2.0, 3.0))._repr_html_()
