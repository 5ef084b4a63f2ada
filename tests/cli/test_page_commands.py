"""`sheet` and `pocket` as a user types them: what they write, what they refuse, how they end."""

import json
import re
import shutil

import pytest
from valid_html import checker, errors_of, faults_of

from stopgap.cli.ask.demo import datasets
from stopgap.library import open_library

pytestmark = pytest.mark.slow


@pytest.fixture
def demo(stopgap_run, demo_library):
    """The runner on a copy of the demo's library."""
    shutil.copy(demo_library, stopgap_run.library)
    return stopgap_run


def shown(path):
    return path.read_text(encoding="utf-8")


def test_a_sheet_shows_what_the_command_answers(demo, tmp_path):
    path = tmp_path / "sheet.html"
    status, out, error = demo(
        "sheet", path, "--for", "match", "Fennmoor:FM017", "--limit", "2", "--figures"
    )
    assert (status, error) == (0, "")
    assert out == f"Wrote {path}.\n"
    _, answer, _ = demo("match", "Fennmoor:FM017", "--limit", "2", "--json")
    text = shown(path)
    for match in json.loads(answer)["matches"]:
        assert match["swatch"]["name"] in text
        assert match["words"] in text
        assert f"{match['delta_E']:.1f}" in text
    assert text.count('aria-label="stand-in: ') == 2


@pytest.mark.parametrize(
    ("question", "says"),
    [
        ([], "<h1>All pencils</h1>"),
        (["wall", "--owned"], "71 of them yours"),
        (["family", "wines"], "wines: "),
        (["blend", "Fennmoor:FM113", "Fennmoor:FM112"], "<h1>A blend</h1>"),
        (["layer", "Fennmoor:FM003", "Fennmoor:FM013"], "look like"),
        (["range", "Quillet"], "Quillet: 48 swatches"),
        (["blends", datasets() / "blends.csv", "--no-layers"], "Blends and their gaps"),
        (["list", datasets() / "lesson.csv"], "shadow on the sandbank"),
        (["table", "--from", "Quillet", "--to", "Brindlewick"], "against Brindlewick"),
        (["shop", "--blends", datasets() / "blends.csv", "--no-layers"], "Shopping list"),
        (["shop", "--for", "Quillet:Q8", "--no-layers"], "Quillet:Q8"),
        (["tones", "Quillet:Q8", "--owned"], "Quillet:Q8"),
        (["holes", "--no-layers"], "Holes in a box"),
    ],
    ids=[
        "nothing",
        "wall",
        "family",
        "blend",
        "layer",
        "range",
        "blends",
        "list",
        "table",
        "shop",
        "shop --for",
        "tones",
        "holes",
    ],
)
def test_everything_that_can_be_shown(demo, tmp_path, question, says):
    path = tmp_path / "sheet.html"
    asked = ["--for", *question] if question else []
    status, _, error = demo("sheet", path, *asked)
    assert (status in (0, 3), error) == (True, "")  # 3: a need of shop stays open
    assert says in shown(path)
    assert faults_of(shown(path)) == []


@pytest.mark.skipif(checker() is None, reason="neither a command vnu nor VNU_JAR with Java")
def test_the_checker_of_the_standard_finds_no_error(demo, tmp_path):
    questions = [["wall", "--lists"], ["list", datasets() / "lesson.csv"], ["holes", "--no-layers"]]
    for place, question in enumerate(questions):
        assert demo("sheet", tmp_path / f"{place}.html", "--for", *question)[0] == 0
    assert demo("pocket", tmp_path / "pocket.html", "--no-recipes")[0] == 0
    assert demo("guide", "--html", tmp_path / "guide.html")[0] == 0
    assert errors_of(tmp_path.glob("*.html")) == []


def test_every_family_is_shown_whole(demo, tmp_path):
    path = tmp_path / "sheet.html"
    assert demo("sheet", path, "--for", "family", "--range", "Quillet")[0] == 0
    text = shown(path).replace("<wbr>", "")
    for code in range(1, 49):
        assert f"Quillet:Q{code} " in text


def test_a_title(demo, tmp_path):
    path = tmp_path / "sheet.html"
    demo("sheet", path, "--title", "Tide & time", "--for", "family", "wines")
    assert "<h1>Tide &amp; time</h1>" in shown(path)


def test_the_sheet_of_a_broken_blend_is_written_and_ends_with_three(demo, tmp_path):
    path = tmp_path / "sheet.html"
    question = ["blend", "Fennmoor:FM001", "Fennmoor:FM070", "--step", "1"]
    assert demo("sheet", path, "--for", *question)[0] == 3
    assert "are gaps" in shown(path)


@pytest.mark.parametrize(
    ("command", "question"), [("sheet", ["--for", "family", "wines"]), ("pocket", [])]
)
def test_a_file_is_not_replaced_unasked(demo, tmp_path, command, question):
    path = tmp_path / "page.html"
    path.write_text("<!DOCTYPE html><html>mine</html>")
    quick = ["--no-recipes"] if command == "pocket" else []
    status, out, error = demo(command, path, *quick, *question)
    assert (status, out) == (1, "")
    assert "--overwrite" in error
    assert "mine" in shown(path)
    assert demo(command, path, *quick, *question, "--overwrite")[0] == 0
    assert shown(path).startswith("<!DOCTYPE html>")
    assert "mine</html>" not in shown(path)
    assert not [file for file in tmp_path.iterdir() if file.name.startswith(".page")]


@pytest.mark.parametrize("command", ["sheet", "pocket"])
def test_places_that_cannot_be_written(demo, tmp_path, command):
    for path in (tmp_path, tmp_path / "none" / "page.html", tmp_path / ("x" * 300)):
        status, out, error = demo(command, path, *(["--no-recipes"] if command == "pocket" else []))
        assert (status, out) == (1, "")
        assert error.count("\n") == 1
        assert "Traceback" not in error


@pytest.mark.parametrize("command", ["sheet", "pocket"])
def test_an_empty_library(stopgap_run, tmp_path, command):
    path = tmp_path / "page.html"
    with open_library(stopgap_run.library):
        pass
    status, out, error = stopgap_run(command, path)
    assert (status, out) == (3, "")
    assert error.count("\n") == 1
    assert not path.exists()


@pytest.mark.parametrize(
    ("question", "status", "says"),
    [
        (["family", "fluorescents", "--finish", "plain"], 3, "No swatch is filed under"),
        (["match", "Fennmoor:FM999"], 1, "No swatch is called"),
        (["nonsense"], 2, "expected one of match, layer, tones, list"),
        (["match", "Fennmoor:FM017", "--json"], 2, "--json"),
        (["match", "Fennmoor:FM017", "--limit", "0"], 2, "--limit"),
        (["match"], 2, "TARGET"),
        ([], 2, "--for"),
        (["list", "none.csv"], 1, "none.csv"),
    ],
)
def test_what_cannot_be_shown_writes_nothing(demo, tmp_path, question, status, says):
    path = tmp_path / "sheet.html"
    found, out, error = demo("sheet", path, "--for", *question)
    assert (found, out) == (status, "")
    assert says in error
    assert "Traceback" not in error
    assert not path.exists()


def data_of(path):
    found = re.search(r'<script type="application/json" id="data">(.*?)</script>', shown(path))
    return json.loads(found[1])


def bought(path):
    data = data_of(path)
    return [
        (data["swatches"][place][1], price, purpose) for place, price, purpose, *_ in data["buy"]
    ]


def test_pocket(demo, tmp_path):
    path = tmp_path / "pocket.html"
    listed = tmp_path / "buy.csv"
    listed.write_text("colour,label\nFennmoor:FM002,lichen\nQuillet:Q8,\n")
    status, out, error = demo("pocket", path, "--buy", listed, "--no-recipes", "--title", "Pools")
    assert (status, error) == (0, "")
    assert "240 pencils, 2 to buy" in out
    assert "<h1>Pools</h1>" in shown(path)
    assert [row[0] for row in bought(path)] == ["FM002", "Q8"]
    assert bought(path)[0][2] == "lichen"
    assert not any(recipes for _, _, recipes, _ in data_of(path)["answers"])
    assert faults_of(shown(path)) == []


def test_pocket_takes_the_shopping_list_of_shop(demo, tmp_path):
    path = tmp_path / "pocket.html"
    asked = ["shop", "--blends", datasets() / "blends.csv", "--no-layers"]
    assert demo("pocket", path, "--no-recipes", "--for", *asked)[0] == 0
    _, answer, _ = demo(*asked, "--json")
    expected = [(row["swatch"]["code"], row["price"]) for row in json.loads(answer)["buy"]]
    assert expected
    assert [(code, price) for code, price, _ in bought(path)] == expected


def test_pocket_shows_a_list_on_the_paper_it_is_for(stopgap_run, tmp_path):
    """Of several papers each row says its own; another than was asked for is refused."""
    (tmp_path / "few.csv").write_text("code,L,a,b\n1,90,-8,75\n2,62,-12,-38\n")
    assert stopgap_run("range", "import", tmp_path / "few.csv", "--name", "Fen")[0] == 0
    listed, path = tmp_path / "buy.csv", tmp_path / "pocket.html"

    def page(text, *args):
        listed.write_text(text)
        asked = ("pocket", path, "--overwrite", "--no-recipes", "--buy", listed, *args)
        status, _, error = stopgap_run(*asked)
        return data_of(path) if status == 0 else error

    told = {row[1]: row[3] for row in page("colour\nFen:1\nFen:2\n")["swatches"]}
    one = page("colour,label,paper\nFen:1,pool,black\nFen:2,,\n")
    assert [purpose for *_, purpose, _ in one["buy"]] == ["pool", ""]
    assert all(row[3] < told[row[1]] - 5.0 for row in one["swatches"])  # L* on black
    both = page("colour,label,paper\nFen:1,pool,black\nFen:2,,tan\n")
    assert [purpose for *_, purpose, _ in both["buy"]] == ["pool, on black", "on tan"]
    assert {row[1]: row[3] for row in both["swatches"]} == told
    error = page("colour,label,paper\nFen:1,pool,black\n", "--on", "tan")
    assert "row 2" in error
    assert "tan" in error


def test_pocket_shows_a_plan_on_the_paper_it_is_for(stopgap_run, tmp_path):
    """What is planned for one paper is shown there, and says so on a page for another; so is what
    runs out.
    """
    rows = ("code,L,a,b,owned,stock,price", "1,90,-8,75,no,,2", "2,62,-12,-38,yes,empty,3")
    (tmp_path / "few.csv").write_text("\n".join(rows))
    assert stopgap_run("range", "import", tmp_path / "few.csv", "--name", "Fen")[0] == 0
    listed, path = tmp_path / "list.csv", tmp_path / "pocket.html"
    listed.write_text("colour\nlab(80 -8 60)\n")

    def page(*args):
        assert stopgap_run("pocket", path, "--overwrite", "--no-recipes", *args)[0] == 0
        data = data_of(path)
        return {row[1]: row[3] for row in data["swatches"]}, data["buy"]

    told, _ = page()
    plan = ("--for", "shop", "--list", listed, "--tolerance", "60", "--no-layers", "--on", "black")
    runs_out = ("--for", "shop", "--restock", "--on", "black")
    for asked in (plan, runs_out):
        there, buy = page(*asked)
        assert buy
        assert all(there[code] < told[code] - 5.0 for code in told)  # L* on black
        assert not any("on black" in purpose for *_, purpose, _ in buy)
        there, buy = page("--on", "white", *asked)
        assert there == told
        assert all(purpose.endswith("on black") for *_, purpose, _ in buy)


def test_pocket_works_out_recipes(stopgap_run, tmp_path):
    path = tmp_path / "few.csv"
    rows = ["code,name,L,a,b,owned", "1,Lemon,90,-8,75,yes", "2,Sky,62,-12,-38,yes"]
    path.write_text("\n".join([*rows, "3,Weed,55,-32,20,no"]) + "\n")
    assert stopgap_run("range", "import", path, "--name", "Fen", "--white", "D50")[0] == 0
    page = tmp_path / "pocket.html"
    assert stopgap_run("pocket", page)[0] == 0
    data = data_of(page)
    (recipe,) = data["answers"][2][2]
    assert {place for place, _ in recipe[0]} == {0, 1}


@pytest.mark.parametrize(
    ("options", "status", "says"),
    [
        (["--for", "match", "Fennmoor:FM017"], 2, "expected one of shop"),
        (["--buy", "x.csv", "--for", "shop"], 2, "one way"),
        (["--buy", "x.csv"], 1, "x.csv"),
        (["--on", "blue"], 1, "No paper is called 'blue'"),
    ],
)
def test_what_pocket_refuses(demo, tmp_path, options, status, says):
    path = tmp_path / "pocket.html"
    found, out, error = demo("pocket", path, "--no-recipes", *options)
    assert (found, out) == (status, "")
    assert says in error
    assert not path.exists()
