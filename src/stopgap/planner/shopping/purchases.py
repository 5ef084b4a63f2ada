"""Each pencil of a list, by itself or in a set, and what it is for."""

from collections.abc import Sequence

from stopgap.planner.shopping.answer import NeedAnswer, Purchase
from stopgap.planner.shopping.offers import DoNotBuy, Offer, SetOffer
from stopgap.swatches import Swatch


def purchases_of(
    singly: Sequence[Offer],
    sets: Sequence[SetOffer],
    offers: Sequence[Offer],
    answers: Sequence[NeedAnswer],
    same: Sequence[DoNotBuy],
) -> tuple[Purchase, ...]:
    """What is bought by itself and what in sets, each pencil once, what for, and its like owned."""
    in_sets = {place: one.name for one in sets for place in one.gives}
    given = {offers[place].swatch.address for place in in_sets}
    bought = [(one, "") for one in singly if one.swatch.address not in given]
    bought += [(offers[place], name) for place, name in in_sets.items()]
    return tuple(
        Purchase(
            offer.swatch,
            None if in_set else offer.price,
            offer.assumed and not in_set,
            purposes_of(offer.swatch, answers),
            tuple(one.owned for one in same if one.swatch is offer.swatch),
            in_set,
        )
        for offer, in_set in bought
    )


def purposes_of(swatch: Swatch, answers: Sequence[NeedAnswer]) -> tuple[str, ...]:
    """The labels of the needs that are laid with the pencil."""
    return tuple(
        answer.need.label
        for answer in answers
        if answer.after is not None
        and any(swatch.address in stack.addresses for stack in answer.after.stacks)
    )
