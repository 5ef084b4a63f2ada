"""The answer of `range show --measurement`: how the swatches of a range were measured."""

from collections.abc import Callable, Sequence
from operator import attrgetter

from stopgap.difference import mean_uncertainty
from stopgap.reports.blocks import Block, Heading, Paragraph, Report
from stopgap.reports.columns import (
    RowField,
    cells_of,
    data_of,
    grid_of,
    only_shown,
    swatch_field,
    titles_of,
)
from stopgap.reports.wording import triple_words
from stopgap.swatches import ColourRange, Paper, Swatch


def measurement_report(found: ColourRange) -> Report:
    """JSON schema stopgap.measurement/1; what is the same of all swatches is said once."""
    shared = _shared(found.every_swatch)
    common = ", ".join(f"{title} {text}" for title, text in shared.items() if text)
    blocks: list[Block] = [Heading(f"{found.name}: {len(found.every_swatch)} swatches")]
    if common:
        blocks.append(Paragraph(f"All: {common}."))
    blocks += [Paragraph(note, mark="·") for note in range_notes(found)]
    varying = [field.key for field in _VARYING if field.title not in shared]
    blocks.append(grid_of(_FIELDS, ("shown code", *varying, "±"), found.every_swatch))
    return Report(
        "stopgap.measurement/1",
        {
            "range": found.name,
            "paper": {"lab": list(found.paper.lab), "measured": found.paper.measured},
            "shift": list(found.shift),
            "swatches": data_of(_FIELDS, found.every_swatch),
        },
        blocks,
        titles_of(_FIELDS),
        cells_of(_FIELDS, found.every_swatch),
    )


def range_notes(found: ColourRange) -> list[str]:
    """What holds for the whole range: its paper, and a correction."""
    notes = [f"Paper: {paper_words(found.paper)}."]
    if any(found.shift):
        notes.append(f"Corrected by {triple_words(found.shift)} in L*, a*, b*, as you asked.")
    return notes


def paper_words(paper: Paper) -> str:
    """The paper in words, and whether somebody measured it."""
    L, a, b = paper.lab
    lab = f"lab({L:.1f} {a:.1f} {b:.1f})"
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


_FIELDS: list[RowField[Swatch]] = [
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
    only_shown("±", lambda swatch: f"{swatch.uncertainty:.2f}", "±", number=True),
]
_VARYING = [field for field in _FIELDS if field.title and field.title not in ("code", "±")]
