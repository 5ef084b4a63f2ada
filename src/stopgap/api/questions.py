"""Questions about single colours and lists: what comes near, what layers look like.

Defaults are the commands' own. Where a question takes pencils, `swatches` is an open library, a
range, several, swatches, L*, a*, b* of shape (n, 3), or a frame; `which` are the arguments that
`Which` lists: which of them may be used, and on which paper they are laid. Colours are CIE L*a*b*
under D50, 2 degree observer; differences are ΔE00 unless a metric is named.
"""

from collections.abc import Sequence
from pathlib import Path
from typing import Unpack

from stopgap.api.arguments import Colours, checked, rows_of
from stopgap.api.asked import Pencils, Which, layer_of, looked_at
from stopgap.defaults import JOBS, METRIC, PENCILS_BELOW, STAND_INS, TIME_LIMIT
from stopgap.errors import InputError
from stopgap.layering import Layered
from stopgap.library import Askable, by_paper, find_asked, read_list
from stopgap.planner import (
    Layering,
    StandIns,
    Translation,
    lay,
    lay_well,
    match_target,
    translate_on_papers,
)
from stopgap.swatches import Layer, Stack, Swatch


@checked
def match(
    asked: Askable,
    swatches: Pencils,
    *,
    limit: int | None = None,
    metric: str = METRIC,
    within: float | None = None,
    cautious: bool = False,
    layers: bool | None = None,
    under: Sequence[str] = (),
    over: Sequence[Layer | Swatch | str] = (),
    instead: str = "",
    **which: Unpack[Which],
) -> StandIns:
    """What comes nearest to a colour, and how it is off.

    Parameters
    ----------
    asked
        Text, a swatch, or L*, a*, b* of shape (3,), as `target` takes it.
    limit
        How many pencils are told, 5 by default and fewer below recipes.
    metric, within
        The difference that ranks, and the most it may be [ΔE].
    cautious
        Whether to rank by the bound that ΔE00 stays below in 95 of 100 cases.
    layers
        Whether recipes of layers are shown in any case (True) or never (False); None shows them
        where they come nearer than any pencil.
    under
        CIE illuminants that each is looked at under as well, such as "A" or "LED-B3".
    over
        Layers that lie on the work already, the first laid first.
    instead
        "replace" where the pencil is to be replaced, "for_laydown" where that is since it lays
        badly.

    Raises
    ------
    InputError, UnknownSwatchError, UsageError
        If an argument is not as expected.
    NothingFoundError
        If nothing is left to offer.

    Examples
    --------
    >>> import stopgap
    >>> with stopgap.demo_library() as library:
    ...     answer = stopgap.match("#7f9a8c", library, limit=3)
    >>> answer.matches[0].swatch.address, answer.matches[0].grade
    ('Fennmoor:FM063', 'different')
    """
    looked = looked_at(swatches, which)
    known = looked.known
    below = PENCILS_BELOW if limit is None else limit
    layering = Layering(always=layers is True, below=below, cache=looked.cache)
    return match_target(
        find_asked(asked, known),
        looked.ground,
        looked.selection,
        layering=None if layers is False else layering,
        instead=instead,
        over=[layer_of(each, known) for each in over],
        shifts=looked.shifts,
        limit=STAND_INS if limit is None else limit,
        metric=metric,
        within=within,
        cautious=cautious,
        under=under,
    )


@checked
def layer(
    *pencils: "Layer | Askable | tuple[Askable, str]",
    swatches: Pencils = (),
    **which: Unpack[Which],
) -> Layered:
    """What pencils laid over each other look like, the first laid first.

    Parameters
    ----------
    pencils
        One to three: a name with a pressure (`"Fennmoor:FM003 light"`), a pencil or a colour, or a
        pair of either with its pressure; heavy where nothing is said. A bare colour is laid as a
        pencil of which nothing else is known. With `for_laydown` the answer's `replaced` holds
        what replaces what, and its `notes` say so.

    Raises
    ------
    InputError, UnknownSwatchError, UsageError
        If an argument is not as expected.
    NothingFoundError
        If nothing at hand lays better.

    Examples
    --------
    >>> import stopgap
    >>> with stopgap.demo_library() as library:
    ...     found = stopgap.layer("FM003 light", "FM013", swatches=library)
    >>> [round(value) for value in found.lab]
    [52, 51, 48]
    """
    looked = looked_at(swatches, which)
    known = looked.ground.known
    if not pencils:
        raise InputError("expected a pencil or more.", argument="pencils")
    stack = Stack([layer_of(each, known) for each in pencils])
    if looked.selection.for_laydown:
        return lay_well(stack, looked.ground)
    return lay(stack, looked.ground.conditions)


@checked
def translate(
    colours: Colours,
    swatches: Pencils,
    *,
    distinct: bool = True,
    keep_order: bool = False,
    within_stages: bool = True,
    layers: bool = True,
    remove_shift: bool = False,
    time_limit: float | None = TIME_LIMIT,
    jobs: int | None = JOBS,
    **which: Unpack[Which],
) -> Translation:
    """What to lay for each colour of somebody else's list, with the pencils at hand.

    Parameters
    ----------
    colours
        A list file (a `Path`), colours, pairs of a colour and its label, or a frame with a column
        `colour` or columns L, a, b, and if you like `label` and `weight`.
    distinct
        Whether colours that can be told apart get different results.
    keep_order
        Whether what is clearly lighter comes out lighter.
    within_stages
        Whether a lesson is distinct within each stage where that comes nearer, not over the whole.
    layers
        Whether recipes of layers are used where they come nearer.
    remove_shift
        Whether what a whole range seems to be measured differently by is taken out.
    time_limit, jobs
        Seconds for the proof of `keep_order`; processes for long lists.

    Raises
    ------
    InputError
        If the list is empty or an argument is not as expected.
    NothingFoundError
        If there is no pencil to use.

    Examples
    --------
    >>> import stopgap
    >>> with stopgap.demo_library() as library:
    ...     found = stopgap.translate(["FM031", [52, 40, 30]], library, layers=False)
    >>> [row.given.label for row in found.rows]
    ['Quillet:Q13', 'Quillet:Q5']
    """
    looked = looked_at(swatches, which, owned=True)
    parts = [(looked.ground, rows_of(colours, looked.known))]
    if isinstance(colours, Path):
        papers = by_paper(read_list(colours), which.get("on"))
        parts = [(looked_at(swatches, {**which, "on": on}).ground, rows) for on, rows in papers]
    return translate_on_papers(
        parts,
        selection=looked.selection,
        layers=layers,
        shifts=looked.shifts,
        remove_shift=remove_shift,
        distinct=distinct,
        keep_order=keep_order,
        within_stages=within_stages,
        time_limit=time_limit or None,
        jobs=jobs,
        cache=looked.cache,
    )
