"""The answer of `calibrate`: what was learnt from layered swatches."""

from operator import attrgetter
from typing import NamedTuple

from stopgap.errors import Note, Remedy
from stopgap.layering import LayeredSample
from stopgap.planner import Learnt
from stopgap.reports.blocks import Block, Heading, Paragraph, Report, Say
from stopgap.reports.columns import RowField, cells_of, decimal, grid_of, titles_of


class _Fit(NamedTuple):
    """A layered swatch, its ΔE00 to the prediction before and after, and if it is set aside."""

    sample: LayeredSample
    before: float
    after: float
    outlier: bool


def calibration_report(learnt: Learnt, say: Say = str) -> Report:
    """JSON schema stopgap.calibration/1."""
    found, samples = learnt.calibration, learnt.samples
    data = {
        "tooth": found.tooth,
        "tooth_spread": found.tooth_spread,
        "pressures": dict(found.pressures),
        "opacity": {address: S.middle for address, S in found.opacity.items()},
        "opacity_between": {address: [S.low, S.high] for address, S in found.opacity.items()},
        "before": list(found.before),
        "after": list(found.after),
        "residual": found.residual,
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
        grid_of(_FIELDS, ("before", "after", "outlier", "sample"), rows),
        Paragraph(f"Mean ΔE00 {mean_before:.1f} before, {mean_after:.1f} after."),
        Paragraph(f"Tooth of the paper n = {found.tooth:.2f}; pressures: {loads}."),
        Paragraph(
            f"Opacity (0 is clear): {opacity}."
            if opacity
            else "No pencil was laid over a darker one, so nothing was learnt of opacity."
        ),
        Paragraph(say(Note("Kept in the library.", Remedy.TAKE_BACK))),
    ]
    if found.outliers:
        blocks.append(
            Paragraph("The samples set aside contradict the others: lay them again.", mark="!")
        )
    cells = cells_of(_FIELDS, rows)
    return Report("stopgap.calibration/1", data, blocks, titles_of(_FIELDS), cells)


def _sample_words(sample: LayeredSample) -> str:
    return ", then ".join(f"{layer.swatch.address} {layer.pressure}" for layer in sample.stack)


_FIELDS: list[RowField[_Fit]] = [
    RowField(
        "sample",
        lambda fit: _sample_words(fit.sample),
        title="layered swatch",
    ),
    decimal("before", "before"),
    decimal("after", "after"),
    RowField("outlier", attrgetter("outlier"), shown=lambda is_one: "set aside" if is_one else ""),
]
