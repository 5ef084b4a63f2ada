"""Arrangements as spreadsheets: written and read back the same, and mistakes told by their rows."""

import string

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from stopgap.errors import ProblemsInFile, StopgapError
from stopgap.library import apply_filing, by_heading, filing_table, read_filing
from stopgap.swatches import ArrangedFamily, Arrangement, OwnPlace, Swatch, key_of, plain_name

KNOWN = [
    Swatch("Fen", str(number), (50.0, 0.0, float(number)), name=f"n{number}") for number in range(9)
]
TEXT = st.text(string.ascii_letters + "äßñπ日本 '\",;=+-@0123456789", max_size=12)


def named(text):
    try:
        return plain_name(text) == text and text
    except StopgapError:
        return False


@st.composite
def arrangements(draw):
    names = draw(st.lists(TEXT.filter(named), max_size=5, unique_by=key_of))
    said = TEXT.map(str.strip)
    if not names:
        return Arrangement("mine")
    homes = {each.address: draw(st.sampled_from([None, *names])) for each in KNOWN}
    order = draw(st.permutations([each.address for each in KNOWN]))
    seconds = {each.address: draw(st.sampled_from([None, None, *names])) for each in KNOWN}
    return Arrangement(
        "mine",
        tuple(
            ArrangedFamily(
                name,
                tuple(OwnPlace(p, draw(st.booleans())) for p in order if homes[p] == name),
                draw(said),
                draw(said),
                tuple(p for p in order if seconds[p] == name and homes[p] != name),
            )
            for name in names
        ),
    )


@pytest.mark.parametrize("form", ["CSV", "XLSX"])
@settings(deadline=None, max_examples=40, derandomize=True)
@given(arrangements())
def test_export_and_apply_are_inverse(tmp_path_factory, form, arrangement):
    if not arrangement.families:
        return
    path = tmp_path_factory.getbasetemp() / f"arrangement.{form.lower()}"
    path.write_bytes(filing_table(arrangement, KNOWN, form))
    rows = read_filing(path, KNOWN)
    assert apply_filing(Arrangement("mine"), rows) == arrangement
    assert apply_filing(arrangement, rows) == arrangement


@settings(deadline=None, max_examples=60, derandomize=True)
@given(arrangements(), st.randoms(use_true_random=False))
def test_a_sheet_applied_after_any_shuffle_puts_all_back(tmp_path_factory, arrangement, draw):
    if not arrangement.families:
        return
    path = tmp_path_factory.getbasetemp() / "shuffled.csv"
    path.write_bytes(filing_table(arrangement, KNOWN, "CSV"))
    families = [
        family._replace(places=tuple(draw.sample(family.places, len(family.places))), also=())
        for family in draw.sample(arrangement.families, len(arrangement.families))
    ]
    shuffled = arrangement._replace(families=tuple(families))
    assert apply_filing(shuffled, read_filing(path, KNOWN)) == arrangement


def test_a_sheet_of_some_pencils_moves_no_other(tmp_path):
    path = tmp_path / "some.csv"
    path.write_text("range;code;family;place\nFen;3;Blau;2\nFen;5;Neu;\n", encoding="utf-8")
    before = Arrangement(
        "mine",
        (
            ArrangedFamily(
                "Rot", (OwnPlace("Fen:3"), OwnPlace("Fen:4"), OwnPlace("Fen:5")), "page 1", "n"
            ),
            ArrangedFamily("Blau", (OwnPlace("Fen:0"), OwnPlace("Fen:1"), OwnPlace("Fen:2"))),
        ),
    )
    after = apply_filing(before, read_filing(path, KNOWN))
    assert [
        (each.name, [place.pencil[4:] for place in each.places]) for each in after.families
    ] == [
        ("Rot", ["4"]),
        ("Blau", ["0", "3", "1", "2"]),
        ("Neu", ["5"]),
    ]
    assert after.families[0].section == "page 1"
    assert after.families[1].places[1].by_hand


# headings in the words of people: German, French, Spanish, Italian, Dutch; common practice
@pytest.mark.parametrize(
    ("headings", "also"),
    [
        ("Nr.;Farbname;Marke;Farbfamilie;Platz;Fach;von Hand", "auch"),
        ("N°;Nom;Gamme;Famille;Ordre;Boîte;à la main", "aussi"),
        ("Código;Nombre;Marca;Familia;Puesto;Caja;a mano", "también"),
        ("Codice;Nome;Linea;Famiglia;Posto;Scatola;a mano", "anche"),
        ("Kleurnummer;Naam;Merk;Kleurfamilie;Plaats;Doos;met de hand", "ook"),
        ("code;name;range;family;place;section;yours", "also"),
    ],
)
def test_headings_of_other_languages_are_understood(tmp_path, headings, also):
    known = [Swatch("Fen", "1", (50.0, 0.0, 0.0)), Swatch("Fen", "2", (60.0, 0.0, 0.0))]
    path = tmp_path / "own.csv"
    rows = f"2;;FEN;Röte;1;left;ja\n1;;fen;Röte;2;left;no\n1;;Fen;Blau;{also};;\n"
    path.write_text(f"{headings}\n{rows}", encoding="cp1252")
    found = apply_filing(Arrangement("own"), read_filing(path, known))
    red, blue = found.families
    assert (red.name, red.section) == ("Röte", "left")
    assert red.places == (OwnPlace("Fen:2", by_hand=True), OwnPlace("Fen:1"))
    assert (blue.name, blue.also) == ("Blau", ("Fen:1",))


def test_mistakes_are_told_together_by_row(tmp_path):
    path = tmp_path / "wrong.csv"
    path.write_text(
        "pencil,family,place\nFen:3,A,first\nFen:99,A,2\nFen:4,A,1\nfen:4,B,1\n", encoding="utf-8"
    )
    with pytest.raises(ProblemsInFile) as told:
        read_filing(path, KNOWN)
    assert [problem.row for problem in told.value.problems] == [2, 3, 5]
    assert "a place from 1 on" in str(told.value)


def test_headings_of_the_ranges_own_files_become_families():
    swatches = [
        Swatch("Fen", "1", (50, 0, 0), section="Box 2"),
        Swatch("Fen", "2", (50, 0, 0)),
        Swatch("Fen", "3", (50, 0, 0), section="Box  1"),
        Swatch("Fen", "4", (50, 0, 0), section="box 2"),
    ]
    found = by_heading("Boxes", swatches)
    assert [(each.name, [place.pencil for place in each.places]) for each in found.families] == [
        ("Box 2", ["Fen:1", "Fen:4"]),
        ("Box 1", ["Fen:3"]),
    ]
