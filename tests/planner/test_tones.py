"""Tones of a colour: even and of one hue, by the Munsell renotation, which says what one hue is."""

import json
import sys
from pathlib import Path

import numpy as np
import pytest

sys.path.insert(0, str(Path(__file__).parents[1] / "blends"))
from munsell_columns import hue_number, munsell_swatches

from stopgap.errors import InputError, NothingFoundError
from stopgap.planner import Shadow, estimated_conditions, find_tones
from stopgap.planner.tones import aimed_tones
from stopgap.swatches import FreeColour, Swatch

pytestmark = pytest.mark.slow

PAPER = (96.0, 0.0, 2.0)
VALUE = 10.1  # L* from one Munsell value to the next


def hues_apart(one, other):
    """Degrees on Munsell's circle of a hundred hues."""
    apart = abs(hue_number(one.code.split()[0]) - hue_number(other.code.split()[0]))
    return 3.6 * min(apart, 100.0 - apart)


def test_tones_stay_in_a_column_of_one_hue_and_are_even():
    """All chips as pencils: the tones of one are those above and below it of its hue.

    Newhall, Nickerson and Judd 1943 (the header of tests/reference/munsell_real_d50.csv). Chips
    stand 9 degrees apart; within 6 degrees is the same column. Of 320 local colours (values 4 to 7,
    chroma 4 and 8) 5.4 % of tones lie in the next column; here are some of them.
    """
    chips = munsell_swatches()
    box, conditions = list(chips.values()), estimated_conditions()
    turned = []
    for (_, value, chroma), local in list(chips.items())[::9]:
        if value not in (4, 6) or chroma not in (4, 8):
            continue
        found = find_tones(local, box, conditions=conditions, contrast=VALUE, layers=False)
        assert len(found.tones) == 5
        assert found.uneven < 2.0
        assert found.hue_off < 8.0
        assert [tone.given.swatches[0] for tone in found.tones if tone.local] == [local]
        turned += [
            hues_apart(tone.given.swatches[0], local)
            for tone in found.tones
            if np.hypot(*tone.given.lab[1:]) > 8.0
        ]
    assert len(turned) > 30
    assert max(turned) <= 9.0
    assert np.mean(np.array(turned) > 6.0) < 0.1


@pytest.mark.parametrize("local", [(50.0, 40.0, 20.0), (90.0, -5.0, 60.0), (18.0, 5.0, -20.0)])
@pytest.mark.parametrize("count", [3, 5, 8])
def test_what_is_aimed_at(local, count):
    aims, place = aimed_tones(local, count, paper=PAPER)
    steps = -np.diff([aim[0] for aim in aims])
    assert len(aims) == count
    assert aims[place] == pytest.approx(local)
    np.testing.assert_allclose(steps, steps[0])
    assert steps[0] > 0.0
    for number, aim in enumerate(aims):
        if number > place:  # less light: all of X, Y, Z fall alike, and their cube roots
            assert aim[1] / (aim[0] + 16.0) == pytest.approx(local[1] / (local[0] + 16.0))
            assert aim[2] / (aim[0] + 16.0) == pytest.approx(local[2] / (local[0] + 16.0))
    cool, _ = aimed_tones(local, count, paper=PAPER, shadow=Shadow.COOL)
    warm, _ = aimed_tones(local, count, paper=PAPER, shadow=Shadow.WARM)
    dull, _ = aimed_tones(local, count, paper=PAPER, dulled=True)
    assert cool[: place + 1] == aims[: place + 1] == warm[: place + 1]
    if place < count - 1:
        assert cool[-1][2] < aims[-1][2] < warm[-1][2]
        assert np.hypot(*dull[-1][1:]) == pytest.approx(0.5 * np.hypot(*aims[-1][1:]))
    less, _ = aimed_tones(local, count, paper=PAPER, contrast=2.0)
    np.testing.assert_allclose(-np.diff([aim[0] for aim in less]), 2.0)


def test_what_cannot_be_asked():
    grey, conditions = Swatch("Own", "1", (50.0, 0.0, 0.0)), estimated_conditions()
    red = FreeColour("red", (50.0, 50.0, 30.0))
    with pytest.raises(InputError, match="at least 3"):
        aimed_tones(red.lab, 2, paper=PAPER)
    with pytest.raises(InputError, match="above 0"):
        aimed_tones(red.lab, 3, paper=PAPER, contrast=0.0)
    with pytest.raises(NothingFoundError, match="no pencil"):
        find_tones(red, [], conditions=conditions)
    with pytest.raises(NothingFoundError, match="complement"):
        find_tones(red, [grey], conditions=conditions, dulled=True)


def test_the_command(demo):
    status, out, _ = demo("tones", "Quillet:Q7", "--json")
    answer = json.loads(out)
    tones = answer["tones"]
    assert (status, len(tones)) == (0, 5)
    assert [tone["given"]["code"] for tone in tones if tone["local"]] == ["Q7"]
    laid = [tone["given"]["lab"][0] for tone in tones]
    assert answer["uneven"] == pytest.approx(np.ptp(np.diff(laid)))
    assert answer["uneven"] < 2.0
    assert answer["hue_off"] <= 6.0
    _, out, _ = demo("tones", "Quillet:Q7", "--dull", "--json")
    for tone in json.loads(out)["tones"]:
        if tone["aim"][0] < laid[tones.index(next(one for one in tones if one["local"]))] - 1.0:
            codes = {layer["swatch"]["code"] for layer in tone["given"]["layers"]}
            assert "Q7" in codes
            assert len(codes) == 2
    assert demo("tones", "Quillet:Q7", "--steps", "2")[0] == 2
