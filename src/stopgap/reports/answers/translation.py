"""The answer of `translate`: what to use for each colour of a list, stage by stage."""

from collections import Counter
from collections.abc import Sequence
from dataclasses import replace
from operator import attrgetter

from stopgap.planner import (
    BY_HUE,
    Asked,
    PassedOver,
    Trade,
    TranslatedRow,
    Translation,
)
from stopgap.reports.blocks import Block, Chip, Figures, Heading, Paragraph, Report, Say, remarks
from stopgap.reports.columns import (
    NOWHERE,
    RowField,
    cells_of,
    data_of,
    decimal,
    grid_of,
    key_cells,
    laid_cells,
    only_shown,
    plain,
    titles_of,
)
from stopgap.reports.terms import BY_HUE_WORDS, HOW_NEAR, nearness_words
from stopgap.reports.wording import stack_data, stack_words, target_data
from stopgap.swatches import LaidStack, fades_sooner

_WITHOUT_STAGE = "without a stage"
_WHY = {
    Trade.NEEDED: "needed elsewhere",
    Trade.ORDER: "which would not keep lighter what is lighter",
    Trade.TOGETHER: "since colours that are the same to the eye get one answer",
}
_COUNTED = {
    Trade.REPLACED: "to be replaced",
    Trade.LAYDOWN: "not known to lay better",
    Trade.CORE: "of another core",
    Trade.HUE: "of another hue",
    Trade.NEEDED: "needed elsewhere",
    Trade.ORDER: "against the order of lightness",
    Trade.TOGETHER: "one answer with a colour that is the same to the eye",
    Trade.TIME: "not looked at in the time",
}


def translation_report(found: Translation, say: Say = str, *, explain: bool = False) -> Report:
    """JSON schema stopgap.translate/1; `explain` tells people too what was traded."""
    fields = _fields(found)
    notes = remarks(found.notes, say)
    worst = found.worst
    return Report(
        "stopgap.translate/1",
        {
            "rows": data_of(fields, found.rows),
            "stages": [{"name": name, "rows": places} for name, places in found.stages.items()],
            "total": found.total,
            "mean": found.mean,
            "worst": worst.delta_E if worst else None,
            "proved": found.proved,
            "gap": found.gap,
            "notes": [note.text for note in notes],
            "paper": None,
            "marked": [],
        },
        [
            *_stage_blocks(found, fields, explain=explain),
            *_summary(found),
            *([Paragraph(_traded(found))] if explain else []),
            *notes,
        ],
        titles_of(fields),
        cells_of(fields, found.rows),
    )


def _stage_blocks(
    found: Translation, fields: Sequence[RowField[TranslatedRow]], *, explain: bool
) -> list[Block]:
    """The rows, stage by stage where the list has any."""
    blocks: list[Block] = []
    stages = found.stages
    for stage, places in (stages or {"": list(range(len(found.rows)))}).items():
        rows = [found.rows[place] for place in places]
        said = _explained if explain else _remarks
        grid = grid_of(fields, ("chips", "delta_E", "shown grade", "shown asked"), rows, said)
        if stages:
            blocks.append(Heading(stage or _WITHOUT_STAGE, whole=True))
        blocks.append(grid._replace(ticks=[f"{_asked_words(row)}: done" for row in rows]))
        blocks += [Paragraph("")] if stages else []
    return blocks


def _fields(found: Translation) -> list[RowField[TranslatedRow]]:
    impossible = {id(row) for row in found.impossible}
    return [
        only_shown("chips", _chips),
        only_shown("shown grade", nearness_words, HOW_NEAR),
        only_shown("shown asked", _asked_words, "asked, and what to use"),
        RowField("asked", _itself, _asked_data, {"asked": lambda row: row.asked.label}),
        RowField("asked keys", attrgetter("asked.target"), None, key_cells("asked")),
        RowField("label", lambda row: row.asked.caption),
        RowField("stage", lambda row: row.asked.stage or None),
        RowField("paper", lambda row: row.asked.paper or None),
        RowField("weight", lambda row: row.asked.weight, cells=NOWHERE),
        RowField("given", lambda row: row.given, _laid_data, {"given": _laid_words}),
        RowField("keys", lambda row: row.given, None, laid_cells()),
        decimal("delta_E", "ΔE00"),
        *plain("grade", "likely_grade", "grade_probability", "likely_probability", "words"),
        RowField("second", lambda row: row.second, _laid_data, {"second": _laid_words}),
        RowField("second keys", attrgetter("second"), None, laid_cells("second", "second_then")),
        *plain("second_delta_E"),
        RowField("tied", lambda row: row.tied, cells=NOWHERE),
        RowField("ranked_by", lambda row: BY_HUE if row.by_hue else "delta_E", cells=NOWHERE),
        *plain("cost_of_distinctness"),
        RowField("passed_over", attrgetter("passed_over"), _passed_data, _PASSED_CELLS),
        RowField("impossible", lambda row: id(row) in impossible, cells=NOWHERE),
        RowField("cautions", _fading, list, {"cautions": "; ".join}),
        RowField("note", lambda row: row.asked.note or row.reason),
    ]


def _fading(row: TranslatedRow) -> list[str]:
    """Which of the pencils given is known to fade sooner than the one asked for."""
    pencils = row.given.swatches if row.given else ()
    several = len(pencils) > 1
    return [
        f"{f'{one.address} ' if several else ''}{said}"
        for one in pencils
        if (said := fades_sooner(row.asked.target, one))
    ]


def _itself(row: TranslatedRow) -> TranslatedRow:
    return row


def _laid_data(laid: LaidStack | None) -> dict[str, object] | None:
    return stack_data(laid) if laid else None


def _laid_words(laid: LaidStack | None) -> str:
    return stack_words(laid) if laid else ""


def _asked_data(row: TranslatedRow) -> dict[str, object]:
    if row.asked.target is None:
        return {"label": row.asked.label, "lab": None}
    return target_data(row.asked.target)


def _asked_words(row: TranslatedRow) -> str:
    asked = f"{row.asked.label} {row.asked.caption}".strip()
    asked += f", on {row.asked.paper}" * bool(row.asked.paper)
    return f"{asked} ({row.asked.note})" if row.asked.note and row.given else asked


def _chips(row: TranslatedRow) -> Chip:
    labs = tuple(lab for lab in (row.asked.lab, row.given and row.given.lab) if lab)
    return Chip(labs, captions=("asked", "use")[: len(labs)])


def _remarks(row: TranslatedRow) -> Sequence[str]:
    if row.given is None:
        return [f"! {row.reason}"]
    said = [f"→ {stack_words(row.given)}", f"{_predicted(row.given)}{row.words}"]
    if row.promise is not None and row.promise.chance:
        said.append(row.promise.chance)
    said += [f"! {caution}" for caution in _fading(row)]
    said += [BY_HUE_WORDS] if row.by_hue else []
    traded = next((one for one in row.passed_over if one.why in _WHY), None)
    if traded is not None:
        nearer = stack_words(traded.laid)
        why = _WHY[traded.why]
        said.append(
            Figures(
                f"{traded.nearer:.1f} farther than {nearer}, {why}", f"{nearer} is nearer, {why}"
            )
        )
    elif row.second is not None and row.tied:
        said.append(f"≈ cannot be told apart from {stack_words(row.second)}")
    return said


def _explained(row: TranslatedRow) -> Sequence[str]:
    """The remarks, with what was passed over in place of what it cost."""
    passed = [
        Figures(
            f"passed over {stack_words(one.laid)}, {one.nearer:.1f} nearer: {_why(row, one)}",
            f"passed over {stack_words(one.laid)}, which is nearer: {_why(row, one).plain}",
        )
        for one in row.passed_over
    ]
    return [*_remarks(replace(row, passed_over=())), *passed]


def _why(row: TranslatedRow, passed: PassedOver) -> Figures:
    other = passed.other and (passed.other.caption or passed.other.label)
    match passed.why:
        case Trade.NEEDED:
            without = "" if passed.without is None else f", at best {passed.without:.1f} without it"
            needed = f"needed for {other}"
            return Figures(f"{needed} ({passed.there:.1f} there{without})", needed)
        case Trade.ORDER:
            lighter = _lightness(row.asked) > _lightness(passed.other)
            order = f"would not come out {'lighter' if lighter else 'darker'} than {other}"
            return Figures(order, order)
        case Trade.TOGETHER:
            also = f"one answer also for {other}"
            return Figures(f"{also}, which it is {passed.there:.1f} from", also)
        case why:
            return Figures(_ALONE[why], _ALONE[why])


def _lightness(asked: Asked | None) -> float:
    return asked.lab[0] if asked and asked.lab else 0.0


_ALONE = {
    Trade.REPLACED: "it is to be replaced",
    Trade.LAYDOWN: "it is not known to lay better",
    Trade.CORE: "of another core, and no nearer in words",
    Trade.HUE: "of another hue, and nothing is near",
    Trade.TIME: "the time ran out before it was tried",
}


def _traded(found: Translation) -> str:
    """What was traded in the whole list, and why."""
    rows = [row for row in found.rows if row.passed_over]
    if not rows:
        return "Nothing was traded: each colour gets its nearest."
    nearer = [row.passed_over[0].nearer for row in rows]
    whys = Counter(row.passed_over[0].why for row in rows)
    counted = ", ".join(f"{_COUNTED[why]} {count}" for why, count in whys.most_common())
    many = f"Traded: for {len(rows)} of {len(found.rows)} colours something nearer was passed over"
    return Figures(
        f"{many}, by {max(nearer):.1f} at most and {sum(nearer):.1f} ΔE in all ({counted}).",
        f"{many} ({counted}).",
    )


def _passed_data(passed: Sequence[PassedOver]) -> list[dict[str, object]]:
    return [
        {
            "laid": stack_data(one.laid),
            "delta_E": one.delta_E,
            "nearer": one.nearer,
            "why": str(one.why),
            "for": one.other
            and {"label": one.other.label, "delta_E": one.there, "without": one.without},
        }
        for one in passed
    ]


_PASSED_CELLS = {
    "passed_over": lambda passed: stack_words(passed[0].laid) if passed else "",
    "passed_over_for": lambda passed: str(passed[0].why) if passed else "",
}


def _predicted(laid: LaidStack) -> str:
    return "predicted: " if laid.recipe else ""


def _summary(found: Translation) -> list[Block]:
    blocks: list[Block] = []
    if found.mean is not None and found.worst is not None:
        blocks.append(
            Paragraph(
                Figures(
                    f"Weighted mean ΔE {found.mean:.1f}; the worst is {found.worst.delta_E:.1f}, "
                    f"{found.worst.asked.label}.",
                    f"The worst is {found.worst.asked.label}: {nearness_words(found.worst)}.",
                )
            )
        )
    if found.impossible:
        names = ", ".join(row.asked.label for row in found.impossible)
        blocks.append(Paragraph(f"Cannot really be had: {names}.", mark="!"))
    if not found.proved:
        ran_out = "The time ran out before this was proved to be best"
        most = f"{ran_out}: another answer may be nearer by {found.gap:.1f} in sum at most."
        blocks.append(Paragraph(Figures(most, f"{ran_out}."), mark="!"))
    return blocks
