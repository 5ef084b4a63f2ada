"""Any changes in any order: what undo and redo bring back is what was there, to the last bit."""

import shutil
import sqlite3
import tempfile
from contextlib import closing, suppress
from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, invariant, rule

from stopgap.errors import InputError, StopgapError
from stopgap.library import (
    Convention,
    Entry,
    EntryKind,
    check_library,
    clear_correction,
    correct_range,
    edit_swatch,
    forget_calibration,
    import_range,
    keep_arrangement,
    keep_calibration,
    keep_paper,
    open_library,
    read_range,
    remove_arrangement,
    remove_further,
    remove_paper,
    use_arrangement,
)
from stopgap.library.store import history
from stopgap.planner import estimated_conditions
from stopgap.swatches import (
    ArrangedFamily,
    Arrangement,
    OwnPlace,
    Paper,
    Pressure,
    RangeCorrection,
    Source,
    Swatch,
)

pytestmark = pytest.mark.slow

RANGES = st.sampled_from(("A", "B"))
CODES = st.sampled_from(("1", "2", "3"))
NUMBERS = st.floats(0, 100)
LABS = st.tuples(NUMBERS, st.floats(-90, 90), st.floats(-90, 90))
VALUES = st.one_of(
    st.fixed_dictionaries({"price": NUMBERS}),
    st.fixed_dictionaries({"owned": st.sampled_from((0, 1)), "note": st.text(max_size=3)}),
    st.fixed_dictionaries({"stock": st.sampled_from((None, "stub")), "avoid": st.just("")}),
)
FEW = st.integers(1, 4)
KEPT = 5


class Changes(RuleBasedStateMachine):
    """Changes of every kind; `states` are those before and after each that is not forgotten."""

    def __init__(self):
        super().__init__()
        self.folder = Path(tempfile.mkdtemp())
        self.path = self.folder / "library.sqlite"
        self.library = open_library(self.path)
        self.kept, history.CHANGES_KEPT = history.CHANGES_KEPT, KEPT
        self.states, self.at = [self.state()], 0

    def teardown(self):
        history.CHANGES_KEPT = self.kept
        self.library.close()
        damage = check_library(self.path).everything
        shutil.rmtree(self.folder)
        assert damage == ()

    def state(self):
        with closing(sqlite3.connect(self.path)) as raw:
            return {
                table: repr(raw.execute(f"SELECT * FROM {table} ORDER BY id").fetchall())
                for table in history.WATCHED
            }

    def newest(self):
        return next((each for each in self.library.changes() if not each.undone), None)

    def changed(self, change, *arguments, **named):
        """Make a change, or be refused."""
        before = self.newest()
        with suppress(StopgapError):
            change(self.library, *arguments, **named)
        if self.newest() != before:
            self.at += 1
            self.states[self.at :] = [self.state()]

    def swatch(self, name, code):
        return Swatch(name, code, (50.0, 0.0, 0.0))

    @rule(name=RANGES, code=CODES, lab=LABS, pressure=st.sampled_from(Pressure))
    def add(self, name, code, lab, pressure):
        swatch = Swatch(name, code, lab, pressure=pressure)
        entry = Entry(EntryKind.LAB, lab)
        self.changed(lambda to: to.add_swatch(swatch, entry, new_range=True, what="add"))

    @rule(name=RANGES, lab=LABS, codes=st.sets(CODES, min_size=1), renew=st.booleans())
    def bring(self, name, lab, codes, renew):
        file = self.folder / "range.csv"
        cells = ",".join(map(repr, lab))
        file.write_text("code,L,a,b,tin\n" + "".join(f"{code},{cells},low\n" for code in codes))
        draft = read_range(file, name, Convention("D50", 2, Source.MEASURED))
        self.changed(import_range, draft, renew=renew)

    @rule(name=RANGES, code=CODES, values=VALUES, afresh=st.booleans())
    def decide(self, name, code, values, afresh):
        swatch = self.swatch(name, code)
        self.changed(lambda to: to.decide([swatch], values, "decide", afresh=afresh))

    @rule(name=RANGES, code=CODES, lab=LABS)
    def recolour(self, name, code, lab):
        for swatch in self.library.swatches():
            if swatch.address == f"{name}:{code}":
                self.changed(edit_swatch, swatch, {"lab": lab, "paper": "Kraft"})

    @rule(name=RANGES, code=CODES, which=st.sampled_from(("pencil", "swatch", "range")))
    def remove(self, name, code, which):
        swatch = self.swatch(name, code)
        if which == "pencil":
            self.changed(lambda to: to.remove_swatch(swatch, "remove"))
        elif which == "range":
            self.changed(lambda to: to.remove_range(name, "remove range"))
        elif any(each.first.address == swatch.address for each in self.library.pencils()):
            self.changed(remove_further, swatch, 1)

    @rule(name=RANGES, flare=st.floats(-0.05, 0.05))
    def correct(self, name, flare):
        if abs(flare) < 0.01:
            self.changed(clear_correction, name, "as it was")
        else:
            self.changed(correct_range, name, RangeCorrection(flare), "correct")

    @rule(lab=LABS, name=st.sampled_from(("Kraft", "Grey")), of=st.sampled_from(("", "Kraft")))
    def keep_a_paper(self, lab, name, of):
        self.changed(keep_paper, Paper(lab, name=name, default=bool(of)), instead_of=of)

    @rule(name=st.sampled_from(("Kraft", "Grey")))
    def remove_a_paper(self, name):
        self.changed(remove_paper, name)

    @rule(code=CODES, name=st.sampled_from(("mine", "box")), kind=st.integers(0, 2))
    def arrange(self, code, name, kind):
        family = ArrangedFamily("reds", (OwnPlace(f"A:{code}"),))
        if kind == 0:
            self.changed(keep_arrangement, Arrangement(name, (family,)), "file")
        else:
            self.changed((use_arrangement, remove_arrangement)[kind - 1], name)

    @rule(tooth=st.floats(1, 3), paper=st.sampled_from(("", "Kraft")))
    def calibrate(self, tooth, paper):
        if tooth < 1.5:
            self.changed(forget_calibration, paper)
        else:
            found = replace(estimated_conditions(), tooth=tooth, samples=1)
            self.changed(keep_calibration, found, paper)

    @rule(name=RANGES, code=CODES, price=NUMBERS, fails=st.booleans())
    def several_at_once(self, name, code, price, fails):
        swatch = self.swatch(name, code)

        def change(to):
            with to._writing():
                to.decide([swatch], {"price": price}, "price")
                keep_paper(to, Paper(name="Grey"))
                if fails:
                    raise InputError("no")

        self.changed(change)

    @rule()
    def open_again(self):
        self.library.close()
        self.library = open_library(self.path)

    @rule(many=FEW)
    def undo(self, many):
        kept = [each for each in self.library.changes() if not each.undone][:many]
        assert [each.number for each in self.library.take_back(many)] == [
            each.number for each in kept
        ]
        self.at -= sum(each.joined for each in kept)

    @rule(which=st.integers(0, KEPT))
    def undo_one(self, which):
        numbers = [each.number for each in self.library.changes() if not each.undone]
        number = numbers[which] if which < len(numbers) else 10**6
        joined = next((each.joined for each in self.library.changes() if not each.undone), 0)
        try:
            self.library.take_back(only=number)
        except InputError:
            assert which or not numbers
        else:
            assert which == 0
            self.at -= joined

    @rule(many=FEW)
    def redo(self, many):
        undone = [each for each in reversed(self.library.changes()) if each.undone][:many]
        assert [each.number for each in self.library.do_again(many)] == [
            each.number for each in undone
        ]
        self.at += sum(each.joined for each in undone)

    @invariant()
    def is_as_it_was(self):
        assert self.state() == self.states[self.at]
        changes = self.library.changes()
        joined = [sum(each.joined for each in changes if each.undone == gone) for gone in (0, 1)]
        assert joined == [self.at, len(self.states) - 1 - self.at]
        assert len(changes) <= KEPT


TestChanges = Changes.TestCase
TestChanges.settings = settings(max_examples=20, stateful_step_count=25, deadline=None)
