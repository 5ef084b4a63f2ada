"""How candidates rank for a target, which of them may be the nearest, and what is said of each.

Any number of targets are described together, since one by one that would take most of the time.
"""

from collections.abc import Iterator, Sequence
from itertools import groupby
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from stopgap.arrays import Booleans, Floats, Integers
from stopgap.defaults import METRIC
from stopgap.difference import (
    delta_E,
    delta_E_ciede2000,
    grade,
    metric_name,
    signed_differences,
    words_of_differences,
)
from stopgap.planner.doubt import (
    grade_chances,
    nearest_probabilities,
    upper_bounds,
)
from stopgap.planner.materials import labs_of
from stopgap.planner.nearness import (
    BY_HUE,
    FAR,
    core_first,
    hue_keeping_difference,
    laid_besides,
    recipes_lead,
    recipes_lead_by_hue,
)
from stopgap.planner.stand_ins.answer import Likely, StandIn, cautions_beside
from stopgap.planner.winning import tied_group
from stopgap.swatches import Swatch, Target

if TYPE_CHECKING:
    from stopgap.layering import Recipe


BY_DELTA_E = "delta_E"


class Ranking(NamedTuple):
    """Candidates (n,) by row: ΔE in the metric that ranks, ΔE00, and what a limit is held against,
    which is the bound of ΔE00 where ranking is cautious. `order` are the rows, the first first.
    `by_hue` is their `hue_keeping_difference` where that may rank, `alike` who has the core of a
    target that is replaced for its laydown.
    """

    delta_E: Floats
    delta_E00: Floats
    reach: Floats
    order: Integers
    ranked_by: str
    by_hue: Floats | None = None
    alike: Booleans | None = None

    @property
    def nearest(self) -> float:
        """The least ΔE00."""
        return float(self.delta_E00.min())

    def beside(self, recipes: "Sequence[Recipe]") -> "Ranking":
        """By hue, unless one of these recipes is near; else what is of one core first."""
        if self.by_hue is None or any(recipe.delta_E <= FAR for recipe in recipes):
            order = self.order
            if self.alike is not None:
                order = np.argsort(core_first(self.reach, self.alike), kind="stable")
            return self._replace(by_hue=None, order=order)
        return self._replace(order=np.argsort(self.by_hue, kind="stable"), ranked_by=BY_HUE)

    def led_by(self, recipes: "Sequence[Recipe]", target: Target) -> bool:
        """Whether some recipe promises more than every candidate."""
        if self.by_hue is None:
            return recipes_lead(recipes, self.nearest)
        return recipes_lead_by_hue(target.lab, recipes, float(self.by_hue.min()))


def rank(
    target: Target,
    candidates: Sequence[Swatch],
    metric: str,
    *,
    cautious: bool,
    without: int | None = None,
    lab: Floats | None = None,
) -> Ranking:
    """Candidates in the order of a metric, or of the bound of ΔE00 where that is `cautious`; the
    one in the row `without`, which is the target itself, comes last and counts for nothing. `lab`
    are their colours (n, 3), where somebody has them at hand.
    """
    lab = labs_of(candidates) if lab is None else lab
    differences = delta_E(target.lab, lab, metric)
    default = metric_name(metric) == METRIC
    delta_E00 = differences if default else delta_E_ciede2000(target.lab, lab)
    if without is not None:
        differences[without] = delta_E00[without] = np.inf
    if cautious:
        reach = upper_bounds([target], candidates)
        if without is not None:
            reach[without] = np.inf
        return Ranking(differences, delta_E00, reach, np.argsort(reach, kind="stable"), "upper")
    order = np.argsort(differences, kind="stable")
    far = default and delta_E00.min() > FAR
    by_hue = hue_keeping_difference(target.lab, lab) if far else None
    if by_hue is not None and without is not None:
        by_hue[without] = np.inf
    return Ranking(differences, delta_E00, differences, order, BY_DELTA_E, by_hue)


class Ranked(NamedTuple):
    """One target, the rows of the candidates that are `near` enough, the first first, and how far
    each of these is. `besides` says that what they lay like beside their colour is told.
    """

    target: Target
    near: Integers
    delta_E: Floats
    delta_E00: Floats
    ranked_by: str
    besides: bool = False

    @classmethod
    def of(cls, target: Target, ranking: Ranking, near: Integers) -> "Ranked":
        """Those near in a ranking of all candidates."""
        apart = ranking.delta_E[near], ranking.delta_E00[near]
        return cls(target, near, *apart, ranking.ranked_by, ranking.alike is not None)

    def first(self, limit: int) -> "Ranked":
        """The same with no more than that many near."""
        few = slice(limit)
        return self._replace(
            near=self.near[few], delta_E=self.delta_E[few], delta_E00=self.delta_E00[few]
        )


class Nearest(NamedTuple):
    """The first of those near, and which of all of these are likely the nearest."""

    matches: tuple[StandIn, ...]
    likely: tuple[Likely, ...]


def describe(asked: Sequence[Ranked], candidates: Sequence[Swatch], limit: int) -> list[Nearest]:
    """For each target its first `limit` stand-ins.

    Uncertainties, ties and grades are stated in ΔE00, whatever metric ranks.
    """
    found = [Nearest((), ())] * len(asked)
    stand_ins = _stand_ins(asked, candidates, limit)
    matches = [[next(stand_ins) for _ in one.near[:limit]] for one in asked]
    for some in equally_many(asked):
        shown = [matches[place] for place in some]
        those = _chances([asked[place] for place in some], candidates, shown)
        for place, described in zip(some, those, strict=True):
            found[place] = described
    return found


def equally_many(asked: Sequence[Ranked]) -> Iterator[list[int]]:
    """The places of targets that have equally many candidates near, and any at all."""
    count = [len(one.near) for one in asked]
    places = sorted(filter(count.__getitem__, range(len(asked))), key=count.__getitem__)
    for _, alike in groupby(places, key=count.__getitem__):
        yield list(alike)


def _chances(
    asked: Sequence[Ranked],
    candidates: Sequence[Swatch],
    shown: Sequence[Sequence[StandIn]],
) -> Iterator[Nearest]:
    """Stand-ins of targets that have equally many candidates near, with their probabilities."""
    # sorted, so that the order asked for decides nothing
    competing = np.sort([one.near for one in asked], axis=1)
    targets = [one.target for one in asked]
    probabilities = nearest_probabilities(targets, candidates, competing)
    tied = tied_group(probabilities)
    for one, rows, chances, alike, its in zip(
        asked, competing, probabilities, tied, shown, strict=True
    ):
        likeliest = np.argsort(-chances, kind="stable")
        likeliest = likeliest[alike[likeliest] | (likeliest == likeliest[0])]
        likely = tuple(Likely(candidates[rows[at]], float(chances[at])) for at in likeliest)
        matches = tuple(
            each._replace(probability=float(chances[at]), tied=bool(alike[at]))
            for each, at in zip(its, np.searchsorted(rows, one.near[: len(its)]), strict=True)
        )
        yield Nearest(matches, likely if len(rows) > 1 else ())


def _stand_ins(
    asked: Sequence[Ranked], candidates: Sequence[Swatch], limit: int
) -> Iterator[StandIn]:
    """The first few of each target, and how they are off, one after the other."""
    pairs = [(one, at) for one in asked for at in range(len(one.near[:limit]))]
    targets = [one.target for one, _ in pairs]
    swatches = [candidates[one.near[at]] for one, at in pairs]
    asked_labs, labs = labs_of(targets), labs_of(swatches)
    apart, words = signed_differences(asked_labs, labs), words_of_differences(asked_labs, labs)
    for (one, at), swatch, sure, told, L, C, H in zip(
        pairs,
        swatches,
        grade_chances(targets, swatches).tolist(),
        words,
        *(part.tolist() for part in apart),
        strict=True,
    ):
        target = one.target
        yield StandIn(
            swatch=swatch,
            delta_E=float(one.delta_E[at]),
            grade=grade(float(one.delta_E00[at])),
            delta_L=L,
            delta_C=C,
            delta_H=H,
            words=told,
            tied=False,
            cautions=cautions_beside(target, swatch),
            target=target,
            grade_probability=sure,
            besides=laid_besides(target, swatch) if one.besides else "",
        )
