"""Frames of pandas: pencils there and back, answers as rows; pandas is imported when it is asked.

A frame of pencils has the columns of a range file, numbers as numbers, with `range` and `source`
before them, and is read as a range file is: what holds for a file holds for a frame. A frame of an
answer has the columns of its CSV.
"""

from collections.abc import Iterable, Mapping, Sequence
from functools import lru_cache
from typing import TYPE_CHECKING, Any

from stopgap.errors import InputError
from stopgap.library import Convention, ListedBlend, RangeDraft, range_table
from stopgap.library.ranges.reading import draft_of
from stopgap.library.tables.cells import TextRow, TextTable
from stopgap.library.tables.columns import KNOWN
from stopgap.library.tables.reader import sheet_of
from stopgap.swatches import FIELDS, Number, Source, Swatch, WholeNumber, YesOrNo

if TYPE_CHECKING:
    from pandas import DataFrame

NO_RANGE = "colours"
"""The range of pencils of which nothing but a colour is known."""
_KEYS = ("range", "source")
_NAMED = "frame"


def frame_of(swatches: Sequence[Swatch]) -> "DataFrame":
    """A row for every swatch, its key and its colour among the columns."""
    import pandas

    table = range_table(swatches, "CSV")
    columns: dict[str, Any] = {
        "range": [swatch.range for swatch in swatches],
        "source": [str(swatch.source) for swatch in swatches],
    }
    for place, title in enumerate(table.header.cells):
        columns[title] = _typed(title, [row.cells[place] for row in table.rows])
    return pandas.DataFrame(columns)


def from_frame(frame: "DataFrame") -> tuple[Swatch, ...]:
    """The swatches of a frame, read as the rows of a range file are.

    It needs the column `code` and a colour: `L`, `a`, `b`, or `X`, `Y`, `Z`, or `hex`, or `nm400`,
    `nm410`, …; a row without `range` is of the range "colours". What `to_frame` made of swatches
    comes back as it was, but for readings and their covariance, which no range file holds.

    Raises
    ------
    InputError
        If a column is missing.
    ProblemsInFile
        With every cell that is not as expected.

    Examples
    --------
    >>> import stopgap
    >>> with stopgap.demo_library() as library:
    ...     swatches = library.swatches()
    >>> stopgap.from_frame(stopgap.to_frame(swatches)) == swatches
    True
    """
    cells = _cells(frame)
    count = len(frame)
    ranges = [name or NO_RANGE for name in cells.get("range", [""] * count)]
    sources = cells.get("source", [""] * count)
    found: dict[int, Swatch] = {}
    for name, source in dict.fromkeys(zip(ranges, sources, strict=True)):
        places = [at for at in range(count) if (ranges[at], sources[at]) == (name, source)]
        draft = _draft(cells, places, name, Convention(source=_source(source)))
        found |= zip(places, _in_order(draft, cells, places), strict=True)
    return tuple(found[place] for place in range(count))


def draft_of_frame(frame: "DataFrame", name: str, convention: Convention) -> RangeDraft:
    """The range in a frame, as `read_range` reads a file; raises as `from_frame` does."""
    cells = _cells(frame)
    return _draft(cells, list(range(len(frame))), name, convention)


def colours_of(frame: "DataFrame") -> list[Any]:
    """The colours of a frame, with labels and weights: its column `colour`, else L, a, b.

    Raises
    ------
    InputError
        If it has neither, or a weight is no number.
    """
    titles = _titles(frame)
    if "colour" in titles:
        asked: Iterable[Any] = frame[titles["colour"]]
    elif {"l", "a", "b"} <= titles.keys():
        asked = frame[[titles[each] for each in "lab"]].to_numpy(dtype=float)
    else:
        raise InputError("expected a column colour, or L, a, b.", argument="colours")
    labels = _texts(frame, titles, "label")
    weights = [_number(text, "weight") or 1.0 for text in _texts(frame, titles, "weight")]
    return list(zip(asked, labels, weights, strict=True))


def blends_of_frame(frame: "DataFrame") -> list[ListedBlend]:
    """The blends of a frame with the columns of a blends file; see `read_blends`.

    Raises
    ------
    InputError
        If it has not `from` and `to`, or a step is no number.
    """
    titles = _titles(frame)
    if not {"from", "to"} <= titles.keys():
        raise InputError("expected the columns from and to.", argument="blends")
    named = ("name", "from", "to", "step", "via", "by_lightness")
    columns = (_texts(frame, titles, name) for name in named)
    return [
        ListedBlend(
            "blends",
            place,
            name or f"blend {place}",
            start,
            end,
            _number(step, "step"),
            stops=tuple(filter(None, map(str.strip, via.split(";")))),
            by_lightness=_yes(by_lightness),
        )
        for place, (name, start, end, step, via, by_lightness) in enumerate(
            zip(*columns, strict=True), start=1
        )
    ]


def _yes(text: str) -> bool:
    try:
        return bool(text) and bool(YesOrNo().read(text))
    except ValueError:
        told = f"expected yes or no, found {text!r}."
        raise InputError(told, argument="by_lightness") from None


def _titles(frame: "DataFrame") -> dict[str, Any]:
    return {str(title).casefold(): title for title in frame.columns}


def _texts(frame: "DataFrame", titles: Mapping[str, Any], name: str) -> list[str]:
    """A column as texts, empty where there is none."""
    if name not in titles:
        return [""] * len(frame)
    return _cells(frame[[titles[name]]])[str(titles[name])]


def _number(text: str, argument: str) -> float | None:
    try:
        return float(text) if text else None
    except ValueError:
        raise InputError(f"expected a number, found {text!r}.", argument=argument) from None


@lru_cache(maxsize=1)
def _kinds() -> Mapping[str, Any]:
    return {title: row.kind for row in FIELDS.values() for title in row.titles}


def _typed(title: str, cells: list[str]) -> Any:
    """A column of text cells as what it holds: numbers, yes and no as booleans, else text."""
    import pandas

    kind = _kinds().get(title)
    if isinstance(kind, WholeNumber):
        return pandas.array([int(cell) if cell else None for cell in cells], dtype="Int64")
    if title in ("L", "a", "b") or isinstance(kind, Number) or title.startswith("nm"):
        return [float(cell) if cell else float("nan") for cell in cells]
    if isinstance(kind, YesOrNo):
        return [kind.read(cell) if cell else False for cell in cells]
    return cells


def _cells(frame: "DataFrame") -> dict[str, list[str]]:
    """The columns as text cells, as a range file has them."""
    import pandas

    if not isinstance(frame, pandas.DataFrame):
        raise InputError(f"expected a frame of pandas, found {frame!r:.60}.", argument="frame")

    def text(value: Any) -> str:
        if value is None or value is pandas.NA or value != value:
            return ""
        if hasattr(value, "item"):
            value = value.item()
        if isinstance(value, bool):
            return "yes" if value else "no"
        return value if isinstance(value, str) else repr(value)

    return {str(title): [text(value) for value in frame[title]] for title in frame.columns}


def _draft(
    cells: Mapping[str, list[str]], places: list[int], name: str, convention: Convention
) -> RangeDraft:
    titles = [title for title in cells if title not in _KEYS]
    rows = [
        TextRow(number, tuple(cells[title][place] for title in titles))
        for number, place in enumerate(places, start=1)
    ]
    table = TextTable(TextRow(0, tuple(titles)), tuple(rows), {})
    sheet = sheet_of(table, _NAMED, KNOWN, ("code",), "pencil", spectra=True)
    return draft_of(sheet, name, convention)


def _in_order(draft: RangeDraft, cells: Mapping[str, list[str]], places: list[int]) -> list[Swatch]:
    """The swatches in the order of the rows, which the draft puts together by pencil."""
    by_code: dict[str, list[Swatch]] = {}
    for swatch, _ in draft.swatches:
        by_code.setdefault(swatch.code, []).append(swatch)
    return [by_code[cells["code"][place].strip()].pop(0) for place in places]


def _source(word: str) -> Source | None:
    if not word:
        return None
    try:
        return Source(word.casefold())
    except ValueError:
        expected = ", ".join(Source)
        raise InputError(
            f"expected one of {expected}, found {word!r}.", argument="source"
        ) from None
