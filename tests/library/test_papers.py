"""The drawer of papers: kept, renamed, forgotten, taken back, whatever swatches lie on them."""

from dataclasses import replace

import pytest

from stopgap.errors import InputError, NothingFoundError, ProblemsInFile, UnknownSwatchError
from stopgap.library import (
    Convention,
    Entry,
    EntryKind,
    by_paper,
    edit_swatch,
    find_paper,
    forget_calibration,
    import_range,
    keep_calibration,
    keep_paper,
    known_paper,
    open_library,
    paper_colour,
    read_blends,
    read_list,
    read_range,
    remove_paper,
    stored_calibration,
    stored_papers,
)
from stopgap.planner import conditions_on
from stopgap.swatches import PAPER_COLOURS, Paper, Source, Swatch, laid_key

MEASURED = Convention("D50", 2, Source.MEASURED)
BOOK = "code,L,a,b,paper\n1,50,0,0,White\n1,41,2,9,Tan\n2,60,5,5,\n2,48,6,15,tan\n"
TAN = Paper((74.0, 6.0, 20.0), name="Tan", grain="rough")
WHITE = Paper((96.2, -0.1, 2.1), measured=True, name="White")


def draft(tmp_path, text=BOOK):
    path = tmp_path / "range.csv"
    path.write_text(text, encoding="utf-8")
    return read_range(path, "Fen", MEASURED)


@pytest.fixture
def library(tmp_path):
    with open_library(tmp_path / "library.sqlite") as opened:
        import_range(opened, draft(tmp_path))
        yield opened


def every(library):
    return {(*laid_key(s), s.code, s.lab) for p in library.pencils() for s in p.swatches}


def colours(library, on=""):
    return [swatch.lab[0] for swatch in library.swatches(on)]


def test_a_paper_is_kept_as_it_was_said(library):
    keep_paper(library, TAN)
    keep_paper(library, WHITE)
    assert stored_papers(library) == (TAN, WHITE)
    assert known_paper("tan ", stored_papers(library)) == TAN


def test_renaming_and_renewing_keep_every_swatch(library, tmp_path):
    keep_paper(library, TAN)
    by_hand = Swatch("Fen", "1", (44.0, 1.0, 8.0), paper="Tan", batch="new")
    library.add_swatch(by_hand, Entry(EntryKind.LAB, by_hand.lab), new_range=False, what="one")
    before = every(library)
    keep_paper(library, TAN._replace(name="Kraft"), instead_of="TAN")
    assert colours(library, "kraft") == [41.0, 48.0]
    assert colours(library, "tan") == colours(library)  # nothing is called so any more
    report = import_range(library, draft(tmp_path), renew=True)  # whose rows still say Tan
    assert (report.unchanged, report.changed, report.gone) == (2, (), ())
    assert [one.names for one in stored_papers(library)] == [{"kraft", "tan"}]
    keep_paper(library, stored_papers(library)[0]._replace(name="Tan"), instead_of="Kraft")
    assert {tuple(map(str, key)) for key in every(library)} == {
        tuple(map(str, key)) for key in before
    }


def test_what_the_user_decided_of_a_paper_goes_with_its_name(library):
    keep_paper(library, WHITE)
    keep_paper(library, TAN)
    (first, _) = (pencil.first for pencil in library.pencils())
    edit_swatch(library, first, {"paper": "Tan", "batch": "b"})
    keep_paper(library, TAN._replace(name="Kraft"), instead_of="Tan")
    assert library.pencils()[0].first.paper == "Kraft"
    edited = library.pencils()[0].first
    assert not edit_swatch(library, edited, {"paper": "tan"})  # by its former name


def test_an_edit_that_would_make_two_swatches_of_a_pencil_alike_is_refused(library):
    before = every(library)
    (first, _) = (pencil.first for pencil in library.pencils())
    with pytest.raises(InputError, match=r"Fen:1 has another swatch on TAN; two of a pencil must"):
        edit_swatch(library, first, {"paper": "TAN"})
    assert every(library) == before
    assert edit_swatch(library, first, {"paper": "Tan", "passes": 2})


def test_a_name_belongs_to_the_paper_that_bears_it_last(library):
    keep_paper(library, TAN)
    keep_paper(library, TAN._replace(name="Kraft"), instead_of="Tan")
    newer = Paper((70.0, 5.0, 25.0), measured=True, name="Tan")
    keep_paper(library, newer)
    kraft, tan = stored_papers(library)
    assert (kraft.former, tan) == ((), newer)
    assert find_paper("tan", (kraft, tan)) == newer


def test_one_is_the_default_at_most(library):
    keep_paper(library, TAN._replace(default=True))
    keep_paper(library, WHITE._replace(default=True))
    assert [paper.default for paper in stored_papers(library)] == [False, True]
    keep_paper(library, WHITE, instead_of="White")
    assert not any(paper.default for paper in stored_papers(library))


@pytest.mark.parametrize("name", ["tan", " TAN "])
def test_a_name_that_is_there_is_refused(library, name):
    keep_paper(library, TAN)
    with pytest.raises(InputError, match=r"called '(?i:tan)' is in the drawer already"):
        keep_paper(library, WHITE._replace(name=name))
    with pytest.raises(InputError, match="is empty"):
        keep_paper(library, WHITE._replace(name=" "))
    assert stored_papers(library) == (TAN,)


def test_each_paper_has_a_calibration_of_its_own(library):
    keep_paper(library, TAN)
    keep_paper(library, WHITE)
    for name, tooth in (("Tan", "rough"), ("", "smooth")):
        keep_calibration(library, conditions_on(tooth), name)
    keep_calibration(library, conditions_on("drawing"), "Tan")
    kept = {name: stored_calibration(library, name) for name in ("Tan", "", "White", "Nobody's")}
    assert {name: found and found.tooth for name, found in kept.items()} == {
        "Tan": conditions_on("drawing").tooth,
        "": conditions_on("smooth").tooth,
        "White": None,
        "Nobody's": None,
    }
    forget_calibration(library)
    with pytest.raises(NothingFoundError, match="no calibration on White to forget"):
        forget_calibration(library, "White")
    keep_paper(library, TAN._replace(name="Kraft"), instead_of="Tan")
    assert stored_calibration(library, "Kraft") == kept["Tan"]


def test_every_change_is_taken_back(library):
    states = []

    def state():
        kept = stored_calibration(library, "Tan") or stored_calibration(library, "Kraft")
        return stored_papers(library), every(library), kept

    for change in (
        lambda: keep_paper(library, TAN),
        lambda: keep_calibration(library, conditions_on("rough"), "Tan"),
        lambda: keep_paper(library, WHITE._replace(default=True)),
        lambda: keep_paper(library, TAN._replace(name="Kraft", default=True), instead_of="Tan"),
        lambda: remove_paper(library, "kraft"),
    ):
        states.append(state())
        change()
    assert [paper.name for paper in stored_papers(library)] == ["White"]
    said = []
    while states:
        said.append(library.undo())
        assert state() == states.pop()
    assert said == [
        "removal of the paper Kraft",
        "editing the paper Tan",
        "adding the paper White",
        "calibration on Tan on 0 layered swatches",
        "adding the paper Tan",
    ]


def test_a_paper_is_called_by_name_by_a_word_or_by_its_colour():
    papers = (TAN, WHITE._replace(former=("Old white",)))
    assert find_paper("TAN", papers) == TAN  # the drawer before the word
    assert find_paper("old White", papers).name == "White"
    assert find_paper("tan", ()) == Paper(PAPER_COLOURS["tan"], name="tan")
    assert find_paper("lab(50 0 0)", papers) == Paper((50.0, 0.0, 0.0), True, "lab(50 0 0)")  # noqa: FBT003
    assert paper_colour("Black") == (PAPER_COLOURS["black"], False)
    with pytest.raises(UnknownSwatchError, match=r"No paper is called 'Tann'. Did you mean 'Tan'"):
        find_paper("Tann", papers)
    with pytest.raises(UnknownSwatchError, match=r"No paper of yours is called 'Wite'. Did you"):
        known_paper("Wite", papers)


def test_words_for_papers_are_as_light_as_they_say():
    lightness = [lab[0] for lab in PAPER_COLOURS.values()]
    assert lightness == sorted(lightness, reverse=True)
    chroma = {word: (a * a + b * b) ** 0.5 for word, (_, a, b) in PAPER_COLOURS.items()}
    assert (
        max(chroma["white"], chroma["grey"], chroma["black"]) < 3 < chroma["cream"] < chroma["tan"]
    )


def test_a_row_is_for_its_paper_or_for_that_of_the_row_above(tmp_path):
    path = tmp_path / "list.csv"
    path.write_text("colour,paper\n#000000,\n#111111,Tan\n#222222,\n#333333,cream\n#444444,TAN\n")
    rows = read_list(path)
    found = [(paper, [row.row for row in some]) for paper, some in by_paper(rows)]
    assert found == [("Tan", [2, 3, 4, 6]), ("cream", [5])]
    says = "row 5, column paper: found 'cream'; expected the paper that was asked for, tan"
    with pytest.raises(ProblemsInFile, match=says):
        by_paper(rows, "tan")
    assert [row.paper for row in by_paper(rows)[0][1]] == ["Tan", "Tan", "Tan", "TAN"]
    assert by_paper(rows[:1], "tan") == [("tan", [replace(rows[0], paper="tan")])]
    assert by_paper(rows[:1]) == [(None, rows[:1])]


def test_a_blends_file_names_its_paper(tmp_path):
    path = tmp_path / "blends.csv"
    path.write_text("name,from,to,paper\none,#c04a2b,#304050,Kraft\n")
    assert [paper for paper, _ in by_paper(read_blends(path))] == ["Kraft"]
    path.write_text("name,from,to\none,#c04a2b,#304050\n")
    assert [paper for paper, _ in by_paper(read_blends(path))] == [None]
