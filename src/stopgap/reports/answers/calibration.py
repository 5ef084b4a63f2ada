"""The answer of `calibrate`: what was learnt from layered swatches."""

from stopgap.errors import Note, Remedy
from stopgap.layering import LayeredSample
from stopgap.planner import Learnt
from stopgap.reports.blocks import Block, Column, Grid, Heading, Paragraph, Report, Say


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
    rows = [
        (_sample_words(sample), before, after, place in found.outliers)
        for place, (sample, before, after) in enumerate(
            zip(samples, found.before, found.after, strict=True)
        )
    ]
    columns = [
        Column("before", number=True),
        Column("after", number=True),
        Column(""),
        Column("layered swatch"),
    ]
    cells = [
        [f"{before:.1f}", f"{after:.1f}", "set aside" if outlier else "", words]
        for words, before, after, outlier in rows
    ]
    mean_before, mean_after = (sum(values) / len(rows) for values in (found.before, found.after))
    loads = ", ".join(f"{name} {load:.2f}" for name, load in found.pressures.items())
    opacity = ", ".join(
        f"{address} {S.middle:.2f} ({S.low:.2f} to {S.high:.2f})"
        for address, S in found.opacity.items()
    )
    blocks: list[Block] = [
        Heading(f"Learnt from {len(rows)} layered swatches"),
        Grid(columns, cells),
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
    names = ("sample", "before", "after", "outlier")
    return Report("stopgap.calibration/1", data, blocks, names, rows)


def _sample_words(sample: LayeredSample) -> str:
    return ", then ".join(f"{layer.swatch.address} {layer.pressure}" for layer in sample.stack)
