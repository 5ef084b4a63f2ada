"""The commands as a user types them: what they print, what they keep, how they end."""

import csv
import io
import json
import os
import subprocess
import sys

import pytest

FEN = """code,name,L,a,b,status,finish,lightfastness,lightfastness_scale
1,Kelp Green,50,-20,25,current,plain,II,ASTM
2,Tide Wrack,52,-19,24,current,plain,,
3,Old Wrack,51,-19,25,discontinued,plain,I,ASTM
4,Mica Weed,50,-20,25,current,metallic,,
5,Gull Wing,85,0,2,current,plain,III,ASTM
"""


@pytest.fixture
def fen(stopgap_run, tmp_path):
    """A library with one small range; the runner of commands on it."""
    path = tmp_path / "fen.csv"
    path.write_text(FEN)
    status, _, error = stopgap_run("range", "import", path, "--name", "Fen", "--white", "D50")
    assert (status, error) == (0, "")
    return stopgap_run


def matches(out):
    return [match["swatch"]["code"] for match in json.loads(out)["matches"]]


def test_match_json_has_the_documented_fields(fen):
    status, out, error = fen("match", "Fen:1", "--json")
    assert (status, error) == (0, "")
    answer = json.loads(out)
    assert next(iter(answer)) == "schema"
    assert answer["schema"] == "stopgap.match/1"
    assert {"target", "metric", "matches", "layers", "notes"} <= set(answer)
    swatch_fields = {"range", "code", "name", "lab", "owned", "status", "lightfastness"}
    assert set(answer["target"]) == swatch_fields
    first = answer["matches"][0]
    assert set(first["swatch"]) == swatch_fields
    assert {"delta_E", "grade", "delta_L", "delta_C", "delta_H", "words", "sigma", "tied"} <= set(
        first
    )
    assert matches(out) == ["2", "5"]


def test_filters(fen):
    assert matches(fen("match", "Fen:1", "--json", "--include-discontinued")[1]) == ["3", "2", "5"]
    assert matches(fen("match", "Fen:1", "--json", "--finish", "metallic")[1]) == ["4"]
    assert fen("own", "Fen:3", "Old Wrack")[0] == 0
    assert matches(fen("match", "Fen:1", "--json")[1]) == ["3", "2", "5"]
    assert matches(fen("match", "Fen:1", "--json", "--owned")[1]) == ["3"]
    rated = ["match", "Fen:2", "--json", "--min-lightfastness", "ASTM II"]
    assert matches(fen(*rated)[1]) == ["3", "1"]
    assert fen("match", "Fen:1", "--json", "--range", "fen", "--limit", "1")[0] == 0


def test_nothing_left_ends_with_three(fen):
    status, out, error = fen("match", "Fen:1", "--owned")
    assert (status, out) == (3, "")
    assert error.count("\n") == 1
    assert "owned" in error


@pytest.mark.parametrize(
    ("target", "says"),
    [
        ("Fen:99", "No swatch is called"),
        ("Kelp Gren", "Did you mean 'Kelp Green'"),
        ("#12345", "#12345"),
        ("lab(120 0 0)", "lab"),
        ("", "target"),
    ],
)
def test_unknown_targets_are_told_in_a_sentence(fen, target, says):
    status, out, error = fen("match", target)
    assert (status, out) == (1, "")
    assert says in error
    assert "Traceback" not in error


def test_an_ambiguous_name_lists_them(fen, tmp_path):
    path = tmp_path / "other.csv"
    path.write_text("code,name,L,a,b\nB1,Kelp Green,40,-20,25\n")
    assert fen("range", "import", path, "--name", "Burn")[0] == 0
    status, _, error = fen("match", "kelp green")
    assert status == 1
    assert "Fen:1" in error
    assert "Burn:B1" in error


def test_csv_is_a_table_that_no_spreadsheet_runs(stopgap_run, tmp_path):
    path = tmp_path / "bad.csv"
    path.write_text('code,name,L,a,b\n1,"=cmd|calc",50,0,0\n2,@sum,52,0,0\n')
    assert stopgap_run("range", "import", path, "--name", "Bad")[0] == 0
    _, out, _ = stopgap_run("match", "Bad:1", "--csv")
    (row,) = csv.DictReader(io.StringIO(out))
    assert (row["code"], row["name"], row["owned"], row["grade"]) == (
        "2",
        "'@sum",
        "false",
        "close",
    )


def test_terminal_text_is_plain_in_a_pipe_and_fits(fen):
    _, out, _ = fen("match", "Fen:1", "--include-discontinued")
    assert "\x1b" not in out
    assert max(map(len, out.splitlines())) <= 80
    assert "Fen:3 Old Wrack · ASTM I (discontinued)" in out
    assert "not rated (–)" in " ".join(out.split())


def test_hostile_names_do_not_steer_the_terminal(stopgap_run, tmp_path):
    path = tmp_path / "bad.csv"
    path.write_text('code,name,L,a,b\n1,"\x1b[31mred\a‮",50,0,0\n2,[bold]x[/bold],52,0,0\n')
    stopgap_run("range", "import", path, "--name", "Bad", "--strict")
    _, shown, _ = stopgap_run("range", "show", "Bad")
    _, matched, _ = stopgap_run("match", "Bad:2")
    for out in (shown, matched):
        assert "\x1b" not in out
        assert "\a" not in out
        assert "‮" not in out
        assert r"\x1b[31mred\x07\u202e" in out
    assert "[bold]x[/bold]" in shown


def test_import_reports_and_renews(fen, tmp_path):
    path = tmp_path / "fen.csv"
    status, _, error = fen("range", "import", path, "--name", "Fen")
    assert status == 1
    assert "--replace" in error
    path.write_text(
        FEN.replace("50,-20,25,current,plain", "51,-20,25,current,plain") + "6,,9,0,0,,,,\n"
    )
    status, out, _ = fen("range", "import", path, "--name", "Fen", "--replace", "--json")
    answer = json.loads(out)
    assert (answer["added"], answer["changed"], answer["gone"]) == (["6"], ["1"], [])
    assert answer["read_as"]["delimiter"] == "comma"


def test_a_broken_file_changes_nothing(fen, tmp_path):
    _, before, _ = fen("range", "show", "Fen", "--json")
    path = tmp_path / "broken.csv"
    path.write_text("code,L,a,b\n1,x,0,0\n2,50,0,y\n")
    status, out, error = fen("range", "import", path, "--name", "Fen", "--replace")
    assert (status, out) == (1, "")
    assert "row 2, column L" in error
    assert "row 3, column b" in error
    assert fen("range", "show", "Fen", "--json")[1] == before


def test_what_is_stated_wins_over_the_files_word_in_one_change(fen):
    for note in ((), ("--note", "stub")):
        assert fen("swatch", "edit", "Fen", "1", "--price", "9.5", *note)[0] == 0
    status, said, _ = fen("swatch", "edit", "Fen", "1", "--as-imported", "--price", "9.5")
    assert (status, said) == (0, "Changed Fen:1.\n")
    assert priced(fen) == (9.5, "")
    fen("undo")
    assert priced(fen) == (9.5, "stub")
    fen("undo")
    assert priced(fen) == (9.5, "")
    fen("undo")
    assert priced(fen) == (None, "")


def test_as_imported_where_nothing_was_set_is_no_change(fen):
    assert "nothing was changed" in fen("swatch", "edit", "Fen", "1", "--as-imported")[1]
    assert "import of Fen" in fen("undo")[1]


def priced(fen):
    """Price and note of the first pencil."""
    shown = json.loads(fen("range", "show", "Fen", "--json")[1])["swatches"][0]
    return shown["price"], shown["note"]


def test_edit_undo_and_as_imported(fen):
    def shown():
        return json.loads(fen("range", "show", "Fen", "--json")[1])["swatches"][0]

    before = shown()
    assert fen("swatch", "edit", "Fen", "1", "--price", "3.2", "--note", "crumbles")[0] == 0
    assert (shown()["price"], shown()["note"]) == (3.2, "crumbles")
    assert (
        fen("swatch", "edit", "fen", "1", "--lab", "40", "-10", "-5", "--source", "typed")[0] == 0
    )
    assert shown()["swatch"]["lab"] == [40.0, -10.0, -5.0]
    assert (shown()["uncertainty"], shown()["shared_uncertainty"]) == (1.0, 4.9)
    assert fen("undo")[0] == 0
    assert shown()["swatch"]["lab"] == [50.0, -20.0, 25.0]
    assert fen("swatch", "edit", "Fen", "1", "--as-imported")[0] == 0
    assert shown() == before


def test_swatch_add_and_remove(fen):
    assert fen("swatch", "add", "Fen", "9", "--hex", "#a5603c", "--owned")[0] == 0
    assert fen("swatch", "add", "Fen", "9", "--hex", "#a5603c")[0] == 1
    status, _, error = fen("swatch", "add", "Fan", "9", "--lab", "50", "0", "0")
    assert status == 1
    assert "Did you mean 'Fen'?" in error
    assert "--new-range" in error
    assert fen("swatch", "add", "Odd", "9", "--lab", "50", "0", "0", "--new-range")[0] == 0
    assert fen("swatch", "add", "Odd", "8", "--lab", "500", "0", "0")[0] == 1
    assert fen("swatch", "remove", "Fen", "9")[0] == 0
    assert fen("match", "Fen:9")[0] == 1


def test_what_a_list_of_owned_ones_does_not_know_is_told_at_the_end(fen, tmp_path):
    path = tmp_path / "owned.csv"
    path.write_text("Fen:1\nFen:77\nFen:Nonsense\n")
    status, out, error = fen("own", "--from", path)
    assert status == 1
    assert out == "1 pencil is now yours.\n"
    assert error.splitlines()[0].endswith(
        "owned.csv: 2 names are not known, the others were taken."
    )
    assert "row 2" in error
    assert "row 3" in error
    assert fen("undo")[0] == 0
    assert fen("match", "Fen:2", "--owned")[0] == 3
    path.write_text("colour\nFen:1\nFen:Gull Wing\n")
    assert fen("own", "--from", path)[0] == 0
    assert fen("disown", "Fen:1")[0] == 0
    assert matches(fen("match", "Fen:2", "--owned", "--json")[1]) == ["5"]


def test_own_takes_ranges_spans_and_codes_behind_their_range(fen):
    assert fen("own", "Fen:1-3")[1] == "3 pencils are now yours.\n"
    assert fen("own", "fen")[1].endswith("(3 were so already).\n")
    assert fen("own", "Fen:2-9")[1].endswith("(4 were so already).\n")  # the last is not there
    assert fen("own", "Fen:8-9")[0] == 1  # neither is
    assert fen("disown", "Fen", "1", "2", "Gull Wing")[1].startswith("3 pencils are no longer")
    status, out, error = fen("disown", "Fen", "99")
    assert (status, out) == (1, "")
    assert "'Fen:99'" in error
    many = [f"Fen:1{number:03}" for number in range(100)]
    status, out, error = fen("own", *many)
    assert (status, out, len(error.splitlines())) == (1, "", 14)
    assert "100 names are not known, nothing was changed." in error
    assert "and 88 more." in error


def test_find_lists_pencils_by_their_words(fen):
    _, out, _ = fen("find", "ull")
    assert "Gull Wing" in out
    assert fen("match", "gull", "wing", "--json")[0] == 0
    assert fen("find", "nothing so")[0] == 3
    status, _, error = fen("match", "green")
    assert status == 1
    assert "'stopgap find green' lists them." in error
    assert fen("swatch", "edit", "Fen", "2", "--also", "Old Wing; 712")[0] == 0
    assert json.loads(fen("match", "712", "--json")[1])["target"]["code"] == "2"
    assert json.loads(fen("find", "old wing", "--json")[1])["found"][0]["also"] == "Old Wing; 712"


def test_export_does_not_overwrite_unasked(fen, tmp_path):
    target = tmp_path / "out.csv"
    assert fen("range", "export", "Fen", target)[0] == 0
    status, _, error = fen("range", "export", "Fen", target)
    assert status == 1
    assert "--overwrite" in error
    assert fen("range", "export", "Fen", target, "--overwrite")[0] == 0
    assert fen("range", "import", target, "--name", "Again")[0] == 0
    assert fen("range", "export", "Fen", tmp_path / "no" / "out.csv")[0] == 1
    assert not [file for file in tmp_path.iterdir() if file.name.startswith(".")]


def test_list_check_and_remove(fen):
    assert json.loads(fen("range", "list", "--json")[1])["ranges"][0]["swatches"] == 5
    _, out, _ = fen("range", "check", "Fen")
    assert "assumed" in out
    assert fen("range", "remove", "fen")[0] == 0
    assert json.loads(fen("range", "list", "--json")[1])["ranges"] == []
    assert fen("undo")[0] == 0
    assert fen("range", "show", "Fen")[0] == 0


def test_quiet(fen):
    assert fen("--quiet", "own", "Fen:1") == (0, "", "")
    assert fen("own", "Fen:2", "--quiet") == (0, "", "")


def run_program(arguments, **options):
    return subprocess.run(
        [sys.executable, "-c", "from stopgap.cli import main; main()", *arguments],
        text=True,
        check=False,
        **options,
    )


def test_a_full_output_and_a_closed_pipe(demo_library):
    arguments = ["--library", str(demo_library), "range", "show", "Fennmoor"]
    if os.path.exists("/dev/full"):
        with open("/dev/full", "w") as full:
            done = run_program(arguments, stdout=full, stderr=subprocess.PIPE)
        assert done.returncode == 1
        assert "Traceback" not in done.stderr
        assert done.stderr.count("\n") == 1
    reading, writing = os.pipe()
    os.close(reading)
    done = run_program(arguments, stdout=writing, stderr=subprocess.PIPE)
    os.close(writing)
    assert done.stderr == ""


def test_output_for_a_terminal_that_knows_only_ascii(demo_library):
    arguments = ["--library", str(demo_library), "match", "Fennmoor:FM010"]
    environment = {**os.environ, "PYTHONIOENCODING": "ascii"}
    done = run_program(arguments, capture_output=True, env=environment)
    assert (done.returncode, done.stderr) == (0, "")


def test_demo(stopgap_run):
    status, out, error = stopgap_run("demo")
    assert (status, error) == (0, "")
    assert out.count("Stand-ins for") == 3
    assert "invented" in out
    assert "stopgap range import" in out
    assert max(len(line) for line in out.splitlines() if "--library" not in line) <= 80
