"""Reports of the user's own arrangements, and of what another order in them would gain."""

from collections.abc import Sequence
from math import isfinite
from operator import attrgetter

from stopgap.blends import WORTH_IT, DoubtKind, FilingDoubt, FittingPlace, Tidied
from stopgap.defaults import STEPS
from stopgap.errors import Note, Remedy
from stopgap.library import KeptArrangement
from stopgap.reports.blocks import Block, Figures, Heading, Paragraph, Report, Say, remarks, worded
from stopgap.reports.columns import RowField, cells_of, data_of, grid_of, only_shown, titles_of
from stopgap.reports.wording import swatch_words
from stopgap.swatches import OwnPlace, Swatch


def arrangements_report(kept: Sequence[KeptArrangement], say: Say = str) -> Report:
    """JSON schema stopgap.arrangements/1: those of the library, and which is in use."""
    if kept:
        blocks: list[Block] = [
            grid_of(_OF_KEPT, ("name", "families", "pencils", "by_hand", "step", "use"), kept)
        ]
        if not any(one.in_use for one in kept):
            blocks.append(Paragraph("The tool's proposal is in use."))
    else:
        text = "You have no arrangement yet; families are the tool's proposal."
        blocks = [Paragraph(say(Note(text, Remedy.ARRANGE)))]
    return Report(
        "stopgap.arrangements/1",
        {"arrangements": data_of(_OF_KEPT, kept)},
        blocks,
        titles_of(_OF_KEPT),
        cells_of(_OF_KEPT, kept),
    )


def _places(one: KeptArrangement) -> list[OwnPlace]:
    return [place for family in one.arrangement.families for place in family.places]


def _step_words(step: float | None) -> str:
    """A step as it may be typed."""
    named = {value: word for word, value in STEPS.items()}
    return "" if step is None else named.get(step, f"{step:g}")


_OF_KEPT: list[RowField[KeptArrangement]] = [
    RowField("name", lambda one: one.arrangement.name, title="arrangement"),
    RowField("families", lambda one: len(one.arrangement.families), title="families", number=True),
    RowField("pencils", lambda one: len(_places(one)), title="pencils", number=True),
    RowField(
        "by_hand",
        lambda one: sum(place.by_hand for place in _places(one)),
        title="by you",
        number=True,
    ),
    RowField("in_use", attrgetter("in_use")),
    RowField("fills", lambda one: one.arrangement.fills),
    RowField("step", lambda one: one.arrangement.step, shown=_step_words, title="step"),
    only_shown("use", lambda one: "in use" if one.in_use else "", ""),
]


def tidy_report(found: Sequence[Tidied], say: Say = str) -> Report:
    """JSON schema stopgap.tidy/1: what a new order of each family would gain."""
    other = [one for one in found if one.before != one.after and one.gain > 0.0]
    worth = [one.family for one in found if one.gain > WORTH_IT]
    note = Note(f"A new order gains more than a tenth in {', '.join(worth)}.", Remedy.SORT_FAMILY)
    return Report(
        "stopgap.tidy/1",
        {"families": data_of(_OF_TIDIED, found)},
        [
            *([grid_of(_OF_TIDIED, ("family", "largest", "sum"), other)] if other else []),
            *remarks([note if worth else Note("No new order gains more than a tenth.")], say),
        ],
        titles_of(_OF_TIDIED),
        cells_of(_OF_TIDIED, found),
    )


_OF_TIDIED: list[RowField[Tidied]] = [
    RowField("family", attrgetter("family"), title="family"),
    RowField("largest_step", lambda one: max(one.before)),
    RowField("largest_step_then", lambda one: max(one.after)),
    RowField("total", lambda one: sum(one.before)),
    RowField("total_then", lambda one: sum(one.after)),
    RowField(
        "order", lambda one: [swatch.address for swatch in one.order], cells={"order": " ".join}
    ),
    only_shown(
        "largest",
        lambda one: f"{max(one.before):.1f} → {max(one.after):.1f}",
        Figures("largest step"),
    ),
    only_shown(
        "sum", lambda one: f"{sum(one.before):.1f} → {sum(one.after):.1f}", Figures("sum of steps")
    ),
]


_KINDS: dict[DoubtKind, str] = {
    DoubtKind.ODD: "Pencils that another family may fit better",
    DoubtKind.STEP: "Gaps inside a family",
    DoubtKind.BACK: "Lightness that goes back",
    DoubtKind.LABEL: "Labels that mislead",
    DoubtKind.JOIN: "Families that two more pencils would join",
}


def filing_check_report(found: Sequence[FilingDoubt], say: Say = str) -> Report:
    """JSON schema stopgap.filing_check/1: what in families may want another look."""
    blocks: list[Block] = []
    for kind, title in _KINDS.items():
        own = [doubt for doubt in found if doubt.kind is kind]
        if own:
            blocks += [Heading(f"{title}: {len(own)}"), *(_doubt(doubt) for doubt in own)]
            blocks.append(Paragraph(""))
    if not blocks:
        blocks.append(Paragraph("Nothing here wants another look."))
    odd = any(doubt.kind is DoubtKind.ODD for doubt in found)
    if odd:
        note = Note("These are proposals: your eye decides.", Remedy.FILE_PENCIL)
        blocks += remarks([note], say)
    return Report(
        "stopgap.filing_check/1",
        {"doubts": data_of(_OF_DOUBT, found)},
        blocks,
        titles_of(_OF_DOUBT),
        cells_of(_OF_DOUBT, found),
    )


def _doubt(doubt: FilingDoubt) -> Paragraph:
    named = [swatch_words(swatch) for swatch in doubt.pencils]
    match doubt.kind:
        case DoubtKind.ODD:
            offers = list(map(offer_words, doubt.offers))
            places = Figures("; ".join(offers), "; ".join(offer.plain for offer in offers))
            claimed = f", its label says {doubt.word}" if doubt.word else ""
            text = worded(
                f"{named[0]}, in {doubt.family}{claimed}. Least badly ",
                places or "nowhere yet",
                ".",
            )
        case DoubtKind.STEP:
            step = Figures(f"{doubt.amount:.1f}", "a gap")
            text = worded(f"{doubt.family}: ", step, f" from {named[0]} to {named[1]}.")
        case DoubtKind.BACK:
            by = Figures(f"{doubt.amount:.0f} L* ")
            text = worded(f"{doubt.family}: {named[1]} is ", by, f"lighter than {named[0]}.")
        case DoubtKind.LABEL:
            text = worded(f"{named[0]}, in {doubt.family}: one would not call it {doubt.word}.")
        case DoubtKind.JOIN:
            joining = " and ".join(map(swatch_words, doubt.joining))
            apart = Figures(f", {doubt.amount:.1f} apart")
            text = worded(f"{doubt.family} and {doubt.word}", apart, f": {joining}.")
    return Paragraph(text, mark="·")


def offer_words(offer: FittingPlace) -> Figures:
    """A place for a pencil: `reds, between A and B: 6.1 and 4.8`; `wines, at the end of …`."""
    steps = " and ".join(f"{step:.1f}" for step in offer.steps)
    if offer.after is not None and offer.before is not None:
        beside = f"between {offer.after.address} and {offer.before.address}"
    elif offer.after is not None:
        beside = f"at the end, after {offer.after.address}"
    elif offer.before is not None:
        beside = f"at the head, before {offer.before.address}"
    else:
        return worded(f"{offer.family}, alone")
    return worded(f"{offer.family}, {beside}", Figures(f": {steps}"))


def _address(swatch: Swatch | None) -> str | None:
    return None if swatch is None else swatch.address


def _offer_data(offer: FittingPlace) -> dict[str, object]:
    return {
        "family": offer.family,
        "after": _address(offer.after),
        "before": _address(offer.before),
        "steps": list(offer.steps),
    }


_OF_DOUBT: list[RowField[FilingDoubt]] = [
    RowField("kind", lambda doubt: str(doubt.kind)),
    RowField("family", attrgetter("family")),
    RowField(
        "pencils",
        lambda doubt: [swatch.address for swatch in doubt.pencils],
        cells={"pencils": "; ".join},
    ),
    RowField("amount", lambda doubt: doubt.amount if isfinite(doubt.amount) else None),
    RowField("word", attrgetter("word")),
    RowField(
        "offers",
        attrgetter("offers"),
        lambda offers: [_offer_data(offer) for offer in offers],
        {"offers": lambda offers: "; ".join(map(offer_words, offers))},
    ),
    RowField(
        "joining",
        lambda doubt: [swatch.address for swatch in doubt.joining],
        cells={"joining": "; ".join},
    ),
]
