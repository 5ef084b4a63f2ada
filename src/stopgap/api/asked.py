"""What a question from Python is about: colours and pencils, in whichever form they come."""

from collections.abc import Iterable, Sequence
from typing import Any, NamedTuple, TypeAlias, TypedDict, cast

import stopgap.api.shown  # noqa: F401 (so that answers show themselves)
from stopgap.api.frames import NO_RANGE, from_frame
from stopgap.arrays import Floats, as_lab
from stopgap.defaults import FOR_SALE
from stopgap.errors import InputError
from stopgap.library import (
    Askable,
    Library,
    NameIndex,
    StoredShift,
    find_asked,
    find_layer,
    find_target,
)
from stopgap.planner import (
    Ground,
    RecipeCache,
    ground_of,
    ground_of_pencils,
)
from stopgap.swatches import (
    ColourRange,
    Finish,
    Layer,
    Lightfastness,
    Pencil,
    Pressure,
    Selection,
    Swatch,
    Target,
    Tooth,
    least_ratings,
    rule_of,
)

Pencils: TypeAlias = Library | ColourRange | Iterable[Swatch | ColourRange] | Floats | Any
"""A library, a range, several, swatches, L*, a*, b* of shape (n, 3), or a frame of `to_frame`."""


class Which(TypedDict, total=False):
    """Which pencils a question may use and how they are laid; every function takes these by name.

    `owned` says whether only pencils at hand are meant: by default as the command of that name has
    it, and all where nothing at all is marked as owned. `ranges` and `finishes` narrow down,
    `include_discontinued` widens. With `for_sale` every pencil is rated as `defaults.FOR_SALE` asks
    at least; `min_lightfastness`, such as "ASTM II", one or several, asks so by itself, or instead
    on its scale. `on` is the paper: of
    the library's drawer, a word such as "tan", or a colour; `grain` how rough it is; `heavy_first`
    whether the first of two pencils may be laid heavy. `for_laydown` leaves out what lays badly,
    and replaces what is asked for and does so by what is known to lay better.
    """

    owned: bool
    ranges: Sequence[str]
    finishes: Sequence[str]
    include_discontinued: bool
    for_sale: bool
    min_lightfastness: str | Lightfastness | Sequence[str | Lightfastness] | None
    on: str | None
    grain: str | None
    heavy_first: bool
    for_laydown: bool


class Looked(NamedTuple):
    """What a question is put to: pencils on their paper, which of them may be offered, what the
    library knows of shifts between its ranges, and where recipes are kept.
    """

    ground: Ground
    selection: Selection
    shifts: tuple[StoredShift, ...] = ()
    library: Library | None = None
    cache: RecipeCache | None = None

    @property
    def known(self) -> NameIndex:
        """What names are looked up among."""
        return self.ground.answering


def target(asked: Askable, swatches: Pencils = ()) -> Target:
    """The colour that is asked for, as every question takes it.

    Parameters
    ----------
    asked
        Text as the command line takes it (`RANGE:CODE`, a name, `#7f9a8c`, `lab(62 -11 4)`), a
        swatch, or L*, a*, b* of shape (3,): CIE L*a*b* under D50, 2 degree observer.
    swatches
        Where names are looked up.

    Raises
    ------
    InputError
        If it is a malformed colour, a name that several pencils bear, or of a wrong type.
    UnknownSwatchError
        If nothing bears the name.
    NothingFoundError
        If the pencil has no colour yet.

    Examples
    --------
    >>> import stopgap
    >>> stopgap.target("lab(52 40 30)").lab
    (52.0, 40.0, 30.0)
    >>> stopgap.target([52, 40, 30]).label
    'lab(52 40 30)'
    """
    if not isinstance(asked, str):
        return find_target(asked, ())
    ground = ground_of_pencils(pencils_of(swatches))
    return find_asked(asked, ground.known)


def looked_at(source: Pencils, which: Which, *, owned: bool = False, wide: bool = False) -> Looked:
    """The pencils of a source on the paper named, and the selection that `which` says.

    `owned` is what holds where `which` does not say; `wide` is for questions that offer nothing:
    every finish then, and discontinued shades too.

    Raises
    ------
    InputError
        If the source is of a wrong type, or a word of `which` is not known.
    UnknownSwatchError
        If the library has no range or paper of that name.
    """
    grain = which.get("grain")
    laid = {
        "on": which.get("on"),
        "grain": grain if grain is None else _word("grain", grain, list(Tooth)),
    }
    first = bool(which.get("heavy_first", False))
    if isinstance(source, Library):
        ground = ground_of(source, **laid, heavy_first=first)
        shifts, cache = source.shifts(), RecipeCache.of_user()
    else:
        ground = ground_of_pencils(pencils_of(source), **laid, heavy_first=first)
        shifts, cache = (), None
    selection = _selection(which, source, owned=owned, wide=wide)
    if selection.owned and not any(swatch.owned for swatch in ground.swatches):
        selection = selection._replace(owned=False)
    library = source if isinstance(source, Library) else None
    return Looked(ground, selection, shifts, library, cache)


def pencils_of(source: Pencils) -> tuple[Pencil, ...]:
    """The pencils of a source; raises InputError where it is of a wrong type."""
    if isinstance(source, Library):
        return source.pencils()
    if isinstance(source, ColourRange):
        return source.pencils
    if hasattr(source, "iloc"):
        return _together(from_frame(cast(Any, source)))
    if isinstance(source, str | bytes) or not isinstance(source, Iterable):
        raise _no_pencils(source)
    every = list(source)
    if all(isinstance(one, ColourRange) for one in every):
        return tuple(pencil for one in every for pencil in one.pencils)
    if all(isinstance(one, Swatch) for one in every):
        return _together(every)
    return _of_colours(every)


def layer_of(asked: Any, known: NameIndex) -> Layer:
    """A layer: as it is, a pencil or colour with its pressure, or text such as `Shore:7 medium`.

    What is a bare colour is laid as a pencil of which nothing else is known.
    """
    if isinstance(asked, Layer):
        return asked
    what, pressure = asked, ""
    if isinstance(asked, tuple) and len(asked) == 2:
        what, pressure = asked
    elif isinstance(asked, str) and not asked.lstrip().startswith(("#", "lab(", "rgb(")):
        return find_layer(asked, known)
    elif isinstance(asked, str):
        before, _, last = asked.strip().rpartition(" ")
        if last.casefold() in list(Pressure):
            what, pressure = before, last
    laid = _word("pressure", str(pressure or Pressure.HEAVY), list(Pressure))
    found = find_target(what, known)
    if not isinstance(found, Swatch):
        found = Swatch(NO_RANGE, found.label, found.lab)
    return Layer(found, laid)


def _together(swatches: Iterable[Swatch]) -> tuple[Pencil, ...]:
    """Swatches of one address are of one pencil."""
    by_address: dict[str, list[Swatch]] = {}
    for swatch in swatches:
        by_address.setdefault(swatch.address, []).append(swatch)
    return tuple(Pencil(tuple(its)) for its in by_address.values())


def _of_colours(labs: Sequence[Any]) -> tuple[Pencil, ...]:
    """A pencil for each of L*, a*, b*, numbered."""
    try:
        rows = as_lab(labs, "swatches").reshape(-1, 3).tolist()
    except InputError as error:
        raise _no_pencils(labs) from error
    return tuple(
        Pencil((Swatch(NO_RANGE, str(place), (L, a, b)),))
        for place, (L, a, b) in enumerate(rows, start=1)
    )


def _no_pencils(source: object) -> InputError:
    return InputError(
        f"swatches: expected a library, ranges, swatches, colours of shape (n, 3) or a frame; "
        f"found {source!r:.60}."
    )


def _selection(which: Which, source: Pencils, *, owned: bool, wide: bool) -> Selection:
    ranges = which.get("ranges", ())
    names = (ranges,) if isinstance(ranges, str) else tuple(ranges)
    if isinstance(source, Library):
        names = tuple(source.known_range(name) for name in names)
    finishes = which.get("finishes", ())
    words = (finishes,) if isinstance(finishes, str) else finishes
    chosen = tuple(Finish(_word("finishes", word, list(Finish))) for word in words)
    return Selection(
        owned=bool(which.get("owned", owned)),
        ranges=names,
        finishes=chosen or (tuple(Finish) if wide else (Finish.PLAIN,)),
        include_discontinued=bool(which.get("include_discontinued", wide)),
        lightfast=_rule(which),
        for_laydown=bool(which.get("for_laydown", False)),
    )


def _rule(which: Which) -> tuple[Lightfastness, ...]:
    asked = which.get("min_lightfastness") or ()
    every = (asked,) if isinstance(asked, str | Lightfastness) else asked
    ratings = rule_of(*map(str, every))
    return least_ratings(FOR_SALE if which.get("for_sale") else (), ratings)


def _word(argument: str, word: str, known: Sequence[str]) -> str:
    """One of the words an argument takes, in any case."""
    folded = str(word).casefold()
    if folded not in known:
        raise InputError(f"expected one of {', '.join(known)}, found {word!r}.", argument=argument)
    return folded
