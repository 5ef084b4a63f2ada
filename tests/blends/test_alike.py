"""Groups of pencils that may stand in for each other."""

import json
from itertools import combinations

import colour
import pytest

from stopgap.blends import INTERCHANGEABLE, families_by_colour
from stopgap.errors import InputError, NothingFoundError
from stopgap.library import open_library


@pytest.fixture(scope="module")
def swatches(demo_library):
    with open_library(demo_library, read_only=True) as library:
        return library.swatches()


@pytest.mark.parametrize("within", [1.8, INTERCHANGEABLE, 8.0])
def test_no_two_of_a_group_are_farther_apart_and_no_two_groups_could_be_one(swatches, within):
    """CIEDE2000 by colour-science; what complete linkage ends with."""
    found = families_by_colour(swatches, within)
    assert found == families_by_colour(swatches[::-1], within)
    assert len({family.name for family in found}) == len(found)
    groups = [[each.swatch for each in family.filed] for family in found]
    assert [len(group) for group in groups] == sorted(map(len, groups), reverse=True)

    def apart(pencils):
        pairs = list(combinations([one.lab for one in pencils], 2))
        return max(colour.delta_E(*zip(*pairs, strict=True), method="CIE 2000"))

    for group in groups:
        assert len(group) > 1
        assert apart(group) <= within + 1e-9
    for one, other in combinations(groups[:12], 2):
        assert apart([*one, *other]) > within


def test_what_it_refuses(swatches):
    with pytest.raises(NothingFoundError, match=r"No two of 2 pencils are within ΔE00 3\.5"):
        families_by_colour([swatches[0], swatches[60]])
    with pytest.raises(InputError, match="within: expected a difference above 0"):
        families_by_colour(swatches, 0.0)


def test_the_command_answers_with_families(demo, swatches):
    status, out, _ = demo("family", "--by-colour", "--range", "Fennmoor", "--json")
    assert status == 0
    families = json.loads(out)["families"]
    named = {one["swatch"]["range"] for family in families for one in family["swatches"]}
    assert named == {"Fennmoor"}
    assert demo("family", "reds", "--by-colour")[0] == 2
    assert demo("family", "--within", "3")[0] == 2
    assert max(map(len, demo("family", "--by-colour")[1].splitlines())) <= 80
