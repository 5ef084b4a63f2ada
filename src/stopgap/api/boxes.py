"""Questions about a box as a whole: blends, their gaps, what to buy, and families.

As those of `stopgap.api.questions`, which says what `swatches` and `which` are.
"""

from collections.abc import Sequence
from typing import Unpack

from stopgap.api.arguments import Blends, Colours, blends_of, checked, rows_of
from stopgap.api.asked import Looked, Pencils, Which, looked_at
from stopgap.blends import (
    INTERCHANGEABLE,
    Blend,
    Family,
    families_by_colour,
    families_named,
)
from stopgap.defaults import PATH, PREFER, STEP, TIME_LIMIT, TOLERANCE
from stopgap.errors import InputError, UsageError
from stopgap.library import Askable
from stopgap.planner import (
    AtHand,
    ColourNeed,
    GapsFound,
    ShoppingList,
    Terms,
    find_blend,
    gaps_at_hand,
    look_at_hand,
    needs_of,
    plan_purchase,
    user_filing,
)


class Buying(Which, total=False):
    """What may be spent, in money and in seconds, beside what `Which` lists.

    `default_price` is taken where none is known, None for a guess; `partial` says whether to spend
    on gaps that nothing can close in full too; `time_limit` is in seconds.
    """

    default_price: float | None
    partial: bool
    time_limit: float | None


@checked
def blend(
    start: Askable,
    end: Askable,
    swatches: Pencils,
    *,
    via: Sequence[Askable] = (),
    step: float = STEP,
    path: str = PATH,
    prefer: str = PREFER,
    by_lightness: bool = False,
    max_pencils: int | None = None,
    layers: bool = True,
    **which: Unpack[Which],
) -> Blend:
    """The pencils that lead from one colour to another, each melting into the next.

    Parameters
    ----------
    start, end, via
        The ends and what lies between, as `target` takes them; a pencil is part of the blend.
    step
        The largest step that still melts [ΔE00].
    path, by_lightness
        How it runs: "auto", "straight" or "round"; or by lightness alone.
    prefer
        "enough" pencils, the "fewest", or the "smoothest" chain of at most `max_pencils`.
    layers
        Whether layers of what is owned count as colours of the blend.

    Raises
    ------
    InputError, UnknownSwatchError, UsageError
        If an argument is not as expected.
    NothingFoundError
        If there is no pencil to blend with.

    Examples
    --------
    >>> import stopgap
    >>> with stopgap.demo_library() as library:
    ...     found = stopgap.blend("FM113", "FM112", library, layers=False)
    >>> found.closed
    False
    """
    at_hand = _at_hand(looked_at(swatches, which, owned=True), layers=layers)
    return find_blend(
        at_hand,
        start,
        end,
        stops=via,
        limit=step,
        path=path,
        prefer=prefer,
        by_lightness=by_lightness,
        max_pencils=max_pencils,
    )


@checked
def gaps(
    swatches: Pencils,
    blends: "Blends | None" = None,
    *,
    step: float = STEP,
    path: str = PATH,
    layers: bool = True,
    arrangement: str | None = None,
    **which: Unpack[Which],
) -> GapsFound:
    """Where blends break, and what would close them; of every family where no blend is named.

    Parameters
    ----------
    blends
        A blends file (a `Path`), or for each blend its ends, with a name before them if you like.
    step, path, layers
        As `blend` takes them.
    arrangement
        Whose families are looked through: of that name, else of the arrangement in use.

    Raises
    ------
    InputError, UnknownSwatchError, UsageError
        If an argument is not as expected.
    NothingFoundError
        If there is no pencil to blend with.

    Examples
    --------
    >>> import stopgap
    >>> with stopgap.demo_library() as library:
    ...     found = stopgap.gaps(library, [("dusk", "FM113", "FM112")], layers=False)
    >>> {gap.blend for gap in found.gaps}
    {'dusk'}
    """
    looked = looked_at(swatches, which, owned=True)
    filing = None
    if blends is None and looked.library is not None:
        filing = user_filing(looked.library, arrangement)
    listed = None if blends is None else blends_of(blends)
    at_hand = _at_hand(looked, layers=layers)
    return gaps_at_hand(at_hand, listed, step=step, path=path, arrangement=filing)


@checked
def shop(
    swatches: Pencils,
    *,
    blends: Blends = (),
    colours: Colours = (),
    step: float = STEP,
    path: str = PATH,
    tolerance: float = TOLERANCE,
    budget: float | None = None,
    layers: bool = True,
    exclude: Sequence[str] = (),
    **which: Unpack[Buying],
) -> ShoppingList:
    """The cheapest pencils to buy, beside what is owned, for blends without gaps and for colours.

    Parameters
    ----------
    swatches
        What is owned and what is for sale together, as for every question.
    blends, colours
        What is wanted, as `gaps` and `translate` take them; at least one of either.
    step, path, tolerance
        The largest step of a blend [ΔE00] and how it runs; how far a colour may be off [ΔE].
    budget
        Spend no more, in the unit of the prices; then the most need met for it.
    layers
        Whether what is owned counts in layers too.
    exclude
        Pencils that are not to be bought.

    Raises
    ------
    InputError, UnknownSwatchError, UsageError
        If an argument is not as expected, or nothing is asked for.

    Examples
    --------
    >>> import stopgap
    >>> with stopgap.demo_library() as library:
    ...     plan = stopgap.shop(library, colours=["FM036"], layers=False)
    >>> plan.status
    'optimal'
    """
    terms = Terms(
        budget,
        which.pop("default_price", None),
        which.pop("partial", False),
        which.pop("time_limit", TIME_LIMIT) or None,
    )
    looked = looked_at(swatches, which)
    known = looked.known
    wanted = blends_of(blends)
    needs = needs_of(known, blends=wanted, step=step, path=path) if wanted else []
    for row in rows_of(colours, known):
        if row.target is None:
            raise InputError(row.note)
        needs.append(ColourNeed(f"{row.label} {row.caption}".strip(), row.target, tolerance))
    return plan_purchase(
        needs or needs_of(known),
        known,
        selection=looked.selection,
        exclude=exclude,
        layers=looked.ground.conditions if layers else None,
        terms=terms,
        cache=looked.cache,
    )


@checked
def families(
    swatches: Pencils,
    names: Sequence[str] = (),
    *,
    arrangement: str | None = None,
    by_colour: bool = False,
    within: float | None = None,
    **which: Unpack[Which],
) -> tuple[Family, ...]:
    """The families of those names, every one where none is named, each from light to dark.

    Every finish is in them, and discontinued shades too, unless `which` says otherwise.

    Parameters
    ----------
    arrangement
        The library's arrangement of that name, else the one in use.
    by_colour, within
        Instead of families, groups of pencils that may stand in for each other: no two of a group
        are farther apart than `within` [ΔE00], by default where "close" ends. Special finishes and
        discontinued shades are then left out, unless `which` says otherwise.

    Raises
    ------
    UnknownSwatchError
        If a name is no family's.
    NothingFoundError
        If none of them has a member, or no two pencils are so near.
    UsageError
        If groups are asked for by name or arrangement, or `within` without them.

    Examples
    --------
    >>> import stopgap
    >>> with stopgap.demo_library() as library:
    ...     (found,) = stopgap.families(library, ["muted roses"])
    >>> found.name, len(found.filed)
    ('muted roses', 9)
    >>> with stopgap.demo_library() as library:
    ...     groups = stopgap.families(library, by_colour=True, owned=True)
    >>> groups[0]
    <Family black: 2 pencils>
    """
    if by_colour:
        if names or arrangement is not None:
            raise UsageError("by_colour makes groups anew; leave names and arrangement out.")
        looked = looked_at(swatches, which)
        offered = looked.selection.of(looked.known.swatches)
        return families_by_colour(offered, INTERCHANGEABLE if within is None else within)
    if within is not None:
        raise UsageError("within goes with by_colour.")
    looked = looked_at(swatches, which, wide=True)
    filing = None if looked.library is None else user_filing(looked.library, arrangement)
    ground = looked.ground.among(looked.selection)
    found = looked.selection.of(ground.swatches)
    return families_named(found, names, filing, ground.uncoloured)


def _at_hand(looked: Looked, *, layers: bool) -> AtHand:
    return look_at_hand(
        looked.known,
        looked.selection,
        layers=looked.ground.conditions if layers else None,
        cache=looked.cache,
    )
