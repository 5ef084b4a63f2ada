"""Blends of the Munsell renotation with known holes.

Source: S. M. Newhall, D. Nickerson, D. B. Judd (1943), "Final report of the O.S.A. subcommittee on
the spacing of the Munsell colors", Journal of the Optical Society of America 33(7), 385-418, as the
`MUNSELL_COLOURS` of colour-science 0.4.7 (illuminant C), adapted to D50 by its `Von Kries` method
with the Bradford transform.
"""

import functools

import numpy as np
import pytest
from planner_oracles import ANY_END, Shop, swatch

from stopgap.planner import shopping_list
from stopgap.planner.shopping.question import BlendNeed
from stopgap.swatches import FreeColour, LaidStack, Stack

pytestmark = pytest.mark.slow


@functools.cache
def renotation():
    """(hue, value, chroma) -> Lab under D50 of the real colours of the renotation."""
    import colour

    whites = colour.CCS_ILLUMINANTS["CIE 1931 2 Degree Standard Observer"]
    c, d50 = (colour.xy_to_XYZ(whites[name]) for name in ("C", "D50"))
    notations, xyY = zip(*colour.MUNSELL_COLOURS["Munsell Colours Real"])
    scaled = np.array(xyY) * [1, 1, 0.01 * 0.975]  # Y is relative to magnesium oxide: ASTM D1535
    XYZ = colour.chromatic_adaptation(
        colour.xyY_to_XYZ(scaled), c, d50, method="Von Kries", transform="Bradford"
    )
    labs = colour.XYZ_to_Lab(XYZ, whites["D50"])
    return {
        (hue, float(value), float(chroma)): lab
        for (hue, value, chroma), lab in zip(notations, labs)
    }


def pencil(notation, price=None, range_="M"):
    hue, value, chroma = notation
    return swatch(f"{hue} {value:g}/{chroma:g}", renotation()[notation], range_=range_, price=price)


def blend(label, start, end, step, **fields):
    def end_of(notation):
        return FreeColour(str(notation), tuple(map(float, renotation()[notation])))

    return BlendNeed(label, end_of(start), end_of(end), step, tolerance=ANY_END, **fields)


def column(hue, chroma, values):
    return [(hue, float(value), float(chroma)) for value in values]


@pytest.mark.parametrize("hue", ["5R", "10YR", "5G", "5PB"])
@pytest.mark.parametrize("holes", [(5,), (4, 7), ()])
def test_the_holes_of_a_column_of_values_are_filled(hue, holes):
    notations = column(hue, 4, range(2, 9))
    missing = [notation for notation in notations if notation[1] in holes]
    owned = [pencil(notation) for notation in notations[1:-1] if notation not in missing]
    others = [
        pencil(notation, 2.0)
        for notation in renotation()
        if notation not in notations and notation[0][-1] == hue[-1]
    ]
    offers = [pencil(notation, 1.0) for notation in missing] + others
    need = blend("column", notations[0], notations[-1], 12.0)
    plan = shopping_list([need], owned, offers, default_price=1.0)
    assert len(offers) > 80
    assert {one.swatch.code for one in plan.buy} == {pencil(one).code for one in missing}
    before = plan.needs[0].before
    gaps = [before.labels[place] for place in before.blend.over_limit]
    assert gaps == [pencil((hue, hole - 1.0, 4.0)).address for hole in holes]
    assert plan.needs[0].met


def test_one_filler_of_two_blends_is_bought_where_it_is_cheaper():
    tones, tints = column("5R", 6, range(2, 9)), [("5R", 5.0, float(c)) for c in range(4, 15, 2)]
    shared = ("5R", 5.0, 6.0)
    owned = [pencil(one) for one in {*tones[1:-1], *tints[1:-1]} - {shared}]
    needs = [
        blend("tones", tones[0], tones[-1], 10.4, width=20.0),
        blend("tints", tints[0], tints[-1], 5.2, width=20.0),
    ]
    near = np.array(renotation()[shared])
    others = sorted(
        (one for one in renotation() if one not in {*tones, *tints}),
        key=lambda one: float(np.linalg.norm(renotation()[one] - near)),
    )[:10]
    pale, deep = (renotation()["5R", 5.0, chroma] for chroma in (4.0, 8.0))
    tint = pale + 0.45 * (deep - pale) + np.array([1.5, 0, 0])  # too light for the tones
    offers = [pencil(shared, 3.0), *(pencil(one, 2.0) for one in others)]
    offers.append(swatch("tint", tint, price=2.0))
    plan = shopping_list(needs, owned, offers, default_price=1.0)
    shop = Shop(needs, owned, offers)
    assert (plan.cost, len(plan.buy)) == shop.best()[1:3]
    assert [one.swatch.code for one in plan.buy] == ["5R 5/6"]
    assert set(plan.buy[0].purposes) == {"tones", "tints"}
    for need in needs:  # each blend alone is closed more cheaply by a pencil of its own
        alone = shopping_list([need], owned, offers, default_price=1.0)
        assert alone.cost == 2.0


def test_layering_across_a_hole_saves_the_purchase():
    notations = column("5G", 4, range(2, 9))
    owned = [pencil(one) for one in notations[1:-1] if one[1] != 5]
    need = blend("column", notations[0], notations[-1], 12.0)
    offer = pencil(notations[3], 1.0)
    recipe = LaidStack(Stack.of(owned[1], owned[2]), offer.lab, 2.0)
    assert shopping_list([need], owned, [offer], default_price=1.0).cost == 1.0
    assert shopping_list([need], owned, [offer], default_price=1.0, recipes=[recipe]).cost == 0.0
