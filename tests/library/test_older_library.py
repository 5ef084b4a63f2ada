"""A library of an earlier stopgap opens and answers as it did: its dump and answers were kept.

Both were written by the commands of schema version 4 before the rooms were parted; version 4 has
two ranges (Lab under D65; spectra with repeats), decisions, a pencil by hand, pins, a calibration
and a correction of a range.
"""

import json
import sqlite3
from contextlib import closing
from pathlib import Path

import pytest

from stopgap.library import (
    Convention,
    export_range,
    open_library,
    read_range,
    stored_calibration,
)
from stopgap.library.store.connection import newest_version

DATA = Path(__file__).parent / "data"
ANSWERS = json.loads((DATA / "library_version_4.json").read_text(encoding="utf-8"))


LATER = ("notes", "uncertainty", "sigma", "upper", "probability", "tied", "cautions")
"""Words may change; doubt came to have two parts, of which one drops out within a range; and what
is not rated is cautioned about once and not in every row."""


@pytest.fixture
def older(stopgap_run):
    """The runner of commands on that library."""
    with closing(sqlite3.connect(stopgap_run.library)) as raw:
        raw.executescript((DATA / "library_version_4.sql").read_text(encoding="utf-8"))
    return stopgap_run


@pytest.mark.parametrize("question", ANSWERS)
def test_it_answers_as_it_did(older, question):
    status, out, _ = older(*question.split(), "--json")
    assert status == 0
    before, now = ANSWERS[question], json.loads(out)
    # where nothing is near, what keeps the hue now comes first
    now["matches"] = sorted(now.get("matches", ()), key=lambda match: match["delta_E"])
    assert what_both_have(now, before) == nearly(what_both_have(before, before))


def what_both_have(answer, before):
    """An answer without fields that came later, and without notes, whose words may change."""
    if isinstance(before, dict):
        names = [name for name in before if name not in LATER]
        return {name: what_both_have(answer[name], before[name]) for name in names}
    if isinstance(before, list):
        assert len(answer) == len(before)
        return [what_both_have(*each) for each in zip(answer, before)]
    return answer


def nearly(answer):
    """The same with some room in the last digits, which each processor rounds in its own way."""
    if isinstance(answer, dict):
        return {name: nearly(each) for name, each in answer.items()}
    if isinstance(answer, list):
        return [nearly(each) for each in answer]
    return pytest.approx(answer, rel=1e-9) if isinstance(answer, float) else answer


def test_its_doubt_is_in_two_parts(older):
    """A source's default becomes its two parts; what was stated stays as it was."""
    _, out, _ = older("range", "show", "Fen", "--json")
    told = json.loads(out)["swatches"]
    before = ANSWERS["range show Fen"]["swatches"]
    parts = {2.0: (0.8, 1.5), 5.0: (1.0, 4.9)}
    for now, then in zip(told, before, strict=True):
        expected = parts.get(then["uncertainty"], (then["uncertainty"], 0.0))
        assert (now["uncertainty"], now["shared_uncertainty"]) == expected


def test_its_changes_can_be_taken_back(older):
    done = []
    with open_library(older.library) as library:
        assert stored_calibration(library).tooth == 2.5
        while (what := library.undo()) is not None:
            done.append(what)
    # bringing a library up to date lays its history afresh
    assert done == (
        []
        if newest_version() > 4
        else [
            "correction of Quill",
            "calibration on 3 layered swatches",
            "filing Fen:F4 under wines",
            "filing Fen:F1 under wines",
            "own 1 pencils",
            "adding Fen:H1",
            "editing Fen:F3",
            "editing Fen:F4",
            "import of Quill",
            "import of Fen",
        ]
    )
    left = json.loads(older("range", "list", "--json")[1])["ranges"]
    assert len(left) == (2 if newest_version() > 4 else 0)


def test_its_swatches_were_heavy_and_dry_and_a_column_that_now_has_a_meaning_stays(older):
    with closing(sqlite3.connect(older.library)) as raw:
        raw.execute("""UPDATE swatch SET extra = '{"Pressure": "hard"}' WHERE code = 'F1'""")
        raw.commit()
    with open_library(older.library) as library:
        swatches = library.swatches()
    laid = {(s.pressure, s.passes, s.state, s.batch, s.opacity) for s in swatches}
    assert laid == {("heavy", 1, "dry", "", None)}
    path = older.library.with_name("again.csv")
    path.write_bytes(export_range(swatches))
    again = [swatch for swatch, _ in read_range(path, "Fen", Convention()).swatches]
    assert {"Pressure": "hard"} in [swatch.extra for swatch in again]
