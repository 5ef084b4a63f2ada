"""Layering recipes: which pencils, which first, how hard, and how sure."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from stopgap.arrays import Floats, FloatsLike, Integers, blocks, distinct_rows, renumbered
from stopgap.difference import COVERAGE_FACTOR, DEFAULT_METRIC, DifferenceFunction, Promise
from stopgap.layering.alternatives import Alternatives, alternatives
from stopgap.layering.estimates import SPREADS
from stopgap.layering.intervals import Uncertainty, spread
from stopgap.layering.palette import Palette
from stopgap.layering.prediction import LayersAsked, question
from stopgap.layering.recipe_search import Found, Progress, search
from stopgap.layering.stack_prediction import cautions
from stopgap.swatches import LaidStack, Layer, Spreads, Stack

_TILE = 32  # layings beneath and above that come together
_AT_ONCE = 4096  # recipes whose uncertainty is worked out together: 60 MB


@dataclass(frozen=True, slots=True)
class Recipe:
    """One or two layers, and the colour they are expected to have.

    `delta_E` is to the target; `interval` is where it lies for nine in ten who lay it, `typical`
    how far (ΔE00) the layer falls from its prediction in half of the cases, `sigma` the standard
    uncertainty (ΔE00).
    """

    stack: Stack
    lab: tuple[float, float, float]
    delta_E: float
    interval: tuple[float, float]
    typical: float
    sigma: float
    cautions: tuple[str, ...]

    @property
    def promise(self) -> Promise:
        """How near it is said to be, where `delta_E` is ΔE00."""
        return Promise(self.delta_E, self.interval[1])

    def from_target(self, delta_E: float) -> "Recipe":
        """The same, made for its own colour, for a target that far away."""
        ninety = self.interval[1]
        interval = (max(0.0, delta_E - ninety), delta_E + ninety)
        doubt = self.typical, self.sigma
        return Recipe(self.stack, self.lab, delta_E, interval, *doubt, self.cautions)

    @property
    def laid(self) -> LaidStack:
        """Its layers and what they look like, as unsure as a bell curve of the same nine in ten."""
        ninety = self.interval[1] - self.delta_E
        return LaidStack(self.stack, self.lab, ninety / COVERAGE_FACTOR)


def best_recipes(
    target_lab: FloatsLike,
    box: Palette,
    *,
    limit: int = 5,
    per_pair: int = 1,
    metric: str | DifferenceFunction = DEFAULT_METRIC,
    spreads: Spreads = SPREADS,
    progress: Progress | None = None,
) -> list[Recipe]:
    """The nearest recipes of one or two pencils of `box`, nearest first; see `search`.

    `spreads` are those of a calibration, where there is one.

    Raises
    ------
    InputError
        As `search` does.
    """
    found = search(
        target_lab, box, limit=limit, per_pair=per_pair, metric=metric, progress=progress
    )
    return recipes_of(found, box, spreads=spreads)


def recipes_of(
    found: Found,
    box: Palette,
    *,
    known: Alternatives | None = None,
    spreads: Spreads | None = SPREADS,
) -> list[Recipe]:
    """What was found as recipes, in that order, with how sure each is; targets may differ.

    Many at once cost far less than each alone, and what is found for several targets is worked out
    once. Alternatives to the pencils of the box that are `known` are not recovered again. Without
    `spreads` they are taken to be sure, at no cost.
    """
    return recipes_sure_enough(found, box, None, known=known, spreads=spreads)[1]


def recipes_sure_enough(
    found: Found,
    box: Palette,
    most: Floats | None,
    *,
    known: Alternatives | None = None,
    spreads: Spreads | None = SPREADS,
) -> tuple[Integers, list[Recipe]]:
    """The same, and which of what was found (n,) they are: all but some whose standard uncertainty
    is above the `most` (n,) of each, which cost little.
    """
    layings, places = distinct_rows(found.layings)
    unsure = Uncertainty(*np.zeros((len(Uncertainty._fields), len(layings))))
    if spreads is not None:
        highest = np.full(len(layings), np.inf)
        if most is not None:
            highest[:] = 0.0
            np.maximum.at(highest, places, most)
        unsure = uncertainty_of(layings, box, known=known, spreads=spreads, most=highest)
    kept = np.flatnonzero(unsure.total < np.inf)
    doubts = np.stack([unsure.typical, unsure.ninety, unsure.total], axis=-1)[kept].tolist()
    layings, which = layings[kept], np.full(len(layings), -1)
    which[kept] = np.arange(len(kept))
    lab, single = np.zeros((len(layings), 3)), layings[:, 1] < 0
    lab[single] = box.colours(layings[single, 0])
    lab[~single] = box.colours(*layings[~single].T)
    laid = [
        _recipe(box, of_one, (L, a, b), *doubt)
        for of_one, (L, a, b), doubt in zip(layings.tolist(), lab.tolist(), doubts, strict=True)
    ]
    rows = np.flatnonzero(which[places] >= 0)
    told = zip(which[places[rows]].tolist(), found.delta_E[rows].tolist(), strict=True)
    return rows, [laid[place].from_target(delta_E) for place, delta_E in told]


def worth_offering(
    recipes: Sequence[Recipe], single_delta_E: float, single_sigma: float
) -> list[Recipe]:
    """Those recipes nearer than the best single pencil by more than the uncertainty of both.

    `single_delta_E` is the difference of the best single pencil from the target (infinite if
    there is none), `single_sigma` the standard uncertainty of its swatch.
    """
    return [
        recipe
        for recipe in recipes
        if single_delta_E - recipe.delta_E > float(np.hypot(recipe.sigma, single_sigma))
    ]


def uncertainty_of(
    layings: Integers,
    box: Palette,
    *,
    known: Alternatives | None = None,
    spreads: Spreads = SPREADS,
    most: Floats | None = None,
) -> Uncertainty:
    """Uncertainty (m,) of recipes (m, 2) as layings of a box, -1 for no second layer, or of pencils
    (m, 1) by themselves.

    Such a layer is the first once more, at load 0, so that all recipes are worked out together,
    in blocks that bound the memory. What is surely above `most` (m,) is infinite.
    """
    # of few pencils beneath few others together, so that much of a block is worked out once
    order = np.lexsort(layings.T // _TILE)
    asked_of = zip(_asked(layings[order], box, known), blocks(len(order), _AT_ONCE), strict=True)
    parts = [
        spread(asked, of, own, spreads=spreads, most=None if most is None else most[order[block]])
        for (asked, of, own), block in asked_of
    ]
    back = np.argsort(order)
    return Uncertainty(*(np.concatenate(part)[back] for part in zip(*parts, strict=True)))


def _asked(
    layings: Integers, box: Palette, known: Alternatives | None
) -> Iterator[tuple[LayersAsked, Alternatives, Floats]]:
    """Block by block what is asked of recipes, alternatives, and the swatches' own uncertainty."""
    missing = layings < 0
    layings = np.where(missing, layings[:, :1], layings)
    chosen = layings // len(box.pressures)
    loads = np.where(missing, 0.0, box.loads[layings])
    lab, spectra, opacities = box.lab, box.spectra, box.seen_opacities
    swatches = box.swatches
    if box.lying is not None:
        # what lies there comes before the pencils of the box, and beneath each recipe
        there = len(box.lying.loads)
        lab, spectra, opacities, swatches = box.lying.before(box)
        beneath = np.broadcast_to(np.arange(there), (len(chosen), there))
        chosen = np.concatenate([beneath, chosen + there], axis=1)
        loads = np.concatenate([np.broadcast_to(box.lying.loads, beneath.shape), loads], axis=1)
        known = None
    if known is None:
        used, chosen_of = renumbered(chosen)
        known = alternatives(
            box.model.bands, lab[used], box.swatch_paper_lab, box.paper_lab, spectra[used]
        )
    else:
        chosen_of = chosen
    own = np.array([swatch.total_uncertainty for swatch in swatches])
    for block in blocks(len(chosen), _AT_ONCE):
        some = chosen[block]
        asked = question(
            box.paper_lab,
            lab[some],
            loads[block],
            model=box.model,
            tooth=box.tooth,
            trapping=box.trapping,
            opacity=opacities.rows(some),
            swatch_paper_lab=box.swatch_paper_lab,
            spectra=spectra[some],
        )
        yield asked, known.rows(chosen_of[block]), own[some]


def _recipe(
    box: Palette,
    layings: Sequence[int],
    lab: tuple[float, float, float],
    typical: float,
    ninety: float,
    sigma: float,
) -> Recipe:
    """What is laid so, as a recipe for its own colour."""
    names = list(box.pressures)
    layers = [divmod(laying, len(names)) for laying in layings if laying >= 0]
    stack = Stack(Layer(box.swatches[pencil], names[pressure]) for pencil, pressure in layers)
    lying = box.lying
    whole = stack if lying is None else Stack((*lying.stack, *stack))
    beneath = [] if lying is None else lying.heavy_low
    return Recipe(
        stack=stack,
        lab=lab,
        delta_E=0.0,
        interval=(0.0, ninety),
        typical=typical,
        sigma=sigma,
        cautions=cautions(
            whole.swatches,
            [box.pressures[name] for name in whole.pressures],
            tooth=box.tooth,
            opacity=[*beneath, *(float(box.opacities.low[pencil]) for pencil, _ in layers)],
        ),
    )
