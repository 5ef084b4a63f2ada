"""`chart` and `plot` as they are typed: files whole or not at all, errors in a sentence."""

import json

import pytest

from stopgap.reports.drawing.blend_plots import blend_plot

pytestmark = pytest.mark.slow

ROWS = """code,name,L,a,b,owned
1,Kelp Green,50,-20,25,yes
2,Tide Wrack,32,-19,24,yes
3,Gull Wing,85,0,2,no
"""
MANY = "code,L,a,b\n" + "".join(f"{row},{30 + row / 2},0,-40\n" for row in range(60))


@pytest.fixture
def fen(stopgap_run, tmp_path, monkeypatch):
    """A library with one small range, in an empty folder; the runner of commands on it."""
    path = tmp_path / "fen.csv"
    path.write_text(ROWS)
    assert stopgap_run("range", "import", path, "--name", "Fen")[0] == 0
    path.unlink()
    monkeypatch.chdir(tmp_path)
    return stopgap_run


def left(folder):
    return sorted(path.name for path in folder.iterdir() if not path.name.startswith("library"))


@pytest.mark.parametrize(
    "arguments",
    [
        ["chart", "out.pdf"],
        ["chart", "out.svg", "--owned", "--sheet-size", "letter", "--title", "$x"],
        ["plot", "out.png"],
        ["plot", "out.svg", "--kind", "lightness", "--target", "#7f9a8c"],
        ["plot", "out.pdf", "--kind", "blend", "--from", "Fen:3", "--to", "Fen:2"],
    ],
    ids=" ".join,
)
def test_one_file_and_never_over_another(fen, tmp_path, arguments):
    status, out, error = fen(*arguments)
    assert (status, error) == (0, "")
    assert f"Drew 1 page: {arguments[1]}." in out
    assert left(tmp_path) == [arguments[1]]
    drawn = (tmp_path / arguments[1]).read_bytes()
    status, _, error = fen(*arguments)
    assert status == 1
    assert "--overwrite" in error
    assert (tmp_path / arguments[1]).read_bytes() == drawn
    assert fen(*arguments, "--overwrite")[0] == 0
    (tmp_path / arguments[1]).write_text("mine")
    status, _, error = fen(*arguments, "--overwrite")
    assert status == 1
    assert "holds a text" in error
    assert (tmp_path / arguments[1]).read_text() == "mine"


@pytest.mark.parametrize(
    ("arguments", "status", "says"),
    [
        (["chart", "out.doc"], 2, ".pdf or .svg"),
        (["chart", "out.pdf", "--sheet-size", "B5"], 2, "A4, Letter"),
        (["chart", "out.pdf", "--family", "fluorescents"], 3, "fluorescents"),
        (["chart", "out.pdf", "--family", "bleus"], 1, "blues"),
        (["chart", "nowhere/out.pdf"], 1, "no folder nowhere"),
        (["chart", "."], 2, ".pdf or .svg"),
        (["plot", "out.gif"], 2, ".png or .svg or .pdf"),
        (["plot", "out.png", "--range", "Fen", "--finish", "metallic"], 3, "no pencil"),
        (["plot", "out.png", "--target", "Fen:9"], 1, "Fen:9"),
        (["plot", "out.png", "--from", "Fen:1", "--to", "Fen:2"], 2, "--kind blend"),
        (["plot", "out.png", "--kind", "blend"], 2, "--from and --to"),
        (["plot", "out.png", "--kind", "blend", "--from", "Fen:1"], 2, "--from and --to"),
        (["plot", "out.png", "--kind", "blend", "--target", "Fen:1"], 2, "--target"),
        (["plot", "out.png", "--kind", "cube"], 2, "cube"),
    ],
    ids=lambda value: " ".join(value) if isinstance(value, list) else None,
)
def test_errors_are_one_sentence_and_leave_no_file(fen, tmp_path, arguments, status, says):
    found, out, error = fen(*arguments)
    assert (found, out) == (status, "")
    assert says in error
    assert "Traceback" not in error
    assert left(tmp_path) == []


def test_an_empty_library_is_told(stopgap_run, fen):
    assert fen("range", "remove", "Fen")[0] == 0
    for arguments in (["chart", "out.pdf"], ["plot", "out.png"]):
        status, _, error = fen(*arguments)
        assert status == 3
        assert "no " in error


def test_svg_has_a_file_a_page_and_all_must_be_free(stopgap_run, tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    (tmp_path / "many.csv").write_text(MANY)
    assert stopgap_run("range", "import", "many.csv", "--name", "Many")[0] == 0
    (tmp_path / "out-2.svg").write_text("mine")
    assert stopgap_run("chart", "out.svg")[0] == 1
    assert left(tmp_path) == ["many.csv", "out-2.svg"]
    assert stopgap_run("chart", "out.svg", "--overwrite")[0] == 1
    assert left(tmp_path) == ["many.csv", "out-2.svg"]
    (tmp_path / "out-2.svg").write_text("<svg></svg>")
    assert stopgap_run("chart", "out.svg", "--overwrite")[0] == 0
    assert left(tmp_path) == ["many.csv", "out-1.svg", "out-2.svg"]


def test_missing_glyphs_are_told(fen, tmp_path):
    assert fen("swatch", "edit", "Fen", "1", "--name", "kelp \U0001f9ff")[0] == 0
    status, out, _ = fen("chart", "out.pdf")
    assert status == 0
    assert "\U0001f9ff" in out


def test_blends_are_drawn_as_blend_makes_them(tmp_path, monkeypatch, stopgap_run, demo_library):
    """Of what is owned, where nobody says otherwise."""
    monkeypatch.chdir(tmp_path)
    drawn = []

    def keep(blends, *, figures=True):
        drawn.extend(blends)
        return blend_plot(blends)

    monkeypatch.setattr("stopgap.reports.drawing.blend_plots.blend_plot", keep)
    ends = ("Fennmoor:FM001", "Fennmoor:FM070")
    plot = ("plot", "out.svg", "--overwrite", "--kind", "blend", "--from", ends[0], "--to", ends[1])
    for widened in ((), ("--owned",), ("--any",)):
        status, _, error = stopgap_run(*plot, *widened, library=demo_library)
        assert (status, error) == (0, "")
        asked = ("blend", *ends, *widened, "--no-layers", "--json")
        found = json.loads(stopgap_run(*asked, library=demo_library)[1])
        assert list(drawn[-1].steps) == [step["step"] for step in found["steps"][1:]]
    assert drawn[0].steps == drawn[1].steps != drawn[2].steps


def test_a_chart_is_kept_and_grows(fen, tmp_path):
    """The same question has the same edition; a pencil that came later gets a spare box."""
    first = fen("chart", "one.svg")[1]
    number = first.partition("edition ")[2][:6]
    assert number.isdigit()
    assert f"edition {number}" in fen("chart", "two.svg")[1]
    assert (tmp_path / "one.svg").read_bytes() == (tmp_path / "two.svg").read_bytes()
    assert number not in fen("chart", "three.svg", "--code-order")[1]
    fen("swatch", "add", "Fen", "4", "--lab", "40", "30", "20", "--name", "Late Crab")
    status, out, _ = fen("chart", "more.svg", "--edition", number)
    assert status == 0
    assert "is now for Fen:4: write it there." in out
    assert "Late Crab" in (tmp_path / "more.svg").read_text(encoding="utf-8")
    assert "Late Crab" not in (tmp_path / "one.svg").read_text(encoding="utf-8")
    assert f"chart of edition {number}" in fen("undo")[1]
    assert "is now for Fen:4" in fen("chart", "again.svg", "--edition", number)[1]
    status, out, error = fen("chart", "none.svg", "--edition", "1")
    assert (status, out) == (3, "")
    assert number in error
    assert fen("chart", "none.svg", *["--anchor", "Fen:1"] * 6)[0] == 2
    assert not (tmp_path / "none.svg").exists()


def test_what_a_chart_may_hold_besides(fen, tmp_path):
    """Three fields, layers and a pencil of known colour, told on the page."""
    assert fen("chart", "c.svg", "--fields", "3", "--layers", "--anchor", "Fen:3")[0] == 0
    page = (tmp_path / "c.svg").read_text(encoding="utf-8")
    for words in ("Two pencils over each other", "Pencils of known colour", ">medium<"):
        assert words in page
