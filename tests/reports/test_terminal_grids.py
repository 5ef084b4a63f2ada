"""Columns that share a page: by their definition, and against the tables of rich."""

import io
from collections import Counter

from hypothesis import given, settings
from hypothesis import strategies as st
from rich.console import Console as RichConsole
from rich.table import Table as RichTable

from stopgap.reports.blocks import Chip, Column, Grid, Report
from stopgap.reports.cells import cell_width
from stopgap.reports.console import Console
from stopgap.reports.grids import Demand, share
from stopgap.reports.render.terminal import render_terminal

reliably = settings(derandomize=True, deadline=None, max_examples=150)


@st.composite
def demands(draw):
    least, more, most = (draw(st.integers(0, 30)) for _ in range(3))
    return Demand(least + more + most, least + more, least)


@reliably
@given(st.lists(demands(), min_size=1, max_size=6), st.integers(-5, 200))
def test_columns_share_the_room_as_equally_as_they_can(columns, room):
    widths = share(columns, room)
    if widths is None:
        assert sum(column.least for column in columns) > room
        return
    by_words = sum(column.words for column in columns) <= room
    low = [column.words if by_words else column.least for column in columns]
    high = [column.natural if by_words else column.words for column in columns]
    assert sum(widths) == min(room, sum(high))
    assert all(map(lambda a, b, c: a <= b <= c, low, widths, high))
    for wide, least in zip(widths, low, strict=True):
        for narrow, most in zip(widths, high, strict=True):
            assert wide <= narrow + 1 or wide == least or narrow == most


def page(grid, width):
    return render_terminal(Report("test/1", {}, [grid]), Console(width))


def page_of_rich(grid, width):
    table = RichTable(box=None, padding=(0, 1, 0, 0), pad_edge=False)
    for column in grid.columns:
        side = "right" if column.number else "left"
        table.add_column(column.title, justify=side, no_wrap=column.number, overflow="fold")
    for place, row in enumerate(grid.rows):
        table.add_row(*row[:-1], "\n".join([row[-1], *grid.remarks.get(place, ())]))
    console = RichConsole(file=io.StringIO(), width=width, height=25, _environ={})
    with console.capture() as capture:
        console.print(table, highlight=False, markup=False, emoji=False)
    return "".join(f"{line.rstrip()}\n" for line in capture.get().splitlines())


word = st.text("abcXYZé海", min_size=1, max_size=6)
phrase = st.lists(word, max_size=6).map(" ".join)
number = st.integers(-999, 9999).map(str)


any_columns = st.lists(st.booleans(), max_size=4)
numbers_only = st.integers(0, 4).map(lambda count: [True] * count)


@st.composite
def grids(draw, *, kinds=any_columns, title=phrase):
    """Columns of numbers and of text, the last of text, with remarks below some rows."""
    numbers = [*draw(kinds), False]
    columns = [Column(draw(title), number=one) for one in numbers]
    row = st.tuples(*(number if one else phrase for one in numbers))
    rows = draw(st.lists(row, min_size=1, max_size=4))
    said = st.lists(phrase.filter(bool), min_size=1, max_size=2)
    return Grid(columns, rows, draw(st.dictionaries(st.integers(0, 3), said, max_size=2)))


@reliably
@given(grids(title=phrase.filter(bool)))
def test_a_table_with_room_is_as_rich_has_it(grid):
    # rich 15.0.0: rich.table.Table without box
    assert page(grid, 400) == page_of_rich(grid, 400)


@reliably
@given(grids(kinds=numbers_only, title=word), st.integers(45, 90))
def test_a_column_of_text_folds_as_rich_folds_it(grid, width):
    # rich 15.0.0: rich.table.Table without box; four numbers and titles take at most 52 cells
    assert page(grid, width + 8) == page_of_rich(grid, width + 8)


@reliably
@given(grids(), st.integers(4, 120))
def test_no_line_is_wider_than_the_page_and_nothing_is_lost(grid, width):
    text = page(grid, width)
    assert all(cell_width(line) <= width for line in text.splitlines())
    cells = [column.title for column in grid.columns]
    for place, row in enumerate(grid.rows):
        cells += [*row, *grid.remarks.get(place, ())]
    shown, asked = Counter("".join(text.split())), Counter("".join("".join(cells).split()))
    assert not asked - shown


@reliably
@given(grids(), st.integers(14, 120))
def test_numbers_are_never_broken(grid, width):
    text = page(grid, width)
    for row in grid.rows:
        for column, cell in zip(grid.columns, row, strict=True):
            assert not column.number or any(cell in line for line in text.splitlines())


NARROW = Grid(
    [
        Column("code"),
        Column("name"),
        Column("L*", number=True),
        Column("largest step", number=True),
    ],
    [("FM001", "Sandeel Gleam", "92.3", "2.0"), ("FM002", "", "88.0", "12.5")],
    {0: ["! lightfastness unknown"]},
)


def test_columns_give_up_width_down_to_their_words():
    grid = Grid(NARROW.columns, NARROW.rows)
    assert page(grid, 40).splitlines() == [
        "code  name            L* largest step",
        "FM001 Sandeel Gleam 92.3          2.0",
        "FM002               88.0         12.5",
    ]
    assert page(grid, 26).splitlines() == [
        "                   largest",
        "code  name      L*    step",
        "FM001 Sandeel 92.3     2.0",
        "      Gleam",
        "FM002         88.0    12.5",
    ]


def test_a_row_becomes_a_paragraph_where_columns_would_not_be_legible():
    assert page(NARROW, 24).splitlines() == [
        "code  name  L*",
        "  largest step",
        "FM001  Sandeel Gleam",
        "  L* 92.3  largest",
        "  step 2.0",
        "  ! lightfastness",
        "  unknown",
        "FM002  L* 88.0",
        "  largest step 12.5",
    ]


def test_columns_of_bare_chips_need_colours():
    lab = (50.0, 0.0, 0.0)
    columns = [Column(""), Column("named"), Column("text")]
    rows = [(Chip((lab,)), Chip((lab,), "slate"), "one"), ("", Chip((lab,)), "two")]
    grid = Grid(columns, rows)
    assert page(grid, 40).splitlines() == ["named text", "slate one", "      two"]
    coloured = render_terminal(
        Report("test/1", {}, [grid]), Console(40, styled=True, colours=2**24)
    )
    assert coloured.count("48;2;119;119;119") == 3


def test_titles_are_dim():
    styled = render_terminal(Report("test/1", {}, [NARROW]), Console(styled=True))
    assert styled.startswith("\x1b[2mcode\x1b[0m  \x1b[2mname\x1b[0m ")


def test_a_grid_of_nothing():
    assert page(Grid([], []), 40) == ""
    assert page(Grid([Column("a")], []), 40) == "a\n"
    assert page(Grid([Column("")], [("b",)]), 40) == "b\n"
