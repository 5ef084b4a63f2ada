"""List files: colours that somebody calls for, pencils somebody owns, blends somebody wants."""

from collections.abc import Callable, Iterable, Iterator, Sequence
from contextlib import contextmanager, suppress
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeVar

from stopgap.errors import InputError, Problem, ProblemsInFile, StopgapError
from stopgap.library.files import called
from stopgap.library.name_index import NameIndex
from stopgap.library.targets import Askable, Known, find_several, find_swatch, find_target
from stopgap.swatches import Number, Swatch, Target, YesOrNo

if TYPE_CHECKING:
    from stopgap.library.tables.reader import Cells

Found = TypeVar("Found")
Row = TypeVar("Row", bound="Listed | ListedBlend")
Asked = TypeVar("Asked", bound="str | Listed | ListedBlend")
_WEIGHT = Number(0.0, None, "a weight above 0")
_STEP = Number(0.0, None, "a step above 0 in ΔE00")
_BLEND, _YES_OR_NO = ("name", "from", "to"), YesOrNo()
_UNDONE = "nothing was done."
_MOST_NAMED = 12


@dataclass(frozen=True, slots=True)
class Listed:
    """One row of a list: the colour as text, not yet looked up."""

    file: str
    row: int
    colour: str
    label: str = ""
    weight: float = 1.0
    paper: str = ""
    stage: str = ""

    @property
    def texts(self) -> tuple[tuple[str, str], ...]:
        """What is to be looked up, with its column."""
        return (("colour", self.colour),)


@dataclass(frozen=True, slots=True)
class ListedBlend:
    """One row of a blends file, or as a program says it: ends and stops, not yet looked up."""

    file: str
    row: int
    name: str
    start: Askable
    end: Askable
    step: float | None = None
    paper: str = ""
    stops: tuple[Askable, ...] = ()
    by_lightness: bool = False

    @property
    def texts(self) -> tuple[tuple[str, Any], ...]:
        """What is to be looked up, each with its column: the ends, then the stops."""
        return (("from", self.start), ("to", self.end), *(("via", each) for each in self.stops))


def read_list(path: Path) -> list[Listed]:
    """The rows of a list file: its column `colour`, or the first one where no row is a heading.

    It may be headed as people head it: Farbe, couleur, code, Nr. A first row is no heading where it
    stands alone in its row, or holds a figure, a colon or a colour. A row without a stage goes on
    with that of the row above.

    Raises
    ------
    InputError
        If the file cannot be read, has headings but no such column, or no row.
    ProblemsInFile
        With every weight that is no number above 0.
    """
    from stopgap.library.tables.reader import read_sheet

    known = ("colour", "label", "weight", "paper", "stage")
    sheet = read_sheet(path, known, known[:1], "colour", unheaded=known[:3], named=_headings)
    listed = [
        Listed(
            called(path),
            cells.row.number,
            cells.text("colour"),
            cells.text("label"),
            cells.above_zero("weight", _WEIGHT) or 1.0,
            cells.text("paper"),
            stage,
        )
        for cells, stage in zip(sheet.rows, _going_on(sheet.rows, "stage"), strict=True)
    ]
    sheet.raise_problems(_UNDONE)
    return listed


def _headings(cells: Sequence[str]) -> tuple[str, ...] | None:
    # much to import where headings are the known titles
    from stopgap.library.ranges.understanding.vocabulary import list_headings

    return list_headings(cells)


def read_blends(path: Path) -> list[ListedBlend]:
    """The rows of a blends file, which must have the columns `name`, `from`, `to`.

    It may be headed as people head it: Verlauf, von, bis; dégradé, de, à. `via` holds stops, parted
    by semicolons; `by_lightness` says yes where the way is measured by lightness alone.

    Raises
    ------
    InputError
        If the file cannot be read, lacks a column, or has no row.
    ProblemsInFile
        With every step that is no number above 0, and what says neither yes nor no.
    """
    from stopgap.library.ranges.understanding.vocabulary import blend_headings, yes_or_no
    from stopgap.library.tables.reader import read_sheet

    known = (*_BLEND, "step", "paper", "via", "by_lightness")
    sheet = read_sheet(path, known, _BLEND, "blend", named=blend_headings)
    listed = [
        ListedBlend(
            called(path),
            cells.row.number,
            cells.text("name"),
            cells.text("from"),
            cells.text("to"),
            cells.above_zero("step", _STEP),
            cells.text("paper"),
            tuple(stop for part in cells.text("via").split(";") if (stop := part.strip())),
            bool(cells.value("by_lightness", _YES_OR_NO, [yes_or_no(cells.text("by_lightness"))])),
        )
        for cells in sheet.rows
    ]
    sheet.raise_problems(_UNDONE)
    return listed


def by_paper(rows: Sequence[Row], asked: str | None = None) -> list[tuple[str | None, list[Row]]]:
    """The rows of a file by the paper they are for, `asked` where no row says it.

    A row that says none goes on with the paper of the row above, and one that stands above them
    all with the first there is; the rows that are given back say it.

    Raises
    ------
    ProblemsInFile
        Naming the first row that is for another paper than was asked.
    """
    paper = asked or next((row.paper for row in rows if row.paper), None)
    groups: dict[str | None, tuple[str | None, list[Row]]] = {}
    for row in rows:
        paper = row.paper or paper
        if asked is not None and row.paper and row.paper.casefold() != asked.casefold():
            expected = f"the paper that was asked for, {asked}"
            problem = Problem(row.row, "paper", row.paper, expected)
            raise ProblemsInFile(f"{row.file}: {_UNDONE}", [problem])
        key = None if paper is None else paper.casefold()
        named = row if row.paper == (paper or "") else replace(row, paper=paper or "")
        groups.setdefault(key, (paper, []))[1].append(named)
    return list(groups.values())


def list_text(rows: Iterable[tuple[str, str, float]]) -> bytes:
    """A list file of colours with their labels and weights, as `read_list` reads it."""
    from stopgap.library.tables.cells import TextRow, TextTable
    from stopgap.library.tables.formats.delimited import write_delimited

    table = [TextRow(1, ("colour", "label", "weight"))]
    for number, (colour, label, weight) in enumerate(rows, start=2):
        table.append(TextRow(number, (colour, label, f"{weight:.6g}")))
    return write_delimited(TextTable(table[0], tuple(table[1:]), {}))


@contextmanager
def located(listed: Listed | ListedBlend) -> Iterator[None]:
    """Say in which row of which file something went wrong."""
    try:
        yield
    except StopgapError as error:
        problem = Problem(listed.row, reason=str(error))
        raise ProblemsInFile(
            f"{listed.file}: {_UNDONE}", [problem], remedy=error.remedy, **error.details
        ) from error


def spread(rows: Iterable[Asked], known: Known) -> list[Asked]:
    """The rows, but that one of a list which names a range or a span is a row for each pencil.

    What cannot be looked up is left as it is, for who looks it up to say so.
    """
    index = NameIndex.of(known)
    every: list[Asked] = []
    for row in rows:
        each: list[Any] = []
        if isinstance(row, Listed):
            with suppress(StopgapError):
                several = find_several(row.colour, index)
                each = [replace(row, colour=swatch.address) for swatch in several]
        every += each if len(each) > 1 else [row]
    return every


def known_rows(
    rows: Sequence[Asked], known: Known, find: Callable[[str, NameIndex], object] = find_target
) -> tuple[list[Asked], StopgapError | None]:
    """What of texts or rows, once spread, is known, and what to say of the others."""
    index = NameIndex.of(known)
    rows = spread(rows, index)
    if len(rows) == 1 and isinstance(rows[0], str):
        try:
            find(rows[0], index)
        except StopgapError as error:
            return [], error
    wrong = [look_up(row, index, find)[1] for row in rows]
    problems = [problem for each in wrong for problem in each]
    if not problems:
        return list(rows), None
    kept = [row for row, each in zip(rows, wrong, strict=True) if not each]
    file = "" if isinstance(rows[0], str) else rows[0].file
    return kept, left_out(problems, file, alone=not kept)


def left_out(problems: Sequence[Problem], file: str = "", *, alone: bool = False) -> InputError:
    """What is said at the end of names that are not known, a line for each of the first.

    `alone` says that there were no others.
    """
    if alone and len(problems) == 1 and not file:
        return InputError(str(problems[0]))
    outcome = "nothing was changed" if alone else "the others were taken"
    names = "1 name is" if len(problems) == 1 else f"{len(problems)} names are"
    more = len(problems) - _MOST_NAMED
    rest = [f"and {more} more."] if more > 0 else []
    summary = f"{file}: {names} not known, {outcome}.".lstrip(": ")
    return InputError("\n  ".join([summary, *map(str, problems[:_MOST_NAMED]), *rest]))


def find_targets(
    rows: Sequence[Listed] | Sequence[ListedBlend], known: Known
) -> list[tuple[Target, ...]]:
    """What rows call for: one target for each row of a list, the ends and stops of each blend.

    Raises
    ------
    ProblemsInFile
        With every cell that names nothing, or several.
    """
    return _all_found(rows, known, find_target)


def find_swatches(rows: Sequence[Listed], known: Known) -> list[Swatch]:
    """The swatch for each row of a list; raises as `find_targets`."""
    return [swatch for (swatch,) in _all_found(rows, known, find_swatch)]


def _all_found(
    rows: Sequence[Listed] | Sequence[ListedBlend],
    known: Known,
    find: Callable[[str, NameIndex], Found],
) -> list[tuple[Found, ...]]:
    index = NameIndex.of(known)
    looked_up = [look_up(row, index, find) for row in rows]
    problems = [problem for _, wrong in looked_up for problem in wrong]
    if problems:
        raise ProblemsInFile(f"{rows[0].file}: {_UNDONE}", problems)
    return [tuple(found) for found, _ in looked_up]


def look_up(
    item: str | Listed | ListedBlend, index: NameIndex, find: Callable[[str, NameIndex], Found]
) -> tuple[list[Found], list[Problem]]:
    """What an item asks for, and what is wrong with it."""
    row, texts = (None, (("", item),)) if isinstance(item, str) else (item.row, item.texts)
    found, problems = [], []
    for column, text in texts:
        try:
            found.append(find(text, index))
        except StopgapError as error:
            problems.append(Problem(row, column, reason=str(error)))
    return found, problems


def _going_on(rows: "Iterable[Cells]", title: str) -> Iterator[str]:
    """What each row says under a heading, or the last above it that said something."""
    said = ""
    for cells in rows:
        said = " ".join(cells.text(title).split()) or said
        yield said
