"""Colours in whatever unit, order or cells to the columns that a range file states them in.

Each step takes a grid and gives it back with what it found.
"""

import math
from collections.abc import Mapping, Sequence

from stopgap.library.ranges.understanding.contents import (
    hex_of,
    number,
    share,
    three_numbers,
    times,
)
from stopgap.library.ranges.understanding.grid import (
    CellGrid,
    Step,
    count_of,
    have,
    own_headings,
    repair,
)
from stopgap.library.ranges.understanding.vocabulary import is_title
from stopgap.library.tables.cells import kept

_FEWEST = 3  # colours from which a unit or an order can be told


def parted_colours(grid: CellGrid) -> Step:
    """Three numbers of one cell to a column each."""
    for together, titles in (("lab", ("L", "a", "b")), ("rgb", ("red", "green", "blue"))):
        if together not in grid.columns or set(titles) <= grid.columns.keys():
            continue
        cells = grid.columns[together]
        three = [three_numbers(cell) if cell else ("", "", "") for cell in cells]
        for place, title in enumerate(titles):
            column = [
                parts[place] if parts else cell for parts, cell in zip(three, cells, strict=True)
            ]
            grid = grid.with_column(title, column, grid.own[together])
    return grid.without(("lab", "rgb")), []


def _floats(grid: CellGrid, titles: Sequence[str]) -> dict[int, tuple[float, ...]]:
    """By their places, the rows in which all of these columns have a number."""
    if not set(titles) <= grid.columns.keys():
        return {}
    rows = zip(*(grid.columns[title] for title in titles), strict=True)
    return {
        place: tuple(map(float, cells))
        for place, cells in enumerate(rows)
        if all(number(cell) == cell and math.isfinite(float(cell)) for cell in cells if cell)
        and all(cells)
    }


def _scaled(grid: CellGrid, title: str, factor: str) -> CellGrid:
    cells = [
        times(cell, factor) if cell and number(cell) == cell else cell
        for cell in grid.columns[title]
    ]
    return grid.with_column(title, cells)


def _unit_of_lab(grid: CellGrid) -> Step:
    """L*, a*, b* that go from 0 to 1 instead of 0 to 100."""
    labs = list(_floats(grid, ("L", "a", "b")).values())
    if len(labs) < _FEWEST or "chroma" in grid.columns:
        return grid, []
    lightest = max(L for L, _, _ in labs)
    widest = max(max(abs(a), abs(b)) for _, a, b in labs)
    if lightest > 1.0 or min(L for L, _, _ in labs) < 0 or lightest == 0:
        return grid, []
    scaled = ("L",) if widest > 2.0 else ("L", "a", "b")
    before = grid
    for title in scaled:
        grid = _scaled(grid, title, "100")
    own = own_headings(grid, ("L", "a", "b"))
    what = "L goes" if scaled == ("L",) else f"{own} go"
    cells = before.found("L", dict(enumerate(grid.columns["L"])))
    text = f"{what} from 0 to 1 and {'was' if len(scaled) == 1 else 'were'} taken times 100"
    return grid, [repair("unit:lab", text, own, cells)]


def _order_of_lab(grid: CellGrid) -> Step:
    """L* that stands under another heading: only one of three columns lies within 0 to 100."""
    labs = list(_floats(grid, ("L", "a", "b")).values())
    if len(labs) < _FEWEST:
        return grid, []
    columns = list(zip(*labs, strict=True))

    def can_be_lightness(values: Sequence[float]) -> bool:
        return min(values) >= 0 and max(values) <= 100 and max(values) - min(values) > 1

    off = sum(not 0 <= L <= 100 for L in columns[0])
    fitting = [place for place in (1, 2) if can_be_lightness(columns[place])]
    if off < max(2, 0.1 * len(labs)) or len(fitting) != 1:
        return grid, []
    other = ("L", "a", "b")[fitting[0]]
    swapped = grid.with_column("L", grid.columns[other]).with_column(other, grid.columns["L"])
    own = f"{grid.own.get('L', 'L')} and {grid.own.get(other, other)}"
    text = f"Columns {own} look swapped and were taken the other way round"
    cells = grid.found("L", dict(enumerate(grid.columns[other])))
    return swapped, [repair(f"swap:L {other}", text, own, cells)]


def _unit_of_xyz(grid: CellGrid) -> Step:
    """X, Y, Z of a diffuser at Y = 1 instead of 100."""
    values = list(_floats(grid, ("X", "Y", "Z")).values())
    if len(values) < _FEWEST or max(map(max, values)) > 1.3 or max(map(max, values)) == 0:
        return grid, []
    before = grid
    for title in ("X", "Y", "Z"):
        grid = _scaled(grid, title, "100")
    cells = before.found("Y", dict(enumerate(grid.columns["Y"])))
    own = own_headings(grid, ("X", "Y", "Z"))
    return grid, [repair("unit:xyz", f"{own} go from 0 to 1 and were taken times 100", own, cells)]


def _from_cylinder(grid: CellGrid) -> Step:
    """a* and b* from chroma and hue (ISO/CIE 11664-4)."""
    if not {"L", "chroma", "hue"} <= grid.columns.keys():
        return grid, []
    rows = _floats(grid, ("chroma", "hue"))
    for title, part in (("a", math.cos), ("b", math.sin)):
        cells = [
            repr(rows[place][0] * part(math.radians(rows[place][1]))) if place in rows else cell
            for place, cell in enumerate(grid.columns["chroma"])
        ]
        grid = grid.with_column(title, cells, grid.own["chroma"])
    return grid.without(("chroma", "hue")), []


def _from_rgb(grid: CellGrid) -> Step:
    """Red, green and blue of sRGB to a hex, where the file has no better colour."""
    titles = ("red", "green", "blue")
    rows = _floats(grid, titles)
    if not set(titles) <= grid.columns.keys():
        return grid, []
    findings = []
    top = max((max(values) for values in rows.values()), default=255.0)
    factor = 1.0
    if rows and top <= 1.0:
        factor = 255.0
        text = f"{own_headings(grid, titles)} go from 0 to 1 and were taken times 255"
        findings.append(repair("unit:rgb", text, own_headings(grid, titles)))
    cells = []
    for place, texts in enumerate(zip(*(grid.columns[title] for title in titles), strict=True)):
        values = [round(value * factor) for value in rows.get(place, (-1.0,))]
        good = len(values) == 3 and all(0 <= value <= 255 for value in values)
        cells.append("#{:02x}{:02x}{:02x}".format(*values) if good else " ".join(texts).strip())
    own = own_headings(grid, titles)
    if "hex" not in grid.columns:
        grid = grid.with_column("hex", cells, own)
        return grid.without(titles), findings
    for title in titles:
        own = grid.own[title]
        grid = grid.with_column(kept(own) if is_title(own) else own, grid.columns[title])
    return grid.without(set(titles) - set(grid.own.values())), findings


def _hexes(grid: CellGrid) -> Step:
    """Hexes with their `#`; of bare digits that are too few, the zeros put back."""
    if "hex" not in grid.columns:
        return grid, []
    column, own = grid.columns["hex"], grid.own.get("hex", "hex")
    plain, repaired = list(column), {}
    for place, cell in enumerate(column):
        found = hex_of(cell)
        if found is None and cell.isdecimal() and len(cell) < 6:
            found = repaired[place] = f"#{cell.zfill(6)}"
        elif found is not None and len(cell) == 4:
            repaired[place] = found
        if found is not None and not (len(cell.lstrip("#")) == 6 and place not in repaired):
            plain[place] = found
    findings = []
    if repaired:
        text = f"{count_of(repaired)} of column {own} {have(repaired)} too few digits for a hex"
        findings.append(repair("hex:zeros", text, own, grid.found("hex", repaired)))
    return grid.with_column("hex", plain), findings


def three_columns(cells: Mapping[int, list[str]]) -> list[tuple[int, str]]:
    """Three numeric columns beside each other that can be L*, a*, b* or red, green, blue."""
    numeric = {
        place: [float(text) for cell in column if (text := number(cell)) is not None]
        for place, column in cells.items()
        if share(number, column) >= 0.7
    }
    for place in numeric:
        if not {place + 1, place + 2} <= numeric.keys():
            continue
        three = [numeric[place + step] for step in range(3)]
        titles = ("red", "green", "blue") if _can_be_rgb(*three) else ("L", "a", "b")
        if titles[0] == "red" or _can_be_lab(*three):
            return [(place + step, title) for step, title in enumerate(titles)]
    return []


def _can_be_rgb(*columns: Sequence[float]) -> bool:
    every = [value for column in columns for value in column]
    return all(value.is_integer() and 0 <= value <= 255 for value in every) and max(every) > 100


def _can_be_lab(lightness: Sequence[float], *others: Sequence[float]) -> bool:
    opponent = [value for column in others for value in column]
    within = min(lightness) >= 0 and max(lightness) <= 100 and max(map(abs, opponent)) <= 150
    return within and min(opponent) < 0


COLOUR_STEPS = (_unit_of_lab, _order_of_lab, _unit_of_xyz, _from_cylinder, _from_rgb, _hexes)
"""In their order, once numbers are plain."""
