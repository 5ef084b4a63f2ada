"""`--on`, one word with one meaning: the same pencil has one colour in every answer on a paper."""

import json

import pytest

pytestmark = pytest.mark.slow

KRAFT = ("paper", "add", "Kraft", "--colour", "lab(74 6 20)", "--grain", "rough")


@pytest.fixture
def kraft(demo):
    assert demo(*KRAFT) == (0, "Added the paper Kraft, light yellowish brown.\n", "")
    return demo


def told(demo, *words):
    status, out, error = demo(*words, "--json")
    assert status in (0, 3), error
    return json.loads(out)


def labs(answer, code):
    """Every colour that an answer tells of a pencil."""
    if isinstance(answer, dict):
        own = [answer["lab"]] if answer.get("code") == code else []
        return own + [lab for inner in answer.values() for lab in labs(inner, code)]
    return (
        [lab for inner in answer for lab in labs(inner, code)] if isinstance(answer, list) else []
    )


QUESTIONS = {
    "match Fennmoor:FM010 --layers": "paper",
    "layer Fennmoor:FM010": "paper",
    "layer Fennmoor:FM010 Fennmoor:FM020 --pressure light": "paper",
    "family": "paper",
    "find FM010": "paper",
    "table --from Fennmoor --to Quillet": "paper",
    "blend Fennmoor:FM010 #203040 --no-layers": "paper",
    "range show Fennmoor": "on",
}


def test_a_pencil_has_one_colour_on_a_paper_whatever_is_asked(kraft):
    expected = told(kraft, "layer", "Fennmoor:FM010", "--on", "Kraft")
    white = told(kraft, "layer", "Fennmoor:FM010")
    assert expected["lab"] != white["lab"]
    assert white["paper"] is None
    for question, key in QUESTIONS.items():
        answer = told(kraft, *question.split(), "--on", "KRAFT")
        found = labs(answer, "FM010")
        assert found, question
        assert {tuple(lab) for lab in found} == {tuple(expected["lab"])}, question
        assert answer[key] == {
            "name": "Kraft",
            "lab": [74.0, 6.0, 20.0],
            "measured": True,
            "grain": "rough",
        }


def test_the_default_paper_is_drawn_on_where_nothing_is_said(kraft):
    asked = told(kraft, "match", "Fennmoor:FM017", "--on", "Kraft")
    white = told(kraft, "match", "Fennmoor:FM017")
    assert kraft("paper", "edit", "Kraft", "--default")[0] == 0
    assert told(kraft, "match", "Fennmoor:FM017") == asked
    plain = told(kraft, "match", "Fennmoor:FM017", "--on", "white")
    assert plain.pop("paper")["name"] == "white"
    white.pop("paper")
    assert plain == white
    assert kraft("undo")[1] == "Taken back: editing the paper Kraft.\n"
    assert told(kraft, "match", "Fennmoor:FM017")["paper"] is None


def test_a_paper_before_it_had_a_drawer_is_asked_as_ever(demo):
    now = told(demo, "match", "#7f9a8c", "--on", "#d2b48c", "--layers")
    assert told(demo, "match", "#7f9a8c", "--paper-colour", "#d2b48c", "--layers") == now


def test_lists_and_blends_name_their_paper(kraft, tmp_path):
    (tmp_path / "list.csv").write_text("colour,paper\nFennmoor:FM017,Kraft\n#806040,\n")
    (tmp_path / "blends.csv").write_text("name,from,to,paper\na,Quillet:Q30,#403020,kraft\n")
    for command, file in (
        (("translate",), "list.csv"),
        (("gaps", "--no-layers"), "blends.csv"),
        (("shop", "--no-layers", "--list"), "list.csv"),
    ):
        path = str(tmp_path / file)
        assert told(kraft, *command, path)["paper"]["name"] == "Kraft"
        status, _, error = kraft(*command, path, "--on", "white")
        assert status == 1
        assert "expected the paper that was asked for, white" in error


def test_each_row_of_a_file_is_answered_on_its_paper(kraft, tmp_path):
    """As a file of the rows for that paper alone is, in the order of the file."""
    heads = {"list": "colour,label", "blends": "name,from,to"}
    lines = {
        "list": ["Fennmoor:FM017,one", "#806040,two", "Fennmoor:FM017,three"],
        "blends": ["one,Quillet:Q30,#403020", "two,#c04a2b,#403020", "three,#f0e0d0,#403020"],
    }
    papers = ["Kraft", "cream", "kraft"]
    for kind, command in (("list", ("translate",)), ("blends", ("gaps", "--no-layers"))):
        path = tmp_path / f"{kind}.csv"

        def answer(rows, *option, kind=kind, command=command, path=path):
            path.write_text("\n".join([f"{heads[kind]},paper", *rows]))
            return told(kraft, *command, str(path), *option)

        whole = answer([f"{line},{on}" for line, on in zip(lines[kind], papers)])
        alone = {
            on: answer([f"{line}," for line, its in zip(lines[kind], papers) if its.lower() == on],
                       "--on", on)
            for on in ("kraft", "cream")
        }  # fmt: skip
        assert whole["paper"] is None
        if kind == "list":
            assert [row.pop("paper") for row in whole["rows"]] == ["Kraft", "cream", "Kraft"]
            expected = [alone[on.lower()]["rows"].pop(0) for on in papers]
            assert all(row.pop("paper") is None for row in expected)
            assert whole["rows"] == expected
        else:
            each = [
                gap | {"blend": f"{gap['blend']}, on {name}"}
                for name, on in (("Kraft", "kraft"), ("cream", "cream"))
                for gap in alone[on]["gaps"]
            ]
            assert each
            in_order = [sorted(map(json.dumps, gaps)) for gaps in (whole["gaps"], each)]
            assert in_order[0] == in_order[1]
        assert sum("never swatched on" in note for note in whole["notes"]) == 2


def test_one_purchase_and_one_plot_for_rows_on_several_papers(kraft, tmp_path):
    """How each need stands now is what it is alone on its paper."""
    listed, blends = tmp_path / "two.csv", tmp_path / "blends.csv"
    listed.write_text("colour,paper\n#806040,Kraft\n#807060,cream\n#702818,Kraft\n")
    blends.write_text("name,from,to,paper\nb,Quillet:Q30,#403020,cream\n")
    asked = ("shop", "--no-layers", "--list", listed, "--blends", blends, "--for", "#305080")
    found = told(kraft, *asked, "--tolerance", "3")
    named = ["#807060, on cream", "#806040, on Kraft", "#702818, on Kraft"]
    assert [need["need"] for need in found["needs"]] == [
        "b, on cream",
        named[0],
        "#305080, on cream",
        *named[1:],
    ]
    assert found["paper"] is None
    for paper in ("Kraft", "cream"):
        (tmp_path / "one.csv").write_text("colour\n#806040\n#807060\n#702818\n")
        alone = told(
            kraft, "shop", "--no-layers", "--list", tmp_path / "one.csv", "--on", paper,
            "--tolerance", "3",
        )  # fmt: skip
        now = {f"{need['need']}, on {paper}": need["before"] for need in alone["needs"]}
        both = [need for need in found["needs"] if need["need"] in now and need["kind"] == "colour"]
        assert len(both) == sum(name.endswith(paper) for name in named)
        assert [need["before"] for need in both] == [now[need["need"]] for need in both]
    assert sum("never swatched on" in note for note in found["notes"]) == 2
    out = tmp_path / "out.svg"
    blends.write_text("name,from,to,paper\none,#c04a2b,#403020,Kraft\ntwo,#f0e0d0,#403020,cream\n")
    status, said, error = kraft("plot", out, "--kind", "blend", "--blends", blends)
    assert status == 0, error
    assert said.count("never swatched on") == 2


def test_what_runs_out_is_bought_once_for_all_papers_and_looked_at_on_those_it_is_called_for_on(
    kraft, tmp_path
):
    listed, one = tmp_path / "two.csv", tmp_path / "one.csv"
    called = ("Fennmoor:FM055", "Fennmoor:FM003", "Fennmoor:FM107", "Fennmoor:FM110")
    kraft("disown", *called)
    on = {"Kraft": called[:3], "cream": (called[3], *called[1:3])}
    rows = [f"{each},{paper}" for paper, some in on.items() for each in some]
    listed.write_text("colour,paper\n" + "\n".join(rows))
    found = told(kraft, "shop", "--restock", "--list", listed, "--tolerance", "6")
    alone = {}
    for paper, some in on.items():
        one.write_text("colour\n" + "\n".join(some))
        asked = ("shop", "--restock", "--list", one, "--on", paper, "--tolerance", "6")
        answer = told(kraft, *asked)
        assert all(row["on"] == [] for row in answer["runs_out"])
        alone[paper] = {row["swatch"]["code"]: row for row in answer["runs_out"]}
    assert [row["swatch"]["code"] for row in found["runs_out"]] == sorted(
        each.partition(":")[2] for each in called
    )
    for row in found["runs_out"]:
        there = [alone[paper][row["swatch"]["code"]] for paper in row["on"]]
        assert row["on"] == [name for name, some in on.items() if address(row) in some]
        assert row["price"] == there[0]["price"]
        off = [{x["swatch"]["code"]: x["delta_E"] for x in each["stand_ins"]} for each in there]
        for stand_in in row["stand_ins"]:
            apart = [one[code] for one in off if (code := stand_in["swatch"]["code"]) in one]
            assert len(there) > 1 or apart
            assert stand_in["delta_E"] >= max(apart, default=0.0) - 1e-9
        if len(there) == 1:
            assert row["stand_ins"] == there[0]["stand_ins"]
    assert any(row["stand_ins"] for row in found["runs_out"])
    assert "called for, on Kraft, on cream" in kraft("shop", "--restock", "--list", listed)[1]


def address(row):
    """The address of the pencil that a row is about."""
    return f"{row['swatch']['range']}:{row['swatch']['code']}"


def test_a_page_says_its_paper_first_and_that_it_predicts(kraft):
    _, out, _ = kraft("match", "Fennmoor:FM017", "--on", "Kraft")
    assert out.splitlines()[0].startswith("Stand-ins for Fennmoor:FM017 ")
    assert "\non Kraft, light yellowish brown, rough grain\n" in out
    assert "never swatched on Kraft" in " ".join(out.split())
    assert "Kraft" not in kraft("match", "Fennmoor:FM017")[1]


def test_pages_say_their_paper(kraft, tmp_path):
    sheet, pocket = tmp_path / "sheet.html", tmp_path / "pocket.html"
    assert kraft("sheet", sheet, "--for", "match", "Fennmoor:FM017", "--on", "Kraft")[0] == 0
    page = sheet.read_text(encoding="utf-8")
    assert "<h1>Stand-ins for Fennmoor:FM017 " in page
    assert "on Kraft, light yellowish brown, rough grain" in page
    assert kraft("pocket", pocket, "--no-recipes", "--on", "Kraft")[0] == 0
    page = pocket.read_text(encoding="utf-8")
    assert "<h1>My pencils, on Kraft</h1>" in page
    assert "never swatched on Kraft" in page


def test_one_pencil_alone_is_told_as_its_swatch(demo):
    answer = told(demo, "layer", "Fennmoor:FM017")
    (pencil,) = answer["layers"]
    assert answer["lab"] == answer["reversed_lab"] == pencil["swatch"]["lab"]
    assert not any("prediction" in note for note in answer["notes"])


def test_calibrating_a_paper_is_for_that_paper(kraft, tmp_path):
    from stopgap.library import datasets

    before = told(kraft, "layer", "Fennmoor:FM003", "Fennmoor:FM013")
    assert kraft("calibrate", datasets() / "layered.csv", "--on", "Kraft")[0] == 0
    assert told(kraft, "layer", "Fennmoor:FM003", "Fennmoor:FM013") == before
    (paper,) = told(kraft, "paper", "list")["papers"]
    assert paper["samples"] == 6
    status, out, _ = kraft("calibrate", "--forget", "--on", "Kraft")
    assert (status, out) == (0, "Forgot the calibration; predictions are estimates again.\n")
    assert kraft("calibrate", "--forget")[0] == 3


@pytest.mark.parametrize(
    ("words", "status", "says"),
    [
        (("paper", "add", "X"), 2, "The colour is missing"),
        (("paper", "add", "X", "--colour", "beige"), 1, "No paper is called 'beige'"),
        (("paper", "add", "KRAFT", "--colour", "tan"), 1, "is in the drawer already"),
        (("paper", "edit", "Kraff", "--grain", "fine"), 1, "Did you mean 'Kraft'? 'stopgap paper"),
        (("paper", "remove", "X"), 1, "No paper of yours is called 'X'"),
        (("match", "#ffffff", "--on", "lab(50"), 1, "lab(50"),
        (("match", "#ffffff", "--on", "Krat"), 1, "Did you mean 'Kraft'"),
    ],
    ids=lambda value: " ".join(value) if isinstance(value, tuple) else "",
)
def test_what_is_refused(kraft, words, status, says):
    found, out, error = kraft(*words)
    assert (found, out) == (status, "")
    assert says in error


def test_a_pencil_that_is_only_wet_is_told_from_an_unknown_one(stopgap_run, tmp_path):
    (tmp_path / "wet.csv").write_text("code,name,L,a,b,state\n1,Ink,40,0,0,wetted\n2,Sea,50,0,0,\n")
    assert stopgap_run("range", "import", tmp_path / "wet.csv", "--name", "Mine")[0] == 0
    never = "Mine:1 (Ink) was never swatched dry, and a wetted swatch tells nothing of dry colour."
    for words in (
        ("match", "Mine:Ink"),
        ("layer", "mine:1", "Mine:2"),
        ("match", "1", "--on", "tan"),
        ("match", "Mine:2", "--over", "Ink light"),
        ("blend", "Ink", "Mine:2"),
        ("shop", "--for", "Ink"),
    ):
        status, _, error = stopgap_run(*words)
        assert status == 1
        assert error == (
            f"stopgap: {never} Measure it dry: 'stopgap swatch add Mine 1 --lab L a b'.\n"
        )
    (tmp_path / "list.csv").write_text("colour\nInk\nMine:2\n")
    (tmp_path / "blends.csv").write_text("name,from,to\nwash,Ink,Mine:2\n")
    shown = stopgap_run("translate", tmp_path / "list.csv", "--any")[1]
    assert never in " ".join(shown.split())
    for command, file in (("gaps", "blends.csv"), ("shop", "blends.csv"), ("shop", "list.csv")):
        option = [f"--{file.removesuffix('.csv')}"] * (command == "shop")
        status, _, error = stopgap_run(command, *option, tmp_path / file)
        assert (status, never in error) == (1, True)
    assert stopgap_run("swatch", "add", "Mine", "1", "--lab", 45, 0, 0)[0] == 0
    assert stopgap_run("match", "Mine:Ink")[0] == 0


def test_nothing_changed_is_said(kraft):
    assert kraft("paper", "edit", "kraft", "--grain", "ROUGH")[1] == (
        "Kraft is so already; nothing was changed.\n"
    )
    assert kraft("paper", "remove", "kraft")[1].startswith("Removed the paper Kraft.")
    assert "drawer is empty" in kraft("paper", "list")[1]
