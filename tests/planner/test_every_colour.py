"""Whatever colour an import takes, questions are answered, and what no recipe uses is named."""

import json

import numpy as np
import pytest
from hypothesis import HealthCheck, example, given, settings
from hypothesis import strategies as st

from stopgap.cli.program import run
from stopgap.colorimetry import recover, within_optimal_solid
from stopgap.colorimetry.recovery.bands import REC_2020, SMOOTHEST
from stopgap.difference import delta_E
from stopgap.layering import MODELS, palette_of, predict, uncertainty
from stopgap.library import open_library
from stopgap.planner import estimated_conditions, not_layered_notes, recipes_under
from stopgap.swatches import Swatch

pytestmark = pytest.mark.slow

PAPER = (97.0, 0.0, -1.0)
# inside the optimal colour solid (tests/colorimetry/test_solid.py checks it against published
# boundaries), outside the gamut of ITU-R BT.2020
VIVID = [(27.69, -53.0, -6.51), (91.36, 26.96, 15.02), (98.0, -17.46, 58.8)]
COLOUR = st.tuples(
    st.floats(0.0, 100.0), st.floats(-200.0, 200.0), st.floats(-200.0, 200.0)
) | st.tuples(st.floats(0.0, 100.0), st.floats(-60.0, 60.0), st.floats(-60.0, 60.0))


@pytest.fixture(scope="module")
def blends(tmp_path_factory):
    file = tmp_path_factory.mktemp("blends") / "blends.csv"
    file.write_text("name,from,to\nA,lab(30 5 5),lab(80 5 20)\n", encoding="utf-8")
    return file


def answers(colours, folder, blends, capsys):
    rows = ["code,L,a,b,owned", *(f"{i},{L},{a},{b},yes" for i, (L, a, b) in enumerate(colours))]
    (folder / "range.csv").write_text("\n".join(rows), encoding="utf-8")
    library = ["--library", str(folder / "library.sqlite")]
    assert run([*library, "range", "import", str(folder / "range.csv"), "--name", "R"]) == 0
    capsys.readouterr()
    found = []
    for question in (
        ["match", "lab(55 10 10)", "--layers", "--json"],
        ["gaps", str(blends), "--json"],
        ["shop", "--blends", str(blends), "--json"],
    ):
        status = run([*library, *question])
        captured = capsys.readouterr()
        assert status in (0, 3), (question, captured.err)
        found.append(json.loads(captured.out))
    return found


@settings(
    max_examples=10,
    deadline=None,
    suppress_health_check=[HealthCheck.function_scoped_fixture],
    derandomize=True,
)
@given(colours=st.lists(COLOUR, min_size=1, max_size=4))
@example(colours=VIVID)
@example(colours=[(0.0, 0.0, 0.0)])
@example(colours=[(100.0, 0.0, 0.0)])
@example(colours=[(50.0, 120.0, -190.0)])
def test_every_colour_that_an_import_takes_answers(colours, blends, tmp_path_factory, capsys):
    folder = tmp_path_factory.mktemp("library")
    for answer in answers(colours, folder, blends, capsys):
        named = " ".join(note for note in answer.get("notes", ()) if "No recipe" in note)
        for code, lab in enumerate(colours):
            if not within_optimal_solid(lab):
                assert f"R:{code}" in named
    with open_library(folder / "library.sqlite") as library:
        swatches = library.swatches()
    conditions = estimated_conditions()
    unattained = {swatch.address for swatch in recipes_under(conditions, swatches).unattained}
    for swatch in swatches:
        # the reflectance recovered is the witness: it has the colour, or there is none
        reached = bool(recover(swatch.lab).reached)
        if reached:
            assert swatch.address not in unattained
        named = any(swatch.address in note.text for note in not_layered_notes(conditions, swatches))
        assert named == (swatch.address in unattained)


def test_a_pencil_beyond_one_alternative_is_layered_less_surely():
    """Than what the alternatives say that it is left with."""
    other = (60.0, 40.0, 20.0)
    for lab in VIVID:
        assert within_optimal_solid(lab, 0.0)
        assert not REC_2020.reflectances(lab, None).reached
        sure = uncertainty(PAPER, [lab, other], [0.65, 0.65], sigma=1.0).reconstruction
        layers = np.array([lab, other])
        here = predict(PAPER, layers, [0.65, 0.65])
        smoothest = MODELS["spectrum"]._replace(bands=SMOOTHEST)
        left = delta_E(predict(PAPER, layers, [0.65, 0.65], model=smoothest), here)
        assert sure > left  # wider than what is left says


def test_pencils_that_all_models_have_keep_their_uncertainty():
    """A vivid neighbour in the box changes nothing of the others' recipes."""
    plain = [Swatch("R", str(i), lab) for i, lab in enumerate([(60, 40, 20), (70, -20, 30)])]
    vivid = [Swatch("V", str(i), lab) for i, lab in enumerate(VIVID)]
    conditions = estimated_conditions()
    alone = recipes_under(conditions, plain).recipes([[55, 5, 20]], limit=3)[0]
    beside = recipes_under(conditions, [*plain, *vivid]).recipes(
        [[55, 5, 20]], limit=3, without={swatch.address for swatch in vivid}
    )[0]
    for one, same in zip(alone, beside, strict=True):
        assert one.stack == same.stack
        assert (*one.lab, one.sigma) == pytest.approx((*same.lab, same.sigma), abs=1e-9)


def test_a_box_that_can_lay_nothing_answers_with_nothing():
    box = palette_of([Swatch("R", "1", (50.0, 150.0, 0.0))], PAPER)
    assert (box.swatches, len(box.unattained)) == ((), 1)
