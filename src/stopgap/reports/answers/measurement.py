"""Reports of `range show --measurement` and `range shift`."""

from collections.abc import Sequence

from stopgap.difference import mean_uncertainty
from stopgap.errors import Note, Remedy
from stopgap.planner import PairShift
from stopgap.reports.blocks import Block, Column, Grid, Heading, Paragraph, Report
from stopgap.reports.data import swatch_data
from stopgap.reports.remarks import Say, remarks
from stopgap.swatches import ColourRange, Paper, Swatch

_COLUMNS = (
    "source",
    "spectrum",
    "illuminant",
    "observer",
    "assumed",
    "mode",
    "geometry",
    "instrument",
    "backing",
    "paper",
    "date",
    "bandpass",
    "readings",
    "left_out",
    "spread",
    "uncertainty",
)
_SHOWN = (
    "source",
    "spectrum",
    "white",
    "mode",
    "geometry",
    "instrument",
    "backing",
    "paper",
    "date",
    "readings",
)


def measurement_report(found: ColourRange) -> Report:
    """How the swatches of a range were measured: JSON schema stopgap.measurement/1."""
    facts = [_facts(swatch) for swatch in found.swatches]
    data = {
        "range": found.name,
        "paper": {"lab": list(found.paper.lab), "measured": found.paper.measured},
        "shift": list(found.shift),
        "swatches": [
            {"swatch": swatch_data(swatch), **said}
            for swatch, said in zip(found.swatches, facts, strict=True)
        ],
    }
    shown = [_shown(said) for said in facts]
    shared = {
        title: shown[0][title]
        for title in _SHOWN
        if shown and len({said[title] for said in shown}) == 1
    }
    varying = [title for title in _SHOWN if title not in shared]
    common = ", ".join(f"{title} {text}" for title, text in shared.items() if text)
    blocks: list[Block] = [Heading(f"{found.name}: {len(found.swatches)} swatches")]
    if common:
        blocks.append(Paragraph(f"All: {common}."))
    blocks += [Paragraph(note, mark="·") for note in range_notes(found)]
    columns = [Column("code"), *(Column(title) for title in varying), Column("±", number=True)]
    rows = [
        [swatch.code, *(said[title] for title in varying), f"{swatch.uncertainty:.2f}"]
        for swatch, said in zip(found.swatches, shown, strict=True)
    ]
    blocks.append(Grid(columns, rows))
    return Report(
        "stopgap.measurement/1",
        data,
        blocks,
        ("range", "code", *_COLUMNS),
        [
            (swatch.range, swatch.code, *(said[title] for title in _COLUMNS))
            for swatch, said in zip(found.swatches, facts, strict=True)
        ],
    )


def range_notes(found: ColourRange) -> list[str]:
    """What holds for the whole range: its paper, and a correction."""
    notes = [f"Paper: {paper_words(found.paper)}."]
    if any(found.shift):
        notes.append(f"Corrected by {_triple(found.shift)} in L*, a*, b*, as you asked.")
    return notes


def paper_words(paper: Paper) -> str:
    """The paper in words, and whether somebody measured it."""
    L, a, b = paper.lab
    lab = f"lab({L:.1f} {a:.1f} {b:.1f})"
    return f"measured, {lab}" if paper.measured else f"not measured; {lab} stands for it"


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
            f"On average {_triple(shift.offset)} in L*, a*, b*, give or take "
            f"{_triple(shift.standard_errors, sign='')}. Without any shift so much happens in "
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


def _facts(swatch: Swatch) -> dict[str, object]:
    measured, readings, spectrum = swatch.measurement, swatch.readings, swatch.reflectance
    spread = float(mean_uncertainty(swatch.lab, readings.spread)) if readings else None
    return {
        "source": str(swatch.source),
        "spectrum": _span(spectrum.wavelengths) if spectrum else None,
        "illuminant": measured.illuminant or None,
        "observer": measured.observer,
        "assumed": measured.assumed,
        "mode": str(measured.mode) if measured.mode else None,
        "geometry": measured.geometry,
        "instrument": measured.instrument,
        "backing": measured.backing,
        "paper": swatch.paper,
        "date": measured.date,
        "bandpass": str(measured.bandpass) if measured.bandpass else None,
        "readings": readings.count if readings else 1,
        "left_out": len(readings.left_out) if readings else 0,
        "spread": spread,
        "uncertainty": swatch.uncertainty,
    }


def _span(wavelengths: Sequence[float]) -> str:
    step = (wavelengths[-1] - wavelengths[0]) / (len(wavelengths) - 1)
    return f"{wavelengths[0]:g}-{wavelengths[-1]:g}/{step:.4g} nm"


def _shown(facts: dict[str, object]) -> dict[str, str]:
    """The facts as short texts; what belongs together in one."""
    white = f"{facts['illuminant']}/{facts['observer']}°" if facts["illuminant"] else ""
    readings = str(facts["readings"])
    if facts["left_out"]:
        readings += f" ({facts['left_out']} left out)"
    if facts["spread"] is not None:
        readings += f", each ±{facts['spread']:.2f}"
    composed = {
        "white": f"{white} assumed" if facts["assumed"] else white,
        "readings": readings,
    }
    return {title: composed.get(title, str(facts.get(title) or "")) for title in _SHOWN}


def _triple(values: Sequence[float], sign: str = "+") -> str:
    return ", ".join(f"{value:{sign}.2f}" for value in values)
