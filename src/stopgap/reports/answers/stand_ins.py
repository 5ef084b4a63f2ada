"""The report of `match`."""

from collections.abc import Sequence

from stopgap.planner import StandIn, StandIns, UnderLight
from stopgap.reports.blocks import Block, Chip, Column, Grid, Heading, Paragraph, Report
from stopgap.reports.data import swatch_data, target_data
from stopgap.reports.remarks import Say
from stopgap.reports.words import swatch_words, target_words


def stand_ins_report(answer: StandIns, say: Say = str) -> Report:
    """Stand-ins, nearest first: JSON schema stopgap.match/1."""
    notes = [say(note) for note in answer.notes]
    data = {
        "target": target_data(answer.target),
        "metric": answer.metric,
        "matches": [_match_data(match) for match in answer.matches],
        "layers": _layers_data(answer),
        "notes": notes,
    }
    return Report(
        schema="stopgap.match/1",
        data=data,
        blocks=_blocks(answer, notes),
        columns=_CSV_COLUMNS,
        rows=[_csv_row(match) for match in answer.matches],
    )


def light_words(light: UnderLight) -> str:
    """What a lamp does to a match, in one line."""
    about = "about " if light.interval else ""
    span = f" ({light.interval[0]:.1f} to {light.interval[1]:.1f})" if light.interval else ""
    parts = ", parts" if light.parts else ""
    return (
        f"under {light.illuminant}: {about}ΔE00 {light.delta_E:.1f}{span}, "
        f"metamerism index {light.metamerism:.1f}{parts}"
    )


_CSV_COLUMNS = (
    "range",
    "code",
    "name",
    "owned",
    "status",
    "L",
    "a",
    "b",
    "delta_E",
    "grade",
    "delta_L",
    "delta_C",
    "delta_H",
    "words",
    "sigma",
    "tied",
    "cautions",
    "upper",
    "probability",
    "under",
)


def _match_data(match: StandIn) -> dict[str, object]:
    return {
        "swatch": swatch_data(match.swatch),
        "delta_E": match.delta_E,
        "grade": match.grade,
        "delta_L": match.delta_L,
        "delta_C": match.delta_C,
        "delta_H": match.delta_H,
        "words": match.words,
        "sigma": match.sigma,
        "tied": match.tied,
        "cautions": list(match.cautions),
        "upper": match.upper,
        "probability": match.probability,
        "under": [light._asdict() for light in match.under],
    }


def _csv_row(match: StandIn) -> tuple[object, ...]:
    swatch = match.swatch
    return (
        swatch.range,
        swatch.code,
        swatch.name,
        swatch.owned,
        str(swatch.status),
        *swatch.lab,
        match.delta_E,
        match.grade,
        match.delta_L,
        match.delta_C,
        match.delta_H,
        match.words,
        match.sigma,
        match.tied,
        "; ".join(match.cautions),
        match.upper,
        match.probability,
        "; ".join(map(light_words, match.under)),
    )


def _blocks(answer: StandIns, notes: Sequence[str]) -> list[Block]:
    title = "ΔE00" if answer.metric == "CIE 2000" else answer.metric
    columns = [
        Column(""),
        Column(""),
        Column(title, number=True),
        Column("±", number=True),
        Column("grade"),
        Column("stand-in, and how it is off"),
    ]
    rows = [
        [
            Chip((answer.target.lab, match.swatch.lab), captions=("target", "stand-in")),
            "≈" if match.tied else "",
            f"{match.delta_E:.1f}",
            f"{match.sigma:.1f}",
            match.grade,
            swatch_words(match.swatch),
        ]
        for match in answer.matches
    ]
    remarks = {
        place: [
            match.words,
            *(light_words(light) for light in match.under),
            *(f"! {caution}" for caution in match.cautions),
        ]
        for place, match in enumerate(answer.matches)
    }
    return [
        Heading("Stand-ins for"),
        Chip((answer.target.lab,), target_words(answer.target)),
        Paragraph(""),
        *([Grid(columns, rows, remarks)] if rows else []),
        *(Paragraph(note, mark="·") for note in notes),
        *_layers_blocks(answer),
    ]


def _layers_data(answer: StandIns) -> list[dict[str, object]]:
    if not answer.layers:
        return []
    from stopgap.reports.answers.layers import recipe_data

    return [recipe_data(recipe) for recipe in answer.layers]


def _layers_blocks(answer: StandIns) -> list[Block]:
    if not answer.layers:
        return []
    from stopgap.reports.answers.layers import recipe_blocks

    return recipe_blocks(answer.target.lab, answer.layers)
