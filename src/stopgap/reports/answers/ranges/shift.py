"""The answer of `range shift`: how the measurements of two ranges differ."""

from functools import partial
from operator import attrgetter

from stopgap.errors import Note, Remedy
from stopgap.planner import PairShift
from stopgap.reports.blocks import Block, Heading, Paragraph, Report, Say, remarks
from stopgap.reports.columns import RowField, cells_of, data_of, grid_of, titles_of
from stopgap.reports.wording import swatch_data, triple_words
from stopgap.swatches import Swatch

_Pair = tuple[Swatch, Swatch]
_STEPS = ("delta_L", "delta_a", "delta_b")


def shift_report(
    shift: PairShift, name: str, reference: str, say: Say = str, *, corrected: bool
) -> Report:
    """What one range differs from another by: JSON schema stopgap.shift/1."""
    fields = _fields(name, reference)
    data = {
        "range": name,
        "reference": reference,
        "pairs": data_of(fields, shift.pairs),
        "offset": list(shift.offset),
        "standard_errors": list(shift.standard_errors),
        "chance": shift.chance,
        "significant": shift.significant,
        "before": shift.before,
        "after": shift.after,
        "corrected": corrected,
    }
    likely = "too rarely to be chance" if shift.significant else "which chance can explain"
    blocks: list[Block] = [
        Heading(f"{reference} against {name}, over {len(shift.pairs)} pencils"),
        grid_of(fields, ("swatch", "reference", *_STEPS), shift.pairs),
        Paragraph(
            f"On average {triple_words(shift.offset)} in L*, a*, b*, give or take "
            f"{triple_words(shift.standard_errors, sign='')}. Without any shift so much happens in "
            f"{100.0 * shift.chance:.2g} of 100 cases, {likely}."
        ),
        Paragraph(
            f"Over these pairs ΔE00 is {shift.before:.2f} as measured and {shift.after:.2f} with "
            "the shift taken out (root mean square)."
        ),
        *remarks([_outcome(name, corrected=corrected)], say),
    ]
    return Report(
        "stopgap.shift/1",
        data,
        blocks,
        titles_of(fields),
        cells_of(fields, shift.pairs),
    )


def _outcome(name: str, *, corrected: bool) -> Note:
    if corrected:
        return Note(f"{name} was corrected.", Remedy.UNCORRECT)
    return Note("Nothing was changed.", Remedy.CORRECT, {"range": name})


def _fields(name: str, reference: str) -> list[RowField[_Pair]]:
    """Those of a pair, which is shown by its codes below the names of the two ranges."""
    code = attrgetter("code")
    return [
        RowField("swatch", lambda pair: pair[0], swatch_data, {"code": code}, code, name),
        RowField(
            "reference", lambda pair: pair[1], swatch_data, {"reference": code}, code, reference
        ),
        *(
            RowField(
                key,
                partial(_step, place),
                None,
                shown="{:+.2f}".format,
                title=f"Δ{key[-1]}*",
                number=True,
            )
            for place, key in enumerate(_STEPS)
        ),
    ]


def _step(place: int, pair: _Pair) -> float:
    """From the pencil to the same in the other range, in L*, a* or b*."""
    ours, theirs = pair
    return theirs.lab[place] - ours.lab[place]
