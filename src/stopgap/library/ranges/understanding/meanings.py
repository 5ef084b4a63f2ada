"""What each column of a table holds, by its heading and by its contents."""

from collections.abc import Callable, Iterable, Mapping, Sequence
from functools import partial
from itertools import islice

from stopgap.errors import InputError
from stopgap.library.ranges.understanding.colouring import three_columns
from stopgap.library.ranges.understanding.contents import (
    are_codes,
    are_names,
    counted,
    counts_on,
    hex_of,
    is_lab,
    is_rgb,
    number,
    share,
)
from stopgap.library.ranges.understanding.grid import COLOUR_NUMBERS, wavelength_of
from stopgap.library.ranges.understanding.headings import Headed, is_spectrum
from stopgap.library.ranges.understanding.mapping import Basis, ColumnMapping, Use, has_colour
from stopgap.library.ranges.understanding.vocabulary import (
    KEEP,
    currency_of,
    meaning_of,
    without_currency,
    word_for,
)

_OPTIONAL_NUMBERS = ("price", "laydown", "passes", "uncertainty")
_WORDS = (
    *("owned", "missing", "discontinued", "available", "status"),
    *("finish", "core", "opacity", "stock"),
)

_MOST = 0.8  # of the cells of a column, that it is taken for what they are


def uses_of(table: Headed, stated: ColumnMapping) -> list[Use]:
    """What each column is taken for, in their order; a column of names alone is code and name.

    Raises
    ------
    InputError
        If no column holds a code or a name.
    """
    uses = _by_heading(table, stated)
    uses = [_fitting(use, table, uses) for use in uses]
    uses = _once_each(uses)
    uses = _by_contents(uses, table)
    if not any(use.means == "code" for use in uses):
        names = [use for use in uses if use.means == "name"]
        if not names:
            found = ", ".join(repr(title) for title in table.headings if title) or "nothing"
            raise InputError(
                "no column holds a code or a name, and none looks like it. The first row should "
                f"name the columns, one of them 'code'; found {found:.300}."
            )
        uses.append(names[0]._replace(means="code", basis=Basis.CONTENTS))
    return uses


def _by_heading(table: Headed, stated: ColumnMapping) -> list[Use]:
    spectral = is_spectrum([title for title in table.headings if wavelength_of(title) is not None])
    return [
        Use(place, title, KEEP, Basis.NOTHING)
        if place in table.bare and stated.means(title) is None
        else _headed_use(place, title, stated, spectral=spectral)
        for place, title in enumerate(table.headings)
        if title
    ]


def _headed_use(place: int, title: str, stated: ColumnMapping, *, spectral: bool) -> Use:
    """What a heading alone says of its column."""
    said = stated.means(title)
    found = meaning_of(title)
    wavelength = wavelength_of(title)
    nm = title.casefold().startswith("nm")
    if said:
        return Use(place, title, said, Basis.STATED, found.beside if found is not None else ())
    if wavelength is not None and (spectral or nm):
        own = title.casefold() in (f"nm{wavelength}", f"nm_{wavelength}")
        means = f"nm{wavelength}"
        return Use(place, title, means, Basis.CONTRACT if own else Basis.HEADING)
    if nm and title[2:].strip(" _")[:3].isdecimal():
        return Use(place, title, title, Basis.CONTRACT)  # nm402.5 and the like
    if found is not None:
        basis = Basis.CONTRACT if found.contract else Basis.HEADING
        return Use(place, title, found.title, basis, found.beside)
    return Use(place, title, KEEP, Basis.NOTHING)


def _fitting(use: Use, table: Headed, uses: Sequence[Use]) -> Use:
    """The use, or a better one where the cells do not look like what the heading says."""
    if use.basis is Basis.STATED:
        return use
    use = _beside_others(use, {other.means for other in uses})
    cells = table.column(use.place)
    if _is_mine(use, cells):
        return use._replace(means="owned", basis=Basis.CONTENTS)
    if use.basis is not Basis.HEADING or not any(cells):
        return use
    if use.means == "code":
        return _only_kept(use) if counts_on(cells) and _has_better_code(table, uses) else use
    if use.means in ("name", "hex", "lab", "rgb"):
        return _fitting_colour(use, cells)
    fits = share(_reader_of(use.means), cells) >= 0.5
    return use if fits else _headed_alike(use, cells)


def _is_mine(use: Use, cells: Sequence[str]) -> bool:
    """Whether cells below `status` or `stock` say nothing of it, but what is owned."""
    other = use.basis is not Basis.CONTRACT or use.means not in ("status", "stock")
    return not other and not share(partial(_has_word, use.means), cells) and _says_owned(cells)


def _has_better_code(table: Headed, uses: Sequence[Use]) -> bool:
    codes = (table.column(use.place) for use in uses if use.means == "code")
    return not all(map(counts_on, codes))


def _fitting_colour(use: Use, cells: Sequence[str]) -> Use:
    """A name or a colour, or the other of them that the cells look like."""
    if use.means == "rgb" and share(is_rgb, cells) >= _MOST:
        return use
    better = next((m for m, holds in _COLOURS.items() if share(holds, cells) >= _MOST), None)
    if better or use.means == "name":
        return use._replace(means=better or use.means)
    return _only_kept(use, use.means)


def _headed_alike(use: Use, cells: Sequence[str]) -> Use:
    """Bestand, état or Mine, where the cells say what else that means; else a column only kept."""
    for means in _ALIKE.get(use.means, ()):
        if share(_reader_of(means), cells) >= _MOST:
            return use._replace(means=means)
    return _only_kept(use, use.means)


_ALIKE = {
    "owned": ("stock", "core"),
    "status": ("stock",),
    "available": ("status",),
    "stock": ("owned",),
}
"""What else a heading of that meaning may mean, in another language or at all."""


def _reader_of(means: str) -> Callable[[str], object]:
    """What tells whether a cell can be what its column is said to hold."""
    if means in ("price", "set_price"):
        return _price
    if means in (*COLOUR_NUMBERS, *_OPTIONAL_NUMBERS):
        return number
    return partial(_has_word, means) if means in _WORDS else bool


def _only_kept(use: Use, passed_over: str = "") -> Use:
    return Use(use.place, use.heading, KEEP, Basis.NOTHING, passed_over=passed_over)


def _beside_others(use: Use, meant: set[str]) -> Use:
    """The use as what stands beside it lets it be: `b` is blue beside red and green."""
    if use.means == "b" and {"red", "green"} <= meant and not {"L", "a"} & meant:
        return use._replace(means="blue", basis=Basis.HEADING)
    alone = use.means in ("red", "green", "blue") and not {"red", "green"} <= meant
    plain = use.means in ("chroma", "hue") and (
        {"a", "b"} <= meant or not {"chroma", "hue", "L"} <= meant
    )
    return _only_kept(use) if alone or plain else use


_COLOURS: Mapping[str, Callable[[str], object]] = {
    "hex": lambda cell: hex_of(cell) if not cell.isdecimal() or len(cell) == 6 else None,
    "rgb": lambda cell: is_rgb(cell) and ("rgb" in cell.casefold() or not is_lab(cell)),
    "lab": is_lab,
}


def _has_word(means: str, cell: str) -> bool:
    field = "owned" if means in ("missing", "discontinued", "available") else means
    words = ("yes", "no", "y", "n", "true", "false", "1", "0", "x") if field == "owned" else ()
    return (
        word_for(field, cell) is not None
        or cell.casefold() in words
        or (field == "owned" and counted(cell) is not None)
    )


def _price(cell: str) -> bool:
    """Whether it is a price, or several with ; between them."""
    return any(number(without_currency(part)) for part in cell.split(";"))


def _once_each(uses: Sequence[Use]) -> list[Use]:
    """What two columns would hold is the first one's, or that of the contract's heading."""
    bases = list(Basis)
    best: dict[str, Use] = {}
    for use in sorted(
        uses, key=lambda use: (use.basis is not Basis.STATED, bases.index(use.basis))
    ):
        best.setdefault(use.means, use)
    kept = [
        use
        if use.means == KEEP or best[use.means] is use
        else _only_kept(use, "" if _plainly_second(use, best[use.means]) else use.means)
        for use in uses
    ]
    means = {use.means for use in kept}
    # more than one column of yes and no about the same thing: the plainest counts
    for plain, others in (("owned", ("missing",)), ("status", ("discontinued", "available"))):
        if plain in means:
            kept = [_only_kept(use, use.means) if use.means in others else use for use in kept]
    return kept


def _plainly_second(use: Use, first: Use) -> bool:
    """Whether a column that only may hold something stands beside one that says it does."""
    return use.basis is Basis.HEADING and first.basis is Basis.CONTRACT


def _by_contents(uses: list[Use], table: Headed) -> list[Use]:
    """Uses for columns of which nothing is known, where their cells look like what is lacking."""
    free = {use.place: use for use in uses if use.basis is Basis.NOTHING and not use.passed_over}
    cells = {place: table.column(place) for place in free}
    known = {use.means for use in uses}
    rows = sum(sum(map(bool, row.cells)) > 1 for row in table.body)
    taken: dict[int, str] = {} if has_colour(known) else _colours_in(cells)

    def take(means: str, holds: Callable[[list[str]], bool], among: Iterable[int]) -> None:
        if means not in known:
            found = (place for place in among if place not in taken and holds(cells[place]))
            taken.update(dict.fromkeys(islice(found, 1), means))

    take("code", lambda column: are_codes(column, rows), free)
    take("name", are_names, free)
    for means, holds in _HELD.items():
        take(means, holds, _only_one(holds, cells, table.bare.union(taken)))
    return [
        use._replace(means=taken[use.place], basis=Basis.CONTENTS) if use.place in taken else use
        for use in uses
    ]


def _only_one(
    holds: Callable[[list[str]], bool], cells: Mapping[int, list[str]], bare: frozenset[int]
) -> list[int]:
    """The places of columns that hold something, none where several headed ones do."""
    found = [place for place, column in cells.items() if holds(column)]
    return found if sum(place not in bare for place in found) <= 1 else []


def _says_owned(column: Sequence[str]) -> bool:
    return share(partial(_has_word, "owned"), column) == 1


def _are_owned(column: Sequence[str]) -> bool:
    """Whether a column says of pencils whether they are there; not by numbers alone."""
    return _says_owned(column) and any(cell and not cell.isdecimal() for cell in column)


def _are_statuses(column: Sequence[str]) -> bool:
    found = {word_for("status", cell) for cell in column if cell}
    return "discontinued" in found and None not in found


_HELD: Mapping[str, Callable[[list[str]], bool]] = {
    "status": _are_statuses,
    "owned": _are_owned,
    "price": lambda column: share(currency_of, column) >= _MOST,
}
"""What is guessed of a column by what it holds alone, where only one may hold it."""


def _colours_in(cells: Mapping[int, list[str]]) -> dict[int, str]:
    """The first columns that look like a colour, by their places."""
    for means, holds in _COLOURS.items():
        for place, column in cells.items():
            if share(holds, column) >= _MOST:
                return {place: means}
    return dict(three_columns(cells))
