"""The answer of `range shift`: how the measurements of two ranges differ."""

from stopgap.errors import Note, Remedy
from stopgap.planner import PairShift
from stopgap.reports.blocks import Block, Column, Grid, Heading, Paragraph, Report, Say, remarks
from stopgap.reports.wording import swatch_data, triple_words


def shift_report(
    shift: PairShift, name: str, reference: str, say: Say = str, *, corrected: bool
) -> Report:
    """What one range differs from another by: JSON schema stopgap.shift/1."""
    pairs = [
        {"swatch": swatch_data(one), "reference": swatch_data(other)} for one, other in shift.pairs
    ]
    data = {
        "range": name,
        "reference": reference,
        "pairs": pairs,
        "offset": list(shift.offset),
        "standard_errors": list(shift.standard_errors),
        "chance": shift.chance,
        "significant": shift.significant,
        "before": shift.before,
        "after": shift.after,
        "corrected": corrected,
    }
    likely = "too rarely to be chance" if shift.significant else "which chance can explain"
    rows = [
        (
            one.code,
            other.code,
            *(theirs - ours for ours, theirs in zip(one.lab, other.lab, strict=True)),
        )
        for one, other in shift.pairs
    ]
    grid = Grid(
        [
            Column(name),
            Column(reference),
            *(Column(title, number=True) for title in ("ΔL*", "Δa*", "Δb*")),
        ],
        [
            [str(ours), str(theirs), *(f"{step:+.2f}" for step in steps)]
            for ours, theirs, *steps in rows
        ],
    )
    blocks: list[Block] = [
        Heading(f"{reference} against {name}, over {len(pairs)} pencils"),
        grid,
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
        ("code", "reference", "delta_L", "delta_a", "delta_b"),
        rows,
    )


def _outcome(name: str, *, corrected: bool) -> Note:
    if corrected:
        return Note(f"{name} was corrected.", Remedy.UNCORRECT)
    return Note("Nothing was changed.", Remedy.CORRECT, {"range": name})
