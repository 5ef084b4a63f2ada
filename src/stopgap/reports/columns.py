"""The fields of an answer, each written once: its key, where it comes from, and how it is shown.

A row of an answer is shown three times: as an object in JSON, as cells of CSV, and as cells of a
grid on a page. A field says all three, so that none can be forgotten when one is added.
"""

from collections.abc import Callable, Iterable, Mapping, Sequence
from functools import partial
from operator import attrgetter
from types import MappingProxyType
from typing import Any, Generic, NamedTuple, TypeVar

from stopgap.reports.blocks import Chip, Column, Figures, Grid
from stopgap.reports.wording import swatch_data
from stopgap.swatches import LaidStack, Layer, Stack, Swatch, Target

T = TypeVar("T")
Shown = Callable[[Any], str | Chip]
NOWHERE: Mapping[str, Callable[[Any], Any]] = MappingProxyType({})
"""The columns of a field that CSV leaves out."""


def as_it_is(value: Any) -> Any:
    """The value."""
    return value


class RowField(NamedTuple, Generic[T]):
    """One field of the rows of an answer.

    `get` makes its value of a row. `data` makes what stands in JSON of that value, None where
    nothing does; `cells` are its columns in CSV, by default one of the same key; `shown` is what
    stands on a page, in a column `title`, on the right of it where it is a `number`.
    """

    key: str
    get: Callable[[T], Any]
    data: Callable[[Any], Any] | None = as_it_is
    cells: Mapping[str, Callable[[Any], Any]] | None = None
    shown: Shown = str
    title: str = ""
    number: bool = False


def plain(*keys: str) -> list[RowField[Any]]:
    """Fields that are attributes of a row and the same in JSON and CSV."""
    return [RowField(key, attrgetter(key)) for key in keys]


def decimal(key: str, title: str, get: Callable[[Any], Any] | None = None) -> RowField[Any]:
    """A figure with one decimal on a page for who measures, empty there where it is None."""
    return RowField(
        key, get or attrgetter(key), shown=one_decimal, title=Figures(title), number=True
    )


def one_decimal(value: float | None) -> str:
    """A number with one decimal, empty for None."""
    return "" if value is None else f"{value:.1f}"


def only_shown(key: str, shown: Shown, title: str = "", *, number: bool = False) -> RowField[Any]:
    """A field of pages alone, made of the whole row."""
    return RowField(key, as_it_is, None, NOWHERE, shown, title, number)


def coordinate(place: int, swatch: Swatch) -> float | None:
    """L*, a* or b* of a swatch, None of a name."""
    return swatch.lab[place] if swatch.coloured else None


def swatch_chip(swatch: Swatch) -> Chip | str:
    """The colour of a swatch, nothing of a name."""
    return Chip((swatch.lab,)) if swatch.coloured else ""


SWATCH_CELLS: Mapping[str, Callable[[Swatch], Any]] = MappingProxyType(
    {
        "range": attrgetter("range"),
        "code": attrgetter("code"),
        "name": attrgetter("name"),
        "owned": attrgetter("owned"),
        "status": lambda swatch: str(swatch.status),
        "lightfastness": lambda swatch: str(swatch.lightfastness or ""),
        "L": partial(coordinate, 0),
        "a": partial(coordinate, 1),
        "b": partial(coordinate, 2),
    }
)
"""The columns of a swatch in CSV."""
NAMED = ("range", "code", "name", "lightfastness")
"""Those of a swatch where its colour is not asked for."""


def key_cells(prefix: str) -> Mapping[str, Callable[[Any], str]]:
    """The columns by which a swatch, or what stands in its place, joins a range, and its rating:
    empty without.
    """

    def part(name: str) -> Callable[[Any], str]:
        return lambda one: getattr(one, name) if isinstance(one, Swatch) else ""

    cells = {f"{prefix}_{name}": part(name) for name in ("range", "code")}
    return {**cells, f"{prefix}_lightfastness": lambda one: str(part("lightfastness")(one) or "")}


def layer_cells(*names: str) -> Mapping[str, Callable[[Stack], str]]:
    """The columns of each of so many layers: its address, its key, and how hard it is laid."""

    def part(place: int, get: Callable[[Layer], str]) -> Callable[[Stack], str]:
        return lambda stack: get(stack[place]) if place < len(stack) else ""

    return {
        f"{name}{ending}": part(place, get)
        for place, name in enumerate(names)
        for ending, get in _LAYER_CELLS.items()
    }


_LAYER_CELLS: Mapping[str, Callable[[Layer], str]] = {
    "": attrgetter("swatch.address"),
    "_range": attrgetter("swatch.range"),
    "_code": attrgetter("swatch.code"),
    "_pressure": attrgetter("pressure"),
    "_lightfastness": lambda layer: str(layer.swatch.lightfastness or ""),
}


def laid_cells(first: str = "given", second: str = "then") -> Mapping[str, Callable[[Any], str]]:
    """The keys of what is laid, one pencil or two, and how hard; empty where nothing is."""

    def of_its_stack(cell: Callable[[Stack], str]) -> Callable[[LaidStack | None], str]:
        return lambda laid: "" if laid is None else cell(laid.stack)

    cells = layer_cells(first, second)
    return {name: of_its_stack(cells[name]) for name in cells if name not in (first, second)}


def asked_field(asked: Target) -> RowField[Any]:
    """What every row is about, in CSV alone: what it is called, its key and its colour."""

    def always(value: Any) -> Callable[[Any], Any]:
        return lambda _: value

    called = asked.address if isinstance(asked, Swatch) else asked.label
    colour = {f"asked_{name}": always(value) for name, value in zip("Lab", asked.lab, strict=True)}
    cells = {"asked": always(called), **key_cells("asked"), **colour}
    return RowField("asked", always(asked), None, cells)


def swatch_field(
    columns: Iterable[str],
    get: Callable[[Any], Swatch] = attrgetter("swatch"),
    *,
    shown: Shown = str,
    title: str = "",
) -> RowField[Any]:
    """The swatch of a row: one object in JSON, the named columns of SWATCH_CELLS in CSV."""
    cells = {name: SWATCH_CELLS[name] for name in columns}
    return RowField("swatch", get, swatch_data, cells, shown, title)


def data_of(fields: Sequence[RowField[T]], rows: Iterable[T]) -> list[dict[str, Any]]:
    """The rows as objects of JSON."""
    return [
        {field.key: field.data(field.get(row)) for field in fields if field.data is not None}
        for row in rows
    ]


def titles_of(fields: Sequence[RowField[T]]) -> tuple[str, ...]:
    """The columns in CSV."""
    return tuple(title for field in fields for title in _cells(field))


def cells_of(fields: Sequence[RowField[T]], rows: Iterable[T]) -> list[tuple[Any, ...]]:
    """The rows in CSV."""
    return [
        tuple(
            cell(value)
            for field in fields
            for value in [field.get(row)]
            for cell in _cells(field).values()
        )
        for row in rows
    ]


def grid_of(
    fields: Sequence[RowField[T]],
    keys: Iterable[str],
    rows: Sequence[T],
    remarks: Callable[[T], Sequence[str]] | None = None,
) -> Grid:
    """The fields of `keys` in that order as a grid, with what is remarked below each row."""
    by_key = {field.key: field for field in fields}
    chosen = [by_key[key] for key in keys]
    said = {} if remarks is None else {place: remarks(row) for place, row in enumerate(rows)}
    return Grid(
        [Column(field.title, field.number) for field in chosen],
        [[field.shown(field.get(row)) for field in chosen] for row in rows],
        {place: texts for place, texts in said.items() if texts},
    )


def _cells(field: RowField[T]) -> Mapping[str, Callable[[Any], Any]]:
    return {field.key: as_it_is} if field.cells is None else field.cells
