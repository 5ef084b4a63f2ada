"""What pencils look like on the paper that is drawn on: said here alone.

Where a pencil's swatch lies on that paper it has the colour of its swatch. Else it is predicted
from the swatch there is: one layer, heavy, on another ground, by the model of layers and under the
same conditions, so that a pencil and a recipe of it never contradict each other. A swatch lies on
the paper that it names, else on the bare paper that its range was measured with, else on white.
Where no paper is asked about, each swatch counts as it is, and layers are laid on the bare paper
that all of them lie on, where there is one.
"""

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from types import MappingProxyType
from typing import TYPE_CHECKING

from stopgap.difference import delta_E
from stopgap.library import Library, bare_papers, paper_asked, stored_calibration, stored_papers
from stopgap.planner.laying import Ground, apart_notes, conditions_on, predicted_notes
from stopgap.swatches import (
    GRAINS,
    Covering,
    Lab,
    LayingConditions,
    Paper,
    Pencil,
    Swatch,
    as_layered,
    colour_of,
    without_colour,
)

if TYPE_CHECKING:
    from stopgap.planner.recipes.cache import RecipeCache


_BESIDE_COVERING = 0.18
"""How far a colour lies beside the line of its covering, of a standard deviation along it: fitted
to films (bench_papers.py)."""

_UNNAMED = "white"
"""The word for the paper that nobody named."""


def ground_of(
    library: Library,
    on: str | None = None,
    grain: str | None = None,
    *,
    heavy_first: bool = False,
) -> Ground:
    """Every pencil of a library on the paper that `on` calls, else on the default of the drawer.

    `on` is a name of the drawer, a word of PAPER_COLOURS or a colour; `grain` is a row of TOOTH, in
    any case, instead of that paper's own. Recipes lay the first of two pencils light or medium
    unless `heavy_first`.

    Raises
    ------
    UnknownSwatchError
        If no paper is called so.
    InputError
        If it is a malformed colour.
    """
    papers = stored_papers(library)
    paper = paper_asked(papers, on)
    pencils, bare = library.pencils(), bare_papers(library)
    conditions = conditions_of(library, paper, grain)
    if paper is None and not conditions.samples and (lab := _beneath_all(pencils, bare)):
        conditions = replace(conditions, paper=lab, swatch_paper=lab)
    if heavy_first:
        conditions = replace(conditions, heavy_first=True)
    return _looked_at(pencils, paper, conditions, papers, bare, kept=True)


def ground_of_pencils(
    pencils: Sequence[Pencil],
    on: str | None = None,
    grain: str | None = None,
    *,
    heavy_first: bool = False,
) -> Ground:
    """The same of pencils that lie in no library, so that nothing was learnt of how they are laid.

    `on` is a word of PAPER_COLOURS or a colour.
    """
    paper = paper_asked((), on)
    conditions = conditions_on(grain) if paper is None else _estimated_on(paper, grain)
    if heavy_first:
        conditions = replace(conditions, heavy_first=True)
    return _looked_at(pencils, paper, conditions, ())


def _looked_at(
    pencils: Sequence[Pencil],
    paper: Paper | None,
    conditions: LayingConditions,
    papers: Sequence[Paper],
    bare: Mapping[str, Lab] = MappingProxyType({}),
    *,
    kept: bool = False,
) -> Ground:
    if paper is None:
        colours = tuple(filter(None, (each.colour() for each in pencils)))
        ground = Ground(conditions, colours, notes=apart_notes(colours, bare))
    else:
        cache = _cache_of_user() if kept else None
        ground = lay_alone(pencils, paper, conditions, papers, bare, cache=cache)
    if len(ground.swatches) == len(pencils):
        return ground
    without = without_colour(pencils)
    return ground._replace(uncoloured=without)


def conditions_of(
    library: Library, paper: Paper | None, grain: str | None = None
) -> LayingConditions:
    """How pencils are laid on a paper: as was learnt on that very one, else the estimates.

    What was learnt on one paper counts for no other. The white that nobody named is the one that
    was learnt without naming a paper, and so is a colour that is the same.
    """
    kept = paper is not None and paper in stored_papers(library)
    learnt = stored_calibration(library, paper.name if paper is not None and kept else "")
    if paper is None:
        return conditions_on(grain, learnt=learnt)
    if not kept and learnt is not None:
        if paper.name.casefold() == _UNNAMED or paper.lab == learnt.paper:
            return conditions_on(grain, learnt=learnt)
        learnt = None
    if learnt is None:
        return _estimated_on(paper, grain)
    return conditions_on(grain, paper.lab, learnt=learnt)


def ground_to_learn(library: Library, on: str | None = None, grain: str | None = None) -> Ground:
    """What a calibration starts from: estimates, and swatches as layers are reckoned from.

    A paper of the drawer is named in it. Else single swatches are taken to lie on the paper of that
    colour as well, and what is learnt is of the paper that nobody named. Raises as `ground_of`.
    """
    papers, bare = stored_papers(library), bare_papers(library)
    paper = paper_asked(papers, on)
    if paper is None or paper not in papers:
        lab = _beneath_all(library.pencils(), bare) if paper is None else paper.lab
        return Ground(conditions_on(grain, lab, swatches_too=True), library.swatches())
    conditions, cache = _estimated_on(paper, grain), _cache_of_user()
    ground = lay_alone(library.pencils(), paper, conditions, papers, bare, cache=cache)
    return ground._replace(swatches=tuple(map(as_layered, ground.swatches)))


def _estimated_on(paper: Paper, grain: str | None) -> LayingConditions:
    own = GRAINS[paper.grain] if paper.grain else None
    return conditions_on(grain or own, paper.lab)


def lay_alone(
    pencils: Sequence[Pencil],
    paper: Paper,
    conditions: LayingConditions,
    papers: Sequence[Paper] = (),
    bare: Mapping[str, Lab] = MappingProxyType({}),
    *,
    cache: "RecipeCache | None" = None,
) -> Ground:
    """What each pencil that has a dry swatch looks like on a paper, laid as in its swatch.

    `papers` are those whose colour is known, `bare` the bare papers of ranges by their names, on
    which a swatch lies that names none; any other lies on the swatch paper of the conditions.
    Predictions that are kept in the `cache` are not worked out again.
    """
    base = conditions.swatch_paper
    known = {name: one.lab for one in (*papers, paper) for name in one.names}

    def beneath(swatch: Swatch) -> Lab:
        if not swatch.paper:
            return bare.get(swatch.range, base)
        return known.get(swatch.paper.casefold(), base)

    dry = [(pencil, colour) for pencil in pencils if (colour := pencil.colour(paper.name))]
    colours, onto = [colour for _, colour in dry], conditions.paper
    shown = _moved(colours, beneath, onto, paper.name, conditions, cache)
    swatched = [_on_ground(pencil, colour, beneath, base) for pencil, colour in dry]
    layered = _moved(swatched, beneath, base, "", conditions, cache)
    predicted = [
        laid.address for laid, (_, colour) in zip(shown, dry, strict=True) if laid is not colour
    ]
    swatches = [
        laid if laid is under else replace(laid, layered_as=under)
        for laid, under in zip(shown, layered, strict=True)
    ]
    return Ground(
        conditions, tuple(swatches), paper, frozenset(predicted), predicted_notes(paper, predicted)
    )


def _beneath_all(pencils: Sequence[Pencil], bare: Mapping[str, Lab]) -> Lab | None:
    """The bare paper that every swatch lies on, None where there is none or are several."""
    every = (one for pencil in pencils for one in pencil.swatches if one.coloured)
    grounds = {None if one.paper else bare.get(one.range) for one in every}
    return grounds.pop() if len(grounds) == 1 else None


def _on_ground(
    pencil: Pencil, colour: Swatch, beneath: Callable[[Swatch], Lab], ground: Lab
) -> Swatch:
    """Of a pencil the swatch on a ground that is nearest to being its colour, else its colour."""
    there = [swatch for swatch in pencil.swatches if beneath(swatch) == ground]
    return colour if colour in there else colour_of(there) or colour


def _moved(
    swatches: Sequence[Swatch],
    beneath: Callable[[Swatch], Lab],
    onto: Lab,
    name: str,
    conditions: LayingConditions,
    cache: "RecipeCache | None",
) -> list[Swatch]:
    """Swatches as they would look on a paper; those that lie on it are given back as they are."""
    moved = list(swatches)
    grounds = [beneath(swatch) for swatch in swatches]
    for ground in dict.fromkeys(grounds):
        if ground != onto:
            places = [place for place, its in enumerate(grounds) if its == ground]
            setting = replace(conditions, paper=onto, swatch_paper=ground)
            laid = _predicted([swatches[place] for place in places], setting, cache)
            for place, swatch in zip(places, laid, strict=True):
                moved[place] = replace(swatch, paper=name)
    return moved


def _predicted(
    swatches: Sequence[Swatch], conditions: LayingConditions, cache: "RecipeCache | None"
) -> list[Swatch]:
    """Each as one layer, laid as in its swatch, as sure as that is and never surer than the swatch.

    How much it covers is mostly not known: that part stands apart. One that the model cannot lay
    keeps its colour, as unsure as the two papers are apart.
    """
    from stopgap.planner.recipes.single_layers import laid_alone

    found = laid_alone(conditions, swatches, cache=cache)
    apart = float(delta_E(conditions.paper, conditions.swatch_paper))
    told = zip(swatches, *(part.tolist() for part in found), strict=True)
    return [
        _laid(swatch, swatch.lab, apart)
        if math.isnan(laying)
        else _laid(swatch, lab, laying, *rest)
        for swatch, lab, laying, *rest in told
    ]


def _laid(
    swatch: Swatch,
    lab: Sequence[float],
    laying: float,
    covers: float = 0.0,
    mean: Sequence[float] = (),
    better: Sequence[float] = (),
    scatter: float = 0.0,
) -> Swatch:
    """A swatch of that colour on another paper, as `LaidAlone` has it."""
    (L, a, b), beside = lab, _BESIDE_COVERING * scatter
    shared = swatch.shared_uncertainty
    own = max(math.sqrt(max(laying**2 - shared**2, 0.0)), swatch.uncertainty)
    return replace(
        swatch,
        lab=(L, a, b),
        uncertainty=math.hypot(own, beside),
        ground_uncertainty=math.sqrt(max(covers**2 - beside**2, 0.0)),
        covering=Covering(tuple(mean), tuple(better)) if scatter > 0.0 else None,
        covariance=None,
        reflectance=None,
        readings=None,
    )


def _cache_of_user() -> "RecipeCache":
    from stopgap.planner.recipes.cache import RecipeCache

    return RecipeCache.of_user()
