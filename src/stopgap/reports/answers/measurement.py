"""How a range was measured, and by how much the measurements of two ranges differ."""

from collections.abc import Callable, Sequence
from functools import partial
from math import hypot
from operator import attrgetter
from typing import TYPE_CHECKING

from stopgap.colorimetry import lab_text
from stopgap.difference import mean_uncertainty
from stopgap.errors import Note, Remedy
from stopgap.reports.blocks import Block, Heading, Paragraph, Report, Say, remarks
from stopgap.reports.columns import (
    RowField,
    cells_of,
    data_of,
    grid_of,
    only_shown,
    swatch_field,
    titles_of,
)
from stopgap.reports.wording import swatch_data, triple_words
from stopgap.swatches import ColourRange, Paper, RangeCorrection, Swatch

if TYPE_CHECKING:
    from stopgap.planner import PairShift


def measurement_report(found: ColourRange) -> Report:
    """JSON schema stopgap.measurement/1; what is the same of all swatches is said once."""
    shared = _shared(found.every_swatch)
    common = ", ".join(f"{title} {text}" for title, text in shared.items() if text)
    blocks: list[Block] = [Heading(f"{found.name}: {len(found.every_swatch)} swatches")]
    if common:
        blocks.append(Paragraph(f"All: {common}."))
    blocks += [Paragraph(note, mark="·") for note in range_notes(found)]
    varying = [field.key for field in _VARYING if field.title not in shared]
    blocks.append(grid_of(_SWATCH_FIELDS, ("shown code", *varying, "±"), found.every_swatch))
    return Report(
        "stopgap.measurement/1",
        {
            "range": found.name,
            "paper": {"lab": list(found.paper.lab), "measured": found.paper.measured},
            "shift": list(found.shift),
            "swatches": data_of(_SWATCH_FIELDS, found.every_swatch),
        },
        blocks,
        titles_of(_SWATCH_FIELDS),
        cells_of(_SWATCH_FIELDS, found.every_swatch),
        figures=True,
    )


def range_notes(found: ColourRange) -> list[str]:
    """What holds for the whole range: its paper, and a correction."""
    notes = [f"Paper: {paper_words(found.paper)}."]
    if found.corrections:
        notes.append(
            f"Corrected by {triple_words(found.shift)} in L*, a*, b* on average, as you asked."
        )
    return notes


def paper_words(paper: Paper) -> str:
    """The paper in words, and whether somebody measured it."""
    lab = lab_text(paper.lab)
    return f"measured, {lab}" if paper.measured else f"not measured; {lab} stands for it"


def _shared(swatches: Sequence[Swatch]) -> dict[str, str]:
    """What is shown of every swatch alike, by the title of its column."""
    if not swatches:
        return {}
    shown = {
        field.title: {str(field.shown(field.get(swatch))) for swatch in swatches}
        for field in _VARYING
    }
    return {title: texts.pop() for title, texts in shown.items() if len(texts) == 1}


def _spectrum(swatch: Swatch) -> str | None:
    if swatch.reflectance is None:
        return None
    wavelengths = swatch.reflectance.wavelengths
    step = (wavelengths[-1] - wavelengths[0]) / (len(wavelengths) - 1)
    return f"{wavelengths[0]:g}-{wavelengths[-1]:g}/{step:.4g} nm"


def _spread(swatch: Swatch) -> float | None:
    readings = swatch.readings
    return float(mean_uncertainty(swatch.lab, readings.spread)) if readings else None


def _readings(swatch: Swatch) -> int:
    return swatch.readings.count if swatch.readings else 1


def _left_out(swatch: Swatch) -> int:
    return len(swatch.readings.left_out) if swatch.readings else 0


def _white_words(swatch: Swatch) -> str:
    measured = swatch.measurement
    white = f"{measured.illuminant}/{measured.observer}°" if measured.illuminant else ""
    return f"{white} assumed" if measured.assumed else white


def _readings_words(swatch: Swatch) -> str:
    words, spread = str(_readings(swatch)), _spread(swatch)
    if _left_out(swatch):
        words += f" ({_left_out(swatch)} left out)"
    return words if spread is None else f"{words}, each ±{spread:.2f}"


def _text(key: str, get: Callable[[Swatch], object]) -> RowField[Swatch]:
    """A text that may be missing, then empty on a page."""
    return RowField(key, get, shown=lambda value: str(value or ""), title=key)


def _stated(name: str) -> Callable[[Swatch], str | None]:
    """A word of the measurement, None where nobody stated it."""
    get = attrgetter(f"measurement.{name}")
    return lambda swatch: str(get(swatch)) if get(swatch) else None


_SWATCH_FIELDS: list[RowField[Swatch]] = [
    only_shown("shown code", attrgetter("code"), "code"),
    swatch_field(("range", "code"), get=lambda swatch: swatch),
    _text("source", lambda swatch: str(swatch.source)),
    _text("spectrum", _spectrum),
    only_shown("white", _white_words, "white"),
    RowField("illuminant", _stated("illuminant")),
    RowField("observer", attrgetter("measurement.observer")),
    RowField("assumed", attrgetter("measurement.assumed")),
    _text("mode", _stated("mode")),
    _text("geometry", attrgetter("measurement.geometry")),
    _text("instrument", attrgetter("measurement.instrument")),
    _text("backing", attrgetter("measurement.backing")),
    _text("paper", attrgetter("paper")),
    _text("date", attrgetter("measurement.date")),
    RowField("bandpass", _stated("bandpass")),
    only_shown("shown readings", _readings_words, "readings"),
    RowField("readings", _readings),
    RowField("left_out", _left_out),
    RowField("spread", _spread),
    RowField("uncertainty", attrgetter("uncertainty")),
    only_shown("±", lambda swatch: f"{swatch.total_uncertainty:.2f}", "±", number=True),
]
_VARYING = [field for field in _SWATCH_FIELDS if field.title and field.title not in ("code", "±")]


_Pair = tuple[Swatch, Swatch]
_STEPS = ("delta_L", "delta_a", "delta_b")


def shift_report(
    shift: "PairShift", name: str, reference: str, say: Say = str, *, corrected: bool
) -> Report:
    """What one range differs from another by: JSON schema stopgap.shift/1."""
    fields = _pair_fields(name, reference)
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
        "named": shift.named,
        "correction": {**shift.correction._asdict(), "affine": bool(shift.correction.affine)},
    }
    blocks: list[Block] = [
        Heading(f"{reference} against {name}, over {len(shift.pairs)} pencils"),
        grid_of(fields, ("swatch", "reference", *_STEPS), shift.pairs),
        Paragraph(
            f"On average {triple_words(shift.offset)} in L*, a*, b*, give or take "
            f"{triple_words(shift.standard_errors, sign='')}. {_likely(shift)}"
        ),
        Paragraph(
            f"{reference} is {name} {correction_words(shift.correction)}. Over these pairs ΔE00 is "
            f"{shift.before:.2f} as measured and {shift.after:.2f} with that taken out (root mean "
            f"square){_beyond(shift)}."
        ),
        *remarks([_outcome(name, corrected=corrected)], say),
    ]
    return Report(
        "stopgap.shift/1",
        data,
        blocks,
        titles_of(fields),
        cells_of(fields, shift.pairs),
        figures=True,
    )


def correction_words(correction: RangeCorrection) -> str:
    """What a correction does, in words.

    >>> correction_words(RangeCorrection(0.031, -0.02))
    'with 3.1 % of white light added and the rest times 0.98'
    """
    flare = f"{abs(100.0 * correction.flare):.1f} % of white light"
    done = "added" if correction.flare >= 0.0 else "taken away"
    affine = ", then mended in L*, a*, b*" if correction.affine else ""
    return f"with {flare} {done} and the rest times {1.0 + correction.gain:.2f}{affine}"


def _likely(shift: "PairShift") -> str:
    if shift.chance is None:
        return "The pairs are the colours nearest to each other; nobody named them."
    likely = "too rarely to be chance" if shift.significant else "which chance can explain"
    return (
        f"Without any shift so much happens in {100.0 * shift.chance:.2g} of 100 cases, {likely}."
    )


def _beyond(shift: "PairShift") -> str:
    """How far other pencils are expected to be off."""
    own, shared = shift.correction.own, shift.correction.shared
    length = 3.0**0.5 * hypot(own, shared)
    return f"; other pencils will be off by about {length:.1f}"


def _outcome(name: str, *, corrected: bool) -> Note:
    if corrected:
        return Note(f"{name} was corrected.", Remedy.UNCORRECT)
    return Note("Nothing was changed.", Remedy.CORRECT, {"range": name})


def _pair_fields(name: str, reference: str) -> list[RowField[_Pair]]:
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
