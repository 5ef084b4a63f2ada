"""The shopping list as a mixed-integer programme.

One whole variable an offer says whether it is bought. Each blend is one unit of flow from its start
to its end over the steps of its passage; each listed colour is one unit shared among its ways. What
needs an offer cannot carry more than the variable of that offer. Only the offers are whole: once
they are, a unit of flow always splits into chains, and the best of them is as good.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from stopgap.arrays import Booleans, Floats, Integers
from stopgap.planner.chains import excess, needless, on_some_chain
from stopgap.planner.shopping.blend_graph import Passage
from stopgap.planner.shopping.listed_colour import NOTHING_AT_ALL, Choice
from stopgap.planner.solver import Programme


@dataclass(frozen=True, slots=True)
class Model:
    """`shortfall` is the objective of what stays open, `steps` the ΔE of each flow variable."""

    programme: Programme
    offers: Integers
    shortfall: Floats
    steps: Floats

    def objective(self, per_offer: Floats) -> Floats:
        """An objective that counts what is bought."""
        whole = np.zeros(self.programme.size)
        whole[self.offers] = per_offer
        return whole


def model_of(
    passages: Sequence[Passage], choices: Sequence[Choice], n_offers: int, *, may_stay_open: bool
) -> Model:
    """The programme of needs that can be met; with `may_stay_open` at the price of a shortfall."""
    programme = Programme()
    offers = programme.add_variables(n_offers, whole=True)
    shortfall, steps = [np.zeros(n_offers)], [np.zeros(n_offers)]
    for passage in passages:
        over, lengths = _add_passage(programme, offers, passage, may_stay_open)
        shortfall.append(over)
        steps.append(lengths)
    for choice in choices:
        over = _add_choice(programme, offers, choice, may_stay_open)
        shortfall.append(over)
        steps.append(np.zeros(len(over)))
    return Model(programme, offers, np.concatenate(shortfall), np.concatenate(steps))


def _add_passage(
    programme: Programme, offers: Integers, passage: Passage, may_stay_open: bool
) -> tuple[Floats, Floats]:
    """Shortfall and step of each variable added: the flow on each step, then "not at all"."""
    limit = passage.need.step
    steps = passage.steps
    if not may_stay_open:
        steps = np.where(steps <= limit, steps, np.inf)
    free = passage.available(np.zeros(len(offers), dtype=bool))
    steps = np.where(needless(steps, limit, free), np.inf, steps)
    source, target = np.nonzero(on_some_chain(steps))
    lengths = steps[source, target]
    flow = programme.add_variables(len(lengths))
    open_ = programme.add_variables(1 if may_stay_open else 0)
    _conserve(programme, flow, open_, source, target, len(passage.stops))
    _need_offers(programme, offers, passage, flow, source, target)
    weight = passage.need.weight
    not_at_all = np.full(len(open_), weight * passage.without_end)
    over = np.concatenate([weight * excess(lengths, limit), not_at_all])
    return over, np.concatenate([lengths, np.zeros(len(open_))])


def _conserve(
    programme: Programme,
    flow: Integers,
    open_: Integers,
    source: Integers,
    target: Integers,
    n_stops: int,
) -> None:
    """One unit leaves the start, or the blend stays open; what comes to a stop leaves it."""
    balance = np.zeros(n_stops - 1)
    balance[0] = 1.0
    inner = target < n_stops - 1
    programme.add_rows(
        np.concatenate([source, target[inner], np.zeros(len(open_), dtype=np.intp)]),
        np.concatenate([flow, flow[inner], open_]),
        np.concatenate([np.ones(len(flow)), -np.ones(inner.sum()), np.ones(len(open_))]),
        balance,
        balance,
    )


def _need_offers(
    programme: Programme,
    offers: Integers,
    passage: Passage,
    flow: Integers,
    source: Integers,
    target: Integers,
) -> None:
    """What passes a stop is no more than the variable of each offer that the stop takes."""
    for stop, missing in enumerate(passage.missing):
        through = flow[(source if stop == 0 else target) == stop]
        for offer in missing or ():
            if len(through):
                _no_more_than(programme, through, offers[offer])


def _no_more_than(programme: Programme, parts: Integers, whole: np.intp) -> None:
    values = np.append(np.ones(len(parts)), -1.0)
    programme.add_row(np.append(parts, whole), values, -np.inf, 0.0)


def _add_choice(
    programme: Programme, offers: Integers, choice: Choice, may_stay_open: bool
) -> Floats:
    """Shortfall of each variable added: the share of each way, then "not at all"."""
    over = excess(choice.delta_E, choice.need.tolerance)
    useful = np.flatnonzero(_useful(choice, over, may_stay_open))
    share = programme.add_variables(len(useful))
    open_ = programme.add_variables(1 if may_stay_open else 0)
    every = np.concatenate([share, open_])
    programme.add_row(every, np.ones(len(every)), 1.0, 1.0)
    taking: dict[int, list[np.intp]] = {}
    for place, way in zip(share, useful):
        for offer in choice.missing[way]:
            taking.setdefault(offer, []).append(place)
    for offer, places in sorted(taking.items()):
        _no_more_than(programme, np.array(places, dtype=np.intp), offers[offer])
    nothing = np.full(len(open_), NOTHING_AT_ALL)
    return choice.need.weight * np.concatenate([over[useful], nothing])


def _useful(choice: Choice, over: Floats, may_stay_open: bool) -> Booleans:
    """Ways within the tolerance; if it may stay open, all as far as the nearest that is there."""
    if not may_stay_open:
        within: Booleans = over == 0.0
        return within
    there = np.array([not offers for offers in choice.missing], dtype=bool)
    if not there.any():
        return np.ones(len(over), dtype=bool)
    nearest: Booleans = np.arange(len(over)) <= there.argmax()
    return nearest
