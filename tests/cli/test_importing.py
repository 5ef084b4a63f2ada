"""`range import` of a spreadsheet as people keep it: one command and one yes."""

import json
from pathlib import Path

import click
import pytest

MESSY = Path(__file__).parents[1] / "library" / "messy"
KEPT = "Nr.;Farbe;L;a;b;vorhanden\n1;Tang;50,5;1;2;ja\n2;Watt;51;1;2;nein\n3;Loch;;;;ja\n"


@pytest.fixture
def kept(tmp_path):
    path = tmp_path / "stifte.csv"
    path.write_text(KEPT, encoding="utf-8")
    return path


def test_nothing_is_stored_until_somebody_agrees(stopgap_run, kept):
    status, out, error = stopgap_run("range", "import", kept, "--name", "Stifte")
    assert (status, out) == (1, "")
    assert "Nr. as code, Farbe as name, vorhanden as owned" in error
    assert "3 pencils can be taken" in error
    assert "nothing was stored yet" in error
    assert "--yes" in error
    assert len(error.splitlines()) <= 15
    assert json.loads(stopgap_run("range", "list", "--json")[1] or '{"ranges": []}')["ranges"] == []
    status, out, error = stopgap_run("range", "import", kept, "--name", "Stifte", "--yes", "--json")
    answer = json.loads(out)
    assert (status, error, answer["added"]) == (0, "", ["1", "2", "3"])
    kinds = {found["kind"] for found in answer["understood"]}
    assert kinds == {"guess", "remark"}
    shown = json.loads(stopgap_run("range", "show", "Stifte", "--json")[1])
    assert [found["swatch"]["owned"] for found in shown["swatches"]] == [True, False, True]
    assert shown["swatches"][2]["swatch"]["lab"] is None


@pytest.mark.parametrize("answer", [True, False])
def test_at_a_terminal_one_question_is_asked(stopgap_run, kept, monkeypatch, answer):
    asked = []
    monkeypatch.setattr("stopgap.cli.library.importing.at_terminal", lambda: True)
    monkeypatch.setattr(click, "confirm", lambda text, **_: asked.append(text) or answer)
    status, _, error = stopgap_run("range", "import", kept, "--name", "Stifte")
    assert asked == ["Take it so?"]
    assert status == (0 if answer else 1)
    assert ("nothing was stored." in error) != answer


def test_strict_guesses_nothing(stopgap_run, kept):
    status, out, error = stopgap_run("range", "import", kept, "--name", "Stifte", "--strict")
    assert (status, out) == (1, "")
    assert "no column is headed 'code'" in error
    status, _, _ = stopgap_run(
        "range", "import", kept, "--name", "S", "--strict", "--mapping", kept
    )
    assert status == 2


def test_each_cell_can_be_seen(stopgap_run, kept):
    error = stopgap_run("range", "import", kept, "--name", "Stifte", "--all")[2]
    assert any(line.split() == ["2", "vorhanden", "ja", "yes"] for line in error.splitlines())


def test_a_mapping_says_what_columns_hold(stopgap_run, tmp_path):
    path = tmp_path / "odd.csv"
    path.write_text("K;N;H;P\nx1;Kelp;50;1\nx2;Wrack;60;2\n".replace("H;P", "H1;P1"))
    mapping = tmp_path / "mapping.csv"
    mapping.write_text("column,means\nK,code\nN,name\nH1,L\nP1,Lightness\n")
    status, _, error = stopgap_run("range", "import", path, "--name", "Odd", "--mapping", mapping)
    assert status == 1  # a and b are missing
    assert "L alone is no colour" in error
    mapping.write_text("column,means\nK,what\n")
    status, _, error = stopgap_run("range", "import", path, "--name", "Odd", "--mapping", mapping)
    assert status == 1
    assert "mapping.csv: row 2, column means: found 'what'" in error
    path.write_text("K;N;H1;P1;Q1\nx1;Kelp;50;1;2\nx2;Wrack;60;2;3\n")
    mapping.write_text("column,means\nK,code\nN,name\nH1,L\nP1,a\nQ1,b\n")
    status, _, _ = stopgap_run("range", "import", path, "--name", "Odd", "--mapping", mapping)
    assert status == 0


def test_what_was_agreed_on_holds_for_the_next_file(stopgap_run, kept):
    whole = KEPT.replace("3;Loch;;;;ja\n", "")
    kept.write_text(whole, encoding="utf-8")
    assert stopgap_run("range", "import", kept, "--name", "Stifte", "--yes")[0] == 0
    kept.write_text(f"{whole}3;Priel;52;1;2;ja\n", encoding="utf-8")
    status, out, _ = stopgap_run("range", "import", kept, "--name", "Stifte", "--replace")
    assert status == 0
    assert "1 added" in out
    kept.write_text("\n".join(whole.splitlines()[:2]), encoding="utf-8")
    status, _, error = stopgap_run("range", "import", kept, "--name", "Stifte", "--replace")
    assert status == 1
    assert "--drop" in error


@pytest.mark.parametrize("name", ["07-de.ods", "11-fr.xlsx", "18-en.xls", "32-fr.csv"])
def test_a_messy_file_takes_one_command_and_one_yes(stopgap_run, name):
    truth = json.loads((MESSY / "truth.json").read_text(encoding="utf-8"))[name]
    status, out, error = stopgap_run("range", "import", MESSY / name, "--name", "Messy")
    assert (status, out) == (1, "")
    assert len(error.splitlines()) <= 15
    status, out, _ = stopgap_run("range", "import", MESSY / name, "--name", "Messy", "-y", "--json")
    assert status == 0
    assert len(json.loads(out)["added"]) == len(truth["pencils"])


@pytest.mark.parametrize("ending", ["xlsx", "csv"])
def test_a_template_takes_a_row_and_lands_without_a_question(stopgap_run, tmp_path, ending):
    path = tmp_path / f"sheet.{ending}"
    assert stopgap_run("range", "template", path)[0] == 0
    assert stopgap_run("range", "template", path)[0] == 1  # nothing is overwritten unasked
    empty = stopgap_run("range", "import", path, "--name", "Empty")
    assert empty[0] == 1
    if ending == "csv":
        text = path.read_text(encoding="utf-8")
        heading = text.splitlines()[0].split(",")
        cells = {"code": "x1", "name": "Kelp", "hex": "#aabbcc"}
        row = ",".join(cells.get(title, "") for title in heading)
        path.write_text(f"{text}{row}\n", encoding="utf-8")
        status, out, _ = stopgap_run("range", "import", path, "--name", "Mine")
        assert (status, "1 added" in out) == (0, True)


def test_several_files_land_together_or_not_at_all(stopgap_run, tmp_path):
    files = [tmp_path / f"{name}.csv" for name in ("Heath", "Moor", "Odd")]
    for file, code in zip(files, "123", strict=True):
        file.write_text(f"code,L,a,b\n{code},50,1,2\n", encoding="utf-8")
    files[2].write_text("code,L,a,b\n3,x,1,2\n", encoding="utf-8")
    status, out, error = stopgap_run("range", "import", *files)
    assert (status, out) == (1, "")
    assert "Odd.csv" in error
    assert json.loads(stopgap_run("range", "list", "--json")[1] or '{"ranges": []}')["ranges"] == []
    status, out, _ = stopgap_run("range", "import", *files[:2], "--json")
    ranges = json.loads(out)["ranges"]
    assert status == 0
    assert [(one["range"], one["added"]) for one in ranges] == [("Heath", ["1"]), ("Moor", ["2"])]
    stopgap_run("undo")  # one change brought both
    assert json.loads(stopgap_run("range", "list", "--json")[1] or '{"ranges": []}')["ranges"] == []


def test_several_files_name_their_own_ranges(stopgap_run, kept, tmp_path):
    other = tmp_path / "other" / kept.name
    other.parent.mkdir()
    other.write_text(KEPT, encoding="utf-8")
    status, _, error = stopgap_run("range", "import", kept, other)
    assert status == 2
    assert "would both be called 'stifte'" in error
    status, _, error = stopgap_run("range", "import", kept, other, "--name", "Stifte")
    assert status == 2
    assert "--name names one range" in error
