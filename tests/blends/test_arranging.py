"""Arrangements: an order that was kept stays, and a new pencil takes the cheapest place in it."""

from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from stopgap.blends import (
    cheapest_place,
    complete,
    families,
    let_go,
    places_for,
    propose,
    put,
    sort_families,
    tidied,
)
from stopgap.difference import delta_E
from stopgap.errors import InputError, StopgapError, UnknownSwatchError
from stopgap.swatches import (
    NOT_FILED,
    ArrangedFamily,
    Arrangement,
    Finish,
    OwnPlace,
    Swatch,
    add_family,
    change_family,
    join_families,
    key_of,
    move_pencils,
    plain_name,
    remove_family,
    serve_also,
    split_family,
)

COLOUR = st.tuples(st.floats(15, 95), st.floats(-60, 60), st.floats(-60, 60))
COLOURS = st.lists(COLOUR, max_size=12)


def pencils(colours):
    return [Swatch("Test", str(code), colour) for code, colour in enumerate(colours)]


def spread(count=60, seed=3):
    drawn = np.random.default_rng(seed).uniform((15, -60, -60), (95, 60, 60), (count, 3))
    return pencils(tuple(lab) for lab in drawn.tolist())


def lines(arrangement):
    """The addresses of each family, in order."""
    return {family.name: [p.pencil for p in family.places] for family in arrangement.families}


def cheapest_slowly(line, lab, tolerance):
    """Every place tried: least gone back in lightness, then the least growth of squared steps."""

    def total(colours):
        return sum(float(delta_E(one, other)) ** 2 for one, other in pairwise(colours))

    def judged(at):
        before = [lab[0] - one[0] - tolerance for one in line[:at]]
        after = [one[0] - lab[0] - tolerance for one in line[at:]]
        tried = [*line[:at], lab, *line[at:]]
        return max([0.0, *before, *after]), total(tried) - total(line)

    return min(judged(at) for at in range(len(line) + 1)), judged


@settings(deadline=None, max_examples=60, derandomize=True)
@given(COLOURS, COLOUR, st.floats(0, 20))
def test_the_cheapest_place_is_the_best_of_all(line, lab, tolerance):
    at = cheapest_place(np.array(line).reshape(-1, 3), lab, tolerance)
    best, judged = cheapest_slowly(line, lab, tolerance)
    assert judged(at) == pytest.approx(best, abs=1e-6)


def test_the_proposal_as_an_arrangement_is_the_proposal():
    known = spread()
    kept = propose(known)
    shown = {one.name: [each.swatch.address for each in one.filed] for one in families(known)}
    assert {name: line for name, line in lines(kept).items() if line} == shown
    again = {one.name: [each.swatch.address for each in one.filed] for one in families(known, kept)}
    assert again == shown


@settings(deadline=None, max_examples=25, derandomize=True)
@given(st.lists(COLOUR, min_size=1, max_size=6), COLOUR)
def test_a_new_pencil_moves_nobody_and_changes_no_other_new_place(new, one_more):
    kept = propose(spread(40))
    before = pencils(new)
    for place, swatch in enumerate(before):
        before[place] = Swatch("New", str(place), swatch.lab)
    more = [*before, Swatch("New", "more", one_more)]
    filled = lines(complete(kept, [*spread(40), *before]))
    fuller = lines(complete(kept, [*spread(40), *more]))
    assert sum(map(len, filled.values())) == 40 + len(before)
    for name, line in fuller.items():
        assert [pencil for pencil in line if pencil != "New:more"] == filled[name]
        stored = [pencil for pencil in line if pencil.startswith("Test")]
        assert stored == lines(kept)[name]


def test_where_new_pencils_of_a_range_go_in_families_of_ones_own():
    """Nearest by their members, within one melting step; special finishes by themselves."""
    red, blue = Swatch("Test", "r", (50, 60, 40)), Swatch("Test", "b", (40, 5, -45))
    own = Arrangement(
        "",
        (
            ArrangedFamily("Röte", (OwnPlace("Test:r"),)),
            ArrangedFamily("Blau", (OwnPlace("test:B"),)),
        ),
    )
    new = [
        Swatch("New", "1", (52, 58, 40)),
        Swatch("New", "2", (36, 5, -45)),
        Swatch("New", "3", (90, 0, 0)),
        Swatch("New", "4", (50, 60, 40), finish=Finish.METALLIC),
    ]
    known = [red, blue, *new]
    assert lines(complete(own, known)) == {
        "Röte": ["New:1", "Test:r"],
        "Blau": ["test:B", "New:2"],
    }
    shown = families(known, complete(own, known))
    assert shown[-1].name == NOT_FILED
    assert shown[-1].waiting
    assert {each.swatch.code for each in shown[-1].filed} == {"3", "4"}
    assert complete(own._replace(fills=False), known) == own._replace(fills=False)


def test_a_pencil_that_the_library_lacks_keeps_its_place():
    known = spread(20)
    kept = propose(known)
    fewer = complete(kept, [*known[1:], Swatch("New", "1", (50, 0, 0))])
    assert [p for line in lines(fewer).values() for p in line if p != "New:1"] == [
        p for line in lines(kept).values() for p in line
    ]


def moves_at_random(count, seed):
    """Arrangements after moves of every kind, none of which may fail but by a sentence."""
    draw = np.random.default_rng(seed)
    known = spread(40)
    arrangement = propose(known)._replace(name="mine")
    for number in range(count):
        names = [family.name for family in arrangement.families]
        to = str(draw.choice(names))
        moved = [
            each.address
            for each in [
                known[row] for row in draw.permutation(len(known))[: draw.choice((1, 1, 1, 3))]
            ]
        ]
        inside = [place.pencil for place in arrangement.family(to).places]
        beside = str(draw.choice(inside)) if inside and draw.random() < 0.7 else None
        side = str(draw.choice(("before", "after")))
        act = draw.integers(24)
        before = arrangement
        try:
            if act == 0:
                arrangement = add_family(arrangement, f"own {number}", before=to)
            elif act == 1:
                arrangement = change_family(arrangement, to, new_name=f"named {number}", last=True)
            elif act == 2 and len(names) > 8:
                arrangement = join_families(arrangement, [to], str(draw.choice(names)))
            elif act == 3 and inside:
                arrangement = split_family(arrangement, to, f"part {number}", inside[:2])
            elif act == 4:
                arrangement = let_go(arrangement, known, moved)
            elif act == 5:
                arrangement = serve_also(arrangement, moved, to)
            elif act == 6:
                arrangement = remove_family(arrangement, to)
            else:
                arrangement = put(arrangement, known, moved, to, **{side: beside})
        except InputError:
            assert arrangement == before
        yield before, arrangement, (moved if act > 6 or act == 4 else [])


def test_after_any_moves_nobody_has_two_places_and_nobody_else_moved():
    known = spread(40)
    for before, after, moved in moves_at_random(300, seed=11):
        placed = [key_of(pencil) for line in lines(after).values() for pencil in line]
        gone = {key_of(pencil) for pencil in moved}
        assert len(placed) == len(set(placed))
        assert set(before.by_pencil()) - gone <= set(placed)
        if moved:
            for name, line in lines(before).items():
                rest = [pencil for pencil in line if key_of(pencil) not in gone]
                now = [pencil for pencil in lines(after)[name] if key_of(pencil) not in gone]
                assert now == rest
    assert sum(len(one.filed) for one in families(known, after)) == 40
    assert complete(complete(after, known), known) == complete(after, known)
    assert tidied(after, known)


def test_the_moves_that_once_locked_a_library():
    """A to a family, B after A, A after B: places are ranks, so no circle can come of it."""
    known = spread(20)
    one, other = known[0].address, known[1].address
    moved = put(propose(known), known, [one], "wines")
    moved = put(moved, known, [other], "wines", after=one)
    moved = put(moved, known, [one], "wines", after=other)
    line = lines(moved)["wines"]
    assert line.index(other) + 1 == line.index(one)
    assert families(known, moved)


def test_what_cannot_be_is_said():
    known = spread(20)
    kept = propose(known)
    one, other = (each.address for each in known[:2])
    kept = move_pencils(kept, [one], "wines", 0)
    kept = move_pencils(kept, [other], "reds", 0)
    with pytest.raises(InputError, match="beside itself"):
        put(kept, known, [one], "wines", before=one)
    with pytest.raises(InputError, match="not in the family wines"):
        put(kept, known, [one], "wines", after=other)
    with pytest.raises(UnknownSwatchError, match="Did you mean 'wines'"):
        put(kept, known, [one], "winse")
    with pytest.raises(InputError, match="already"):
        add_family(kept, "Reds")
    with pytest.raises(InputError, match="join it to another"):
        remove_family(kept, "wines")
    for name in ("", "two\nlines\x07", "x" * 81, NOT_FILED, "Proposal"):
        with pytest.raises(StopgapError):
            plain_name(name)
    assert plain_name("  Grün \n  warm ") == "Grün warm"


def test_places_offered_to_a_pencil_name_their_neighbours_and_steps():
    known = spread(40)
    kept = propose(known)
    (offers,) = places_for(kept, [known[5]], known)
    assert [offer.largest_step for offer in offers] == sorted(one.largest_step for one in offers)
    for offer in offers[:3]:
        beside = [each for each in (offer.after, offer.before) if each is not None]
        assert known[5] not in beside
        steps = [float(delta_E(each.lab, known[5].lab)) for each in beside]
        assert offer.steps == pytest.approx(steps)


def test_a_plain_pencil_is_offered_no_place_among_special_finishes_nor_one_of_them_among_plain():
    known = spread(20)
    shiny = [replace(one, code=f"m{one.code}", finish=Finish.METALLIC) for one in known[:3]]
    kept = add_family(propose([*known, *shiny]), "shiny")
    kept = put(kept, [*known, *shiny], [one.address for one in shiny], "shiny")
    for one, same in ((known[0], False), (shiny[0], True)):
        (offers,) = places_for(kept, [one], [*known, *shiny])
        assert offers
        assert all((offer.family == "shiny") is same for offer in offers)


def test_sorting_gains_what_was_told_and_stays_in_the_family():
    known = spread(60)
    one = known[7].address
    to = next(name for name, line in lines(propose(known)).items() if len(line) > 4)
    kept = put(propose(known), known, [one], to, first=True)
    (told,) = tidied(kept, known, [to])
    done = sort_families(kept, known, [to])
    (family,) = (each for each in families(known, done) if each.name == to)
    assert family.steps == pytest.approx(told.after)
    assert {name: sorted(line) for name, line in lines(done).items()} == {
        name: sorted(line) for name, line in lines(kept).items()
    }
