"""The drawer of papers; and of any answer, on which paper it holds."""

from collections.abc import Sequence
from operator import attrgetter
from typing import TYPE_CHECKING, Any, NamedTuple

from stopgap.errors import Note, Remedy
from stopgap.reports.blocks import (
    Block,
    Chip,
    Figures,
    Heading,
    Later,
    Paragraph,
    Report,
    Say,
    Strip,
    remarks,
    worded,
)
from stopgap.reports.columns import (
    RowField,
    cells_of,
    data_of,
    decimal,
    grid_of,
    only_shown,
    titles_of,
)
from stopgap.reports.terms import colour_words, conditions_words
from stopgap.reports.wording import marked_data, rating_notes
from stopgap.swatches import Paper, Swatch

if TYPE_CHECKING:
    from stopgap.layering import LayeredSample
    from stopgap.planner import Ground, Learnt


class PaperInDrawer(NamedTuple):
    """A paper, how many swatches lie on it, and how many layered ones it was calibrated with."""

    paper: Paper
    swatches: int = 0
    samples: int = 0


def papers_report(papers: Sequence[PaperInDrawer], say: Say = str) -> Report:
    """JSON schema stopgap.papers/1."""
    blocks: list[Block]
    if not papers:
        blocks = [Paragraph(say(Note("The drawer is empty.", Remedy.KEEP_PAPER)))]
    else:
        keys = ("chip", "name", "colour", "grain", "swatches", "samples", "default")
        blocks = [grid_of(_FIELDS, keys, papers)]
    return Report(
        "stopgap.papers/1",
        {"papers": data_of(_FIELDS, papers)},
        blocks,
        titles_of(_FIELDS),
        cells_of(_FIELDS, papers),
    )


class SettingInForce(NamedTuple):
    """A setting: its value, None where nobody said it, where that comes from, and what it is then.

    `source` is `settings`, `default`, or the variable or option that says it instead.
    """

    name: str
    value: Any
    source: str
    about: str
    without: str


def settings_report(settings: Sequence[SettingInForce], file: str) -> Report:
    """JSON schema stopgap.settings/1: what is kept for good, and in which file."""
    keys = ("name", "shown value", "from", "about")
    return Report(
        "stopgap.settings/1",
        {"file": file, "settings": data_of(_SETTINGS, settings)},
        [grid_of(_SETTINGS, keys, settings), Paragraph(f"Settings are kept in {file}.")],
        titles_of(_SETTINGS),
        cells_of(_SETTINGS, settings),
    )


def _value_words(value: Any) -> str:
    if isinstance(value, bool):
        return "yes" if value else "no"
    return " ".join(value) if isinstance(value, list) else f"{value}"


_SETTINGS: list[RowField[SettingInForce]] = [
    RowField("name", lambda one: one.name, title="setting"),
    only_shown(
        "shown value",
        lambda one: one.without if one.value is None else _value_words(one.value),
        "value",
    ),
    RowField(
        "value",
        lambda one: one.value,
        cells={"value": lambda value: "" if value is None else _value_words(value)},
    ),
    RowField("from", lambda one: one.source, title="from"),
    RowField("about", lambda one: one.about, title="what it is"),
]


def on_paper(
    report: Report, grounds: "Sequence[Ground]", say: Say = str, key: str = "paper"
) -> Report:
    """An answer with the paper that it holds on, null in JSON where none was named, and where there
    are several, as its rows then say; and with the pencils in it that something speaks against.

    On a page it stands first, but below the heading of a single question, and the one colour that
    this may be about.
    """
    papers = [ground.paper for ground in grounds if ground.paper is not None]
    data = {**report.data, key: paper_data(papers[0]) if papers and len(grounds) == 1 else None}
    data["marked"] = marked_data(report.data, _pencils(grounds))
    notes = list({str(note): note for ground in grounds for note in ground.remarks}.values())
    if "notes" in data:
        notes += rating_notes(report.data)
        data["notes"] = [*data["notes"], *map(str, notes)]
    return report._replace(
        data=data,
        blocks=Later(lambda: [*_after_papers(report.blocks, papers), *remarks(notes, say)]),
    )


def _after_papers(blocks: Sequence[Block], papers: Sequence[Paper]) -> list[Block]:
    """Blocks with the papers that they hold on at their place."""
    if not papers:
        return [*blocks]
    kinds = [type(block) for block in blocks[:3]]
    place = int(kinds[:1] == [Heading] and kinds[1:2] != [Strip])
    place += kinds[place : place + 1] == [Chip] and kinds[place + 1 : place + 2] != [Chip]
    shown = [Chip((paper.lab,), worded("on ", paper_words(paper))) for paper in papers]
    return [*blocks[:place], *shown, *blocks[place:]]


def _pencils(grounds: "Sequence[Ground]") -> list[Swatch]:
    """Every pencil that an answer may name."""
    return [swatch for ground in grounds for swatch in (*ground.swatches, *ground.uncoloured)]


def paper_data(paper: Paper | None) -> dict[str, Any] | None:
    """A paper in JSON."""
    if paper is None:
        return None
    return {
        "name": paper.name,
        "lab": list(paper.lab),
        "measured": paper.measured,
        "grain": paper.grain or None,
    }


def paper_words(paper: Paper) -> Figures:
    """A paper in one line."""
    colour = _colour_of(paper)
    named = "" if paper.name == colour else f"{paper.name}, "
    return worded(named, colour, f", {paper.grain} grain" if paper.grain else "")


def _colour_of(paper: Paper) -> Figures:
    """Its colour, and where a word stands for it, that it does."""
    stands = "" if paper.measured else ", by a word"
    return worded(colour_words(paper.lab), stands)


_FIELDS: list[RowField[PaperInDrawer]] = [
    only_shown("chip", lambda row: Chip((row.paper.lab,))),
    RowField("name", lambda row: row.paper.name, title="paper"),
    only_shown("colour", lambda row: _colour_of(row.paper), "colour"),
    RowField(
        "lab",
        lambda row: row.paper.lab,
        list,
        {"L": lambda lab: lab[0], "a": lambda lab: lab[1], "b": lambda lab: lab[2]},
    ),
    RowField("measured", lambda row: row.paper.measured),
    RowField(
        "grain",
        lambda row: row.paper.grain or None,
        shown=lambda grain: grain or "",
        title="grain",
    ),
    RowField(
        "former", lambda row: row.paper.former, list, {"former": lambda names: "; ".join(names)}
    ),
    RowField(
        "default",
        lambda row: row.paper.default,
        shown=lambda is_default: "default" if is_default else "",
    ),
    RowField("swatches", lambda row: row.swatches, title="swatches", number=True),
    RowField("samples", lambda row: row.samples, title="layered", number=True),
]


class _Fit(NamedTuple):
    """A layered swatch, its ΔE00 to the prediction before and after, and if it is set aside."""

    sample: "LayeredSample"
    before: float
    after: float
    outlier: bool


_AS_BEFORE = 1.1  # a misfit that nobody would see


def calibration_report(learnt: "Learnt", say: Say = str) -> Report:
    """JSON schema stopgap.calibration/1."""
    found, samples = learnt.calibration, learnt.samples
    data = {
        "tooth": found.tooth,
        "tooth_spread": found.spreads.tooth,
        "trapping": found.trapping,
        "trapping_spread": found.spreads.trapping,
        "pressures": dict(found.pressures),
        "opacity": {address: S.middle for address, S in found.opacity.items()},
        "opacity_between": {address: [S.low, S.high] for address, S in found.opacity.items()},
        "before": list(found.before),
        "after": list(found.after),
        "residual": found.residual,
        "misfit": found.spreads.misfit,
        "outliers": list(found.outliers),
    }
    outliers = (place in found.outliers for place in range(len(samples)))
    rows = list(map(_Fit, samples, found.before, found.after, outliers))
    mean_before, mean_after = (sum(values) / len(rows) for values in (found.before, found.after))
    loads = ", ".join(f"{name} {load:.2f}" for name, load in found.pressures.items())
    opacity = ", ".join(
        f"{address} {S.middle:.2f} ({S.low:.2f} to {S.high:.2f})"
        for address, S in found.opacity.items()
    )
    blocks: list[Block] = [
        Heading(f"Learnt from {len(rows)} layered swatches"),
        grid_of(_FIT_FIELDS, ("before", "after", "outlier", "sample"), rows),
        Paragraph(
            Figures(
                f"Mean ΔE00 {mean_before:.1f} before, {mean_after:.1f} after.",
                "Predictions now come nearer to them."
                if mean_after < mean_before
                else "Predictions come no nearer to them than before.",
            )
        ),
        Paragraph(
            Figures(f"Paper: {conditions_words(found.tooth, found.trapping)}; pressures: {loads}.")
        ),
        Paragraph(
            Figures(
                f"Opacity (0 is clear): {opacity}.",
                f"Learnt how well {len(found.opacity)} of your pencils cover.",
            )
            if opacity
            else "No pencil was laid over a darker one, so nothing was learnt of opacity."
        ),
        Paragraph(_misfit_words(found.spreads.misfit)),
        Paragraph(say(Note("Kept in the library.", Remedy.TAKE_BACK))),
    ]
    if found.outliers:
        blocks.append(
            Paragraph("The samples set aside contradict the others: lay them again.", mark="!")
        )
    cells = cells_of(_FIT_FIELDS, rows)
    return Report("stopgap.calibration/1", data, blocks, titles_of(_FIT_FIELDS), cells)


def _misfit_words(misfit: float) -> Figures:
    """How far one's own layers are to be expected from what is predicted, and what follows."""
    said = "are taken as this paper's and hand's"
    if _AS_BEFORE > misfit > 1.0 / _AS_BEFORE:
        plain = "Your layers were about as far off as was expected."
    elif misfit > 1.0:
        plain = "Your layers were farther off than was expected: predictions are now less sure."
    else:
        plain = "Your layers were nearer than was expected: predictions are now surer."
    return Figures(f"Errors {misfit:.2f} times as large as expected {said}.", plain)


def _sample_words(sample: "LayeredSample") -> str:
    return ", then ".join(f"{layer.swatch.address} {layer.pressure}" for layer in sample.stack)


_FIT_FIELDS: list[RowField[_Fit]] = [
    RowField(
        "sample",
        lambda fit: _sample_words(fit.sample),
        title="layered swatch",
    ),
    decimal("before", "before"),
    decimal("after", "after"),
    RowField("outlier", attrgetter("outlier"), shown=lambda is_one: "set aside" if is_one else ""),
]
