"""Families by colour, and what the user's eye and the finish change about them."""

import csv
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from stopgap.blends.filing.arranging import propose
from stopgap.blends.filing.assignment import families, families_named, family_name, file_swatches
from stopgap.blends.filing.boundaries import (
    COLOUR_FAMILIES,
    FAMILIES,
    FAMILY_WORDS,
    boundary_table,
    family_fits,
)
from stopgap.errors import InputError, UnknownSwatchError
from stopgap.swatches import ArrangedFamily, Arrangement, Finish, Swatch

REFERENCE = Path(__file__).parents[1] / "reference" / "munsell_real_d50.csv"


def munsell() -> tuple[list[tuple[str, float, float]], np.ndarray]:
    """Notations and CIELAB D50 of the Munsell renotation (see the header of the file)."""
    with REFERENCE.open(encoding="utf-8") as file:
        rows = list(csv.DictReader(line for line in file if not line.startswith("#")))
    notations = [(row["hue"], float(row["value"]), float(row["chroma"])) for row in rows]
    return notations, np.array([[float(row[axis]) for axis in "Lab"] for row in rows])


NOTATIONS, COLOURS = munsell()


def lch(lightness: float, chroma: float, hue: float) -> tuple[float, float, float]:
    angle = np.radians(hue)
    return lightness, float(chroma * np.cos(angle)), float(chroma * np.sin(angle))


def swatch(code: str, lab: tuple[float, float, float], **more: object) -> Swatch:
    return Swatch("Test", code, lab, **more)


def family_of(*lab: float) -> str:
    return file_swatches([swatch("1", lab)])[0].family


@pytest.mark.parametrize(
    ("colour", "family"),
    [  # Munsell notations of well-known colours, from memory; common practice, no source
        (("7.5Y", 9.0, 12.0), "lemon yellows"),
        (("2.5Y", 8.0, 14.0), "golden yellows"),
        (("10YR", 6.0, 8.0), "ochres"),
        (("5YR", 7.0, 14.0), "oranges"),
        (("5YR", 8.0, 6.0), "apricots"),
        (("7.5R", 5.0, 16.0), "reds"),
        (("2.5R", 6.0, 12.0), "roses"),
        (("10RP", 6.0, 4.0), "muted roses"),
        (("10RP", 3.0, 8.0), "wines"),
        (("7.5P", 4.0, 12.0), "purples"),
        (("2.5P", 5.0, 10.0), "violets"),
        (("5PB", 2.0, 6.0), "indigos"),
        (("5PB", 5.0, 12.0), "blues"),
        (("2.5PB", 8.0, 6.0), "pale blues"),
        (("10B", 5.0, 4.0), "greyed blues"),
        (("5B", 5.0, 8.0), "turquoises leaning blue"),
        (("5BG", 6.0, 8.0), "turquoises leaning green"),
        (("10GY", 6.0, 10.0), "vivid greens"),
        (("5G", 5.0, 4.0), "greyed greens"),
        (("10Y", 4.0, 6.0), "olives"),
        (("10YR", 8.0, 4.0), "sands"),
        (("2.5YR", 4.0, 6.0), "warm earths"),
        (("10YR", 3.0, 4.0), "cool earths"),
        (("10YR", 5.0, 2.0), "brown-greys"),
    ],
)
def test_well_known_colours(colour: tuple[str, float, float], family: str) -> None:
    assert family_of(*COLOURS[NOTATIONS.index(colour)]) == family


@pytest.mark.parametrize(
    ("lab", "family"),
    [
        ((97, 0, 1), "whites"),
        ((18, 1, 1), "blacks"),
        ((55, 0, 0), "neutral greys"),
        ((55, 2, 5), "warm greys"),
        ((55, -2, -4), "cool greys"),
    ],
)
def test_neutrals(lab: tuple[float, float, float], family: str) -> None:
    assert family_of(*lab) == family


def test_a_bluish_grey_files_with_the_blue_greys() -> None:
    """Common practice, no source."""
    for lightness in range(35, 85, 10):
        for hue in range(230, 290, 15):
            assert family_of(*lch(lightness, 5, hue)) == "cool greys"
            assert family_of(*lch(lightness, 11, hue)) == "greyed blues"


def test_brownish_greys_continue_the_browns() -> None:
    """Common practice, no source: from a brown to grey no other family lies between."""
    for hue in (50, 75):
        way = [family_of(*lch(45, chroma, hue)) for chroma in (24, 20, 16, 11, 9, 6, 5, 1, 0)]
        browns = "warm earths" if hue == 50 else "cool earths"
        assert list(dict.fromkeys(way)) == [browns, "brown-greys", "warm greys", "neutral greys"]


@pytest.mark.parametrize("hue", ["5RP", "10RP", "2.5R"])
@pytest.mark.parametrize("chroma", [4.0, 6.0, 8.0])
def test_the_dark_end_of_the_roses_is_no_earth(hue: str, chroma: float) -> None:
    """Columns of one Munsell hue: tints, shades and nothing else of the same red."""
    column = [lab for key, lab in zip(NOTATIONS, COLOURS) if (key[0], key[2]) == (hue, chroma)]
    filed = {family_of(*lab) for lab in column}
    assert len(column) >= 6
    assert filed <= {"roses", "muted roses", "reds", "wines"}
    assert "wines" in filed


def test_a_brownish_wine_is_told_from_an_earth_by_its_tone() -> None:
    """At one hue angle the dark shade is a wine, the lighter colour already an earth."""
    assert family_of(*lch(24, 22, 33)) == "wines"
    assert family_of(*lch(55, 33, 42)) == "warm earths"
    filed = file_swatches([swatch("1", lch(26, 20, 37))])[0]
    assert {filed.family, filed.also} == {"wines", "warm earths"}


def test_nearly_every_real_colour_has_a_family() -> None:
    """Measured: 1 in 340 of the Munsell colours lies outside the limits of every family."""
    filed = file_swatches([swatch(str(i), tuple(lab)) for i, lab in enumerate(COLOURS)])
    assert np.mean([each.odd for each in filed]) < 0.005
    used = {each.family for each in filed}
    assert used >= set(COLOUR_FAMILIES) - {"whites", "blacks", "neutral greys"}


def test_one_swatch_may_serve_two_families() -> None:
    """Common practice, no source."""
    between = file_swatches([swatch("1", lch(55, 50, 205))])[0]
    assert {between.family, between.also} == {
        "turquoises leaning blue",
        "turquoises leaning green",
    }
    assert file_swatches([swatch("1", lch(55, 60, 270))])[0].also is None


def test_an_odd_swatch_is_marked() -> None:
    """A dark blue of a chroma that no pencil has lies where blues, indigos and turquoises meet."""
    filed = file_swatches([swatch("1", lch(29, 60, 235)), swatch("2", lch(50, 60, 270))])
    assert [each.odd for each in filed] == [True, False]
    assert filed[0].fit < 0.45 < filed[1].fit


def test_finish_stands_apart() -> None:
    """Common practice, no source."""
    filed = file_swatches(
        [
            swatch("1", (60, 5, 30), finish=Finish.METALLIC),
            swatch("2", (95, -10, 100), finish=Finish.FLUORESCENT),
        ]
    )
    assert [each.family for each in filed] == ["metallics", "fluorescents"]


def test_colour_goes_before_name() -> None:
    """Common practice, no source; the label that misleads is told."""
    filed = file_swatches([swatch("1", (45, 2, -40), name="Sea Green")])[0]
    assert (filed.family, filed.misleading) == ("blues", "green")


@settings(derandomize=True, deadline=None)
@given(st.tuples(st.floats(0, 100), st.floats(-100, 100), st.floats(-100, 100)))
def test_fits_are_shares(lab: tuple[float, float, float]) -> None:
    fits = family_fits(lab)
    assert fits.shape == (len(COLOUR_FAMILIES),)
    assert ((fits >= 0) & (fits <= 1)).all()


def test_an_arrangement_has_the_last_word() -> None:
    blue, wine = swatch("B", (45.0, 2.0, -40.0)), swatch("W", (30.0, 35.0, 10.0))
    by_hand = propose([blue, wine], {"Test:W": ("roses", None)})
    filed = file_swatches([blue, wine], by_hand)
    assert [each.family for each in filed] == ["blues", "roses"]
    assert (filed[1].pinned, filed[1].also, filed[1].odd) == (True, "wines", False)
    assert file_swatches([blue, wine])[1].family == "wines"


def test_families_run_from_light_to_dark_with_earlier_places_kept() -> None:
    """Common practice, no source: within a family light to dark."""
    blues = [swatch(str(n), (lightness, 0.0, -45.0)) for n, lightness in enumerate((50, 65, 38))]
    family = next(f for f in families(blues) if f.name == "blues")
    assert [each.swatch.code for each in family.filed] == ["1", "0", "2"]
    assert family.largest_step == max(family.steps)

    earlier = {"Test:2": ("blues", "Test:1"), "Test:0": ("blues", "Test:2")}
    (family,) = families(blues, propose(blues, earlier))[:1]
    assert [each.swatch.code for each in family.filed] == ["1", "2", "0"]
    assert len(family.steps) == 2


def test_several_ranges_are_merged() -> None:
    merged = [Swatch("A", "1", (60, 0, -45)), Swatch("B", "1", (50, 0, -45))]
    assert [each.swatch.range for each in families(merged)[0].filed] == ["A", "B"]


def test_a_circle_in_an_older_library_locks_nothing() -> None:
    blues = [swatch(str(n), (60.0 - n, 0.0, -45.0)) for n in range(4)]
    circle = {"Test:0": ("blues", "Test:1"), "Test:1": ("blues", "Test:0")}
    hanging = {**circle, "Test:3": ("blues", "Test:0")}

    def codes(known: list[Swatch], earlier: dict[str, tuple[str, str]]) -> list[str]:
        (family,) = families(known, propose(known, earlier))
        return [each.swatch.code for each in family.filed]

    assert codes(blues[:2], circle) == ["0", "1"]
    assert codes(blues, hanging) == ["0", "3", "1", "2"]


def test_names_of_families() -> None:
    assert family_name("  Greyed  Blues") == "greyed blues"
    assert len(set(FAMILIES)) == len(FAMILIES)
    with pytest.raises(UnknownSwatchError):
        family_name("mauvish")


def test_boundary_table_has_a_row_a_region() -> None:
    table = boundary_table()
    assert {row["family"] for row in table} == set(COLOUR_FAMILIES)
    assert table[0] == {
        "family": "whites",
        "hue": "any",
        "hue of shades": "any",
        "chroma": "0 to grey",
        "lightness": "91 to any",
    }


def test_no_swatches() -> None:
    assert file_swatches([]) == ()
    assert families([]) == ()
    with pytest.raises(InputError):
        family_fits([1.0, 2.0])


def test_words_of_the_trade_name_the_families_that_hold_what_is_so_called():
    # common practice, no source: each colour is what a painter would show for its word
    shown = {
        "teals": [(45, -28, -10), (50, -25, -14)],
        "siennas": [(55, 18, 45), (42, 30, 32)],
        "umbers": [(36, 6, 18), (28, 9, 12)],
        "taupes": [(50, 4, 9)],
        "creams": [(93, 0, 13), (90, 2, 14)],
        "skin tones": [(80, 12, 20), (62, 18, 26), (42, 15, 20)],
    }
    assert shown.keys() == FAMILY_WORDS.keys()
    for word, labs in shown.items():
        swatches = [swatch(f"{n}", lab) for n, lab in enumerate(labs)]
        found = families_named(swatches, [f" {word.upper()} "])
        assert sum(len(family.filed) for family in found) == len(labs), word
    own = Arrangement("mine", (ArrangedFamily("Teals"),))
    assert [one.name for one in families_named(swatches, ["teals"], own)] == ["Teals"]
