"""What the question for stand-ins is answered with, and what is said below the answer.

That is how near, how sure, and how comparable the stand-ins are.
"""

from collections.abc import Sequence
from typing import TYPE_CHECKING, NamedTuple, Protocol, TypeVar

from stopgap.difference import COARSE_ABOVE, DIRECTION_ABOVE, GRADES, grade
from stopgap.errors import Note, Remedy
from stopgap.planner.doubt import doubt_of, upper_bounds
from stopgap.planner.nearness import BY_HUE, apart_to_the_eye
from stopgap.swatches import (
    Finish,
    Selection,
    Swatch,
    Target,
    departure_notes,
    differing_conditions,
    fades_sooner,
    marks_of,
)

if TYPE_CHECKING:
    from stopgap.layering import Layered, Recipe


MOST_NAMED = 5
"""How many are named that cannot be told apart: this project's choice."""


class UnderLight(NamedTuple):
    """One candidate beside the target under one illuminant.

    `metamerism` is the special metamerism index of CIE 15 against D50; `parts` says that it is too
    large to accept of two colours that match under D50. Where a spectrum had to be reconstructed
    `delta_E` and `metamerism` are medians and `interval` holds 90 of 100 differences.
    """

    illuminant: str
    delta_E: float
    metamerism: float
    parts: bool
    interval: tuple[float, float] | None = None


class StandIn(NamedTuple):
    """One candidate: differences are the candidate's minus the target's.

    `delta_E` is in the metric asked for, `delta_L`, `delta_C`, `delta_H` are CIE L*, C*ab, H*ab;
    `probability` is that of being the nearest of all that were asked, shown or not; `tied` says
    that it is one of several that hold the nearest with 95 per cent. `grade_probability` is that of
    earning `grade` or a nearer one, for the last grade no nearer one. `under` is for other lights;
    `besides` is what it has where more than its colour counts.
    """

    target: Target
    swatch: Swatch
    delta_E: float
    grade: str
    delta_L: float
    delta_C: float
    delta_H: float
    words: str
    tied: bool
    cautions: tuple[str, ...] = ()
    probability: float = 1.0
    under: tuple[UnderLight, ...] = ()
    grade_probability: float = 1.0
    besides: str = ""

    @property
    def sigma(self) -> float:
        """The standard uncertainty of the difference in ΔE00, worked out when it is asked for."""
        return float(doubt_of([self.target], [self.swatch]).sigmas[0])

    @property
    def upper(self) -> float:
        """The bound of ΔE00 that holds in 95 of 100 cases, likewise."""
        return float(upper_bounds([self.target], [self.swatch])[0])


class _OfSwatch(Protocol):
    @property
    def swatch(self) -> Swatch: ...


_Match = TypeVar("_Match", bound=_OfSwatch)


class Likely(NamedTuple):
    """A pencil that may be the nearest of all, shown or not, and how probably it is."""

    swatch: Swatch
    probability: float


class Over(NamedTuple):
    """What lies on the work already, and what single pencils come to over it.

    `delta_E` (ΔE00) is from it to the target. `pencils` are the nearest laid alone, `on_paper` the
    one that is nearest on bare paper, all over this ground; nothing laid alone is lighter than
    `lightest` (L*). `out_of_reach` says that not even the near end of any interval is close.
    `under` are `pencils` under other lights, where any were named.
    """

    ground: "Layered"
    delta_E: float
    pencils: "tuple[Recipe, ...]"
    on_paper: "Recipe"
    lightest: float
    out_of_reach: bool
    under: tuple[tuple[UnderLight, ...], ...] = ()


class StandIns(NamedTuple):
    """The answer to one question: single pencils, nearest first, and layering recipes, of which the
    one that promises most comes first; `layers_first` says that these stand above the pencils.
    `over` is what the recipes are laid over, where that is not bare paper. `ranked_by` is `delta_E`
    or `upper`, by which the matches are ranked, or BY_HUE where all are so far off that hue is.
    """

    target: Target
    metric: str
    matches: tuple[StandIn, ...]
    notes: tuple[Note, ...]
    layers: "tuple[Recipe, ...]" = ()
    layers_first: bool = False
    over: Over | None = None
    ranked_by: str = "delta_E"

    @property
    def ranges(self) -> set[str]:
        """The ranges of the pencils asked about and answered with."""
        pencils = [match.swatch for match in self.matches]
        pencils += [pencil for recipe in self.layers for pencil in recipe.stack.swatches]
        pencils += [self.target] if isinstance(self.target, Swatch) else []
        return {pencil.range for pencil in pencils}

    def doubts(self) -> dict[str, tuple[float, float]]:
        """`sigma` and `upper` of every match by its address: of all together, which is faster."""
        swatches = [match.swatch for match in self.matches]
        if not swatches:
            return {}
        sigmas = doubt_of([self.target], swatches).sigmas.tolist()
        uppers = upper_bounds([self.target], swatches).tolist()
        return dict(zip((one.address for one in swatches), zip(sigmas, uppers), strict=True))

    def told(self, notes: Sequence[Note]) -> "StandIns":
        """The same with further notes."""
        return self._replace(notes=(*self.notes, *notes))


def without_lookalikes(matches: tuple[_Match, ...], most: int) -> tuple[_Match, ...]:
    """The first `most` matches of which no two are the same to the eye; all where they are fewer.

    What is said of each stays, since it is said of all that could be had.
    """
    if len(matches) <= most:
        return matches
    kept = {swatch.address for swatch in apart_to_the_eye([one.swatch for one in matches], most)}
    return tuple(match for match in matches if match.swatch.address in kept)


def lightfastness_caution(target: Target, swatch: Swatch) -> str:
    """Why the stand-in is known to fade sooner than the target; empty where it is not."""
    if swatch.finish is Finish.FLUORESCENT:
        return "fluorescent colours fade"
    return fades_sooner(target, swatch)


def cautions_beside(target: Target, swatch: Swatch) -> tuple[str, ...]:
    """What is to be heeded of a stand-in, in a few words each."""
    return tuple(filter(None, (lightfastness_caution(target, swatch), *marks_of(swatch))))


def stand_in_notes(
    target: Target,
    matches: Sequence[StandIn],
    likely: Sequence[Likely],
    nearest: float,
    selection: Selection,
    ranked_by: str = "delta_E",
) -> list[Note]:
    """What must be known of the whole answer, one sentence each.

    `nearest` is the least ΔE00 of any candidate; `likely` are those that hold the nearest, the most
    probable first, and nobody where there is but one candidate.
    """
    by_hue = ranked_by == BY_HUE
    notes = [*_nearness_in_words(nearest, by_hue=by_hue)]
    if not by_hue:
        notes += _doubt_in_words(matches, likely)
    if ranked_by == "upper":
        down = "the nearest by its measured colour may stand further down."
        bound = "by the bound that ΔE00 stays below in 95 of 100 cases"
        notes.append(
            Note(
                f"Ranked cautiously, {bound}; {down}",
                plain=f"Ranked cautiously, by how far off each may be; {down}",
            )
        )
    notes += map(Note, _measured_otherwise(target, matches))
    if isinstance(target, Swatch) and target.finish not in selection.finishes:
        finish = str(target.finish)
        notes.append(Note(f"The target is {finish}.", Remedy.OTHER_FINISH, {"finish": finish}))
    told = [target] if isinstance(target, Swatch) else []
    return [*notes, *departure_notes([*told, *(match.swatch for match in matches)])]


def _nearness_in_words(nearest: float, *, by_hue: bool) -> list[Note]:
    kind = plain = "a different colour. So far out the ranking is coarse."
    if nearest > DIRECTION_ABOVE:
        kind, plain = "which tells a direction and is no match.", "only a direction, no match."
    if by_hue:
        plain = "no match. So far out all are ranked by how well they keep the hue."
        kind = f"{plain[:-1]}, not by ΔE00."
    if nearest > COARSE_ABOVE:
        return [
            Note(
                f"No pencil is near: the nearest is ΔE00 {nearest:.1f} away, {kind}",
                plain=f"No pencil is near: the nearest is {plain}",
            )
        ]
    if grade(nearest) == "same":
        less = "is less than one hand laying one pencil twice makes."
        return [
            Note(
                f"ΔE00 below {GRADES['same']:g} {less}",
                plain=f"What parts the target from the nearest {less}",
            )
        ]
    return []


def _doubt_in_words(matches: Sequence[StandIn], likely: Sequence[Likely]) -> list[Note]:
    """One line: how sure the nearest is, or which to try, in which order."""
    if not likely:
        return []
    first = likely[0]
    if len(likely) == 1:
        share = "more than 99 %" if first.probability > 0.99 else _percent(first.probability)
        sure = "surely" if first.probability > 0.99 else "probably"
        return [
            Note(
                f"{first.swatch.address} is the nearest with a probability of {share}.",
                plain=f"{first.swatch.address} is {sure} the nearest.",
            )
        ]
    named = [f"{one.swatch.address} ({_percent(one.probability)})" for one in likely[:MOST_NAMED]]
    shown = sum(match.tied for match in matches)
    which = f"The {shown} marked ≈" if shown == len(likely) else f"{len(likely)} candidates"
    some = "" if shown == len(likely) else f", {shown} of them shown (≈)"
    apart = f"{which} cannot be told apart at the accuracy of these swatches{some}: on your paper"
    plain = [one.swatch.address for one in likely[:MOST_NAMED]]
    return [
        Note(
            f"{apart} try {named[0]}, then {', '.join(named[1:])}.",
            plain=f"{apart} try {plain[0]}, then {', '.join(plain[1:])}.",
        )
    ]


def _percent(probability: float) -> str:
    return f"{100.0 * probability:.0f} %"


def _measured_otherwise(target: Target, matches: Sequence[StandIn]) -> list[str]:
    """Whose measurement is stated to be another than the target's."""
    if not isinstance(target, Swatch):
        return []
    alike: dict[tuple[str, ...], list[str]] = {}
    for match in matches:
        found = differing_conditions(match.swatch.measurement, target.measurement)
        papers = (match.swatch.paper, target.paper)
        if all(papers) and papers[0].casefold() != papers[1].casefold():
            found = (*found, f"paper {papers[0]}, not {papers[1]}")
        if found:
            alike.setdefault(found, []).append(match.swatch.address)
    return [
        f"{', '.join(addresses)}: measured otherwise than the target ({'; '.join(found)}). Part of "
        "the difference may come from that."
        for found, addresses in alike.items()
    ]
