"""What wants another look in a filing, on Munsell's leaves of constant hue and on made-up families.

The reference is the renotation as in test_families (its source stands in the file's head). ODD_BY
and its companions were chosen on the leaves of even place in the hue circle; here the others judge.
"""

import numpy as np
import pytest
from test_families import COLOURS, NOTATIONS

from stopgap.blends import check_filing, complete, families, file_swatches, sort_families
from stopgap.blends.filing.belonging import distances_to_family, distances_within_family
from stopgap.blends.filing.joining import joining
from stopgap.difference import delta_E
from stopgap.naming.centroids import categories
from stopgap.swatches import ArrangedFamily, Arrangement, OwnPlace, Swatch

pytestmark = pytest.mark.slow

HUES = list(dict.fromkeys(hue for hue, _, _ in NOTATIONS))
LEAVES = HUES[1::2]


def chips_of(leaves):
    """The chips of these leaves: leaf, value and swatch."""
    return [
        (leaves.index(hue), value, Swatch(hue, f"{value:g}/{chroma:g}", tuple(lab)))
        for (hue, value, chroma), lab in zip(NOTATIONS, COLOURS.tolist(), strict=True)
        if hue in leaves and 2 <= value <= 9
    ]


CHIPS = chips_of(LEAVES)
SWATCHES = [swatch for _, _, swatch in CHIPS]


def arranged(leaf_of, leaves=LEAVES, chips=CHIPS):
    families = [[] for _ in leaves]
    for (_, value, swatch), leaf in zip(chips, leaf_of, strict=True):
        families[leaf].append((-value, swatch.address))
    return Arrangement(
        "leaves",
        tuple(
            ArrangedFamily(name, tuple(OwnPlace(address) for _, address in sorted(own)))
            for name, own in zip(leaves, families, strict=True)
        ),
    )


def planted(leaves, chips, draw, *, beside, count=25):
    """Chips in a wrong leaf, the next one or any: which, which were flagged, and the filing."""
    swatches = [swatch for _, _, swatch in chips]
    rows = draw.choice(len(chips), count, replace=False)
    leaf_of = np.array([leaf for leaf, _, _ in chips])
    turn = draw.choice([-1, 1], count) if beside else draw.integers(1, len(leaves), count)
    leaf_of[rows] = (leaf_of[rows] + turn) % len(leaves)
    kept = arranged(leaf_of, leaves, chips)
    doubts = check_filing(families(swatches, kept), kept, swatches)
    odd = {doubt.pencils[0].address for doubt in doubts if doubt.kind == "odd"}
    return {swatches[row].address for row in rows}, odd, kept


@pytest.mark.parametrize("beside", [True, False])
def test_chips_planted_in_a_wrong_leaf_are_found_and_few_others(beside):
    """Beside: in the next leaf of the circle, 18 degrees of Munsell hue on."""
    draw = np.random.default_rng(21 + beside)
    wrong, odd, _ = planted(LEAVES, CHIPS, draw, beside=beside)
    assert wrong <= odd
    assert len(odd - wrong) <= 0.02 * (len(CHIPS) - len(wrong))


def test_hue_families_come_back_where_half_of_each_leaf_is_new():
    kept = arranged([leaf for leaf, _, _ in CHIPS])
    half = {swatch.address for swatch in SWATCHES[::2]}
    only = tuple(
        family._replace(places=tuple(p for p in family.places if p.pencil in half))
        for family in kept.families
    )
    filled = complete(kept._replace(families=only), SWATCHES)
    new = [p.pencil for family in filled.families for p in family.places if p.pencil not in half]
    own = [
        p.pencil.startswith(f"{family.name}:")
        for family in filled.families
        for p in family.places
        if p.pencil not in half
    ]
    assert len(new) >= 0.98 * (len(CHIPS) - len(half))
    assert sum(own) >= 0.98 * len(new)


def test_value_order_comes_back():
    """One chip of every value, at the chroma most leaves reach, shuffled: light to dark again."""
    leaf = [(value, swatch) for _, value, swatch in CHIPS if swatch.code.endswith("/4")]
    own = [(value, swatch) for value, swatch in leaf if swatch.range == LEAVES[3]]
    addresses = [swatch.address for _, swatch in own]
    shuffled = [addresses[row] for row in np.random.default_rng(5).permutation(len(own))]
    kept = Arrangement("", (ArrangedFamily("one", tuple(map(OwnPlace, shuffled))),))
    swatches = [swatch for _, swatch in own]
    back = check_filing(families(swatches, kept), kept, swatches)
    assert "back" in {doubt.kind for doubt in back}
    tidy = sort_families(kept, swatches)
    values = {swatch.address: value for value, swatch in own}
    found = [values[place.pencil] for place in tidy.families[0].places]
    assert found == sorted(values.values(), reverse=True)
    assert "back" not in {d.kind for d in check_filing(families(swatches, tidy), tidy, swatches)}


def test_labels_steps_and_families_that_two_more_pencils_would_join():
    def swatch(code, lab, name=""):
        return Swatch("Test", code, lab, name=name)

    light = [swatch("1", (80.0, 10.0, 20.0)), swatch("2", (75.0, 12.0, 22.0), "Blue Gull")]
    dark = [swatch("3", (40.0, 12.0, 22.0)), swatch("4", (20.0, 12.0, 16.0))]
    bridge = [swatch("5", (63.0, 12.0, 22.0)), swatch("6", (52.0, 12.0, 22.0))]
    kept = Arrangement(
        "",
        (
            ArrangedFamily("light", tuple(OwnPlace(one.address) for one in light)),
            ArrangedFamily("dark", tuple(OwnPlace(one.address) for one in dark)),
        ),
        fills=False,
    )
    found = check_filing(families([*light, *dark], kept), kept, [*light, *dark, *bridge])
    kinds = {doubt.kind: doubt for doubt in found}
    assert set(kinds) == {"step", "label", "join"}
    assert kinds["label"].word == "blue"
    assert [one.code for one in kinds["step"].pencils] == ["3", "4"]
    assert {one.code for one in kinds["join"].joining} == {"5", "6"}
    assert (kinds["join"].family, kinds["join"].word) == ("light", "dark")


@pytest.mark.parametrize("seed", range(4))
def test_what_would_join_families_is_the_best_of_all_pairs(seed):
    draw = np.random.default_rng(seed)
    centres = draw.uniform([20, -40, -40], [90, 40, 40], (6, 3))
    lines = [centre + draw.normal(0, 3, (draw.integers(1, 5), 3)) for centre in centres]
    spare, limit = draw.uniform([20, -40, -40], [90, 40, 40], (200, 3)), 12.0

    def apart(one, other):
        return float(delta_E(lines[one][:, None], lines[other]).min())

    found = joining(lines, spare, limit)
    assert found
    for one, other, gap, rows in found:
        assert gap == min(apart(one, each) for each in range(6) if each != one) > limit
        first, last = (delta_E(lines[each][:, None], spare).min(axis=0) for each in (one, other))
        across = delta_E(spare[:, None], spare)
        largest = np.maximum(np.maximum(first[:, None], last), across)
        assert largest[rows[0], rows[-1]] == largest.min() <= limit


def test_how_far_a_member_is_from_its_family_takes_all_others_like_it():
    """Against each asked by itself; of a colour there are eight, more than are looked at."""
    draw = np.random.default_rng(3)
    members = draw.uniform([20, -40, -40], [90, 40, 40], (40, 3))
    members[5:13] = members[4]
    others = [np.delete(members, row, axis=0) for row in range(40)]
    alone = [distances_to_family(members[[row]], others[row])[0] for row in range(40)]
    assert distances_within_family(members) == pytest.approx(alone, abs=1e-12)
    assert np.isinf(distances_within_family(members[:1])).all()


GREYS = ("warm greys", "neutral greys", "cool greys")
FAMILIES_OF_NAME = {
    "pink": ("roses", "muted roses"),
    "red": ("reds", "roses", "muted roses", "wines"),
    "yellowish pink": ("roses", "muted roses", "apricots"),
    "reddish orange": ("oranges", "reds"),
    "reddish brown": ("warm earths", "wines"),
    "orange": ("oranges", "apricots"),
    "brown": ("warm earths", "cool earths", "brown-greys"),
    "orange yellow": ("golden yellows", "ochres", "apricots"),
    "yellowish brown": ("cool earths", "warm earths", "ochres", "sands", "brown-greys"),
    "yellow": ("lemon yellows", "golden yellows", "ochres", "sands"),
    "olive brown": ("olives", "cool earths"),
    "greenish yellow": ("lemon yellows", "olives"),
    "olive": ("olives",),
    "yellow green": ("vivid greens", "greyed greens", "olives"),
    "olive green": ("olives", "greyed greens"),
    "yellowish green": ("vivid greens", "greyed greens"),
    "green": ("vivid greens", "greyed greens"),
    "bluish green": ("turquoises leaning green", "vivid greens", "greyed greens"),
    "greenish blue": ("turquoises leaning blue", "blues", "greyed blues", "pale blues"),
    "blue": ("blues", "pale blues", "greyed blues", "indigos", "turquoises leaning blue"),
    "purplish blue": ("blues", "greyed blues", "indigos", "violets"),
    "violet": ("violets",),
    "purple": ("purples", "violets"),
    "reddish purple": ("purples",),
    "purplish pink": ("roses", "muted roses"),
    "purplish red": ("roses", "muted roses", "wines"),
}
"""Families whose name in ordinary words says the hue of a name of level 2: our own reading."""


def agreement():
    """How many of the 267 centroids are proposed to a family whose name says their hue."""
    every = categories()
    filed = file_swatches([Swatch("NBS", str(one.number), one.lab) for one in every])
    agreed = []
    for one, place in zip(every, filed, strict=True):
        last = one.name.split()[-1]
        neutral = {"white": ("whites",), "gray": GREYS, "black": ("blacks",)}.get(last)
        agreed.append(place.family in (neutral or FAMILIES_OF_NAME[one.level_2]))
    return sum(agreed), len(agreed)


def test_proposed_families_agree_with_the_standards_hue_names():
    """Centroids of NBS SP 440, as the package `naming` has them; see the head of its data file."""
    agreed, of = agreement()
    assert of == 267
    assert agreed >= 236  # measured: 236, 88 %
