"""Numbers, codes, prices and words to what the contract takes, column by column.

Each step takes a grid and gives it back with what it found.
"""

from collections import Counter
from collections.abc import Mapping, Sequence

from stopgap.library.ranges.understanding.contents import (
    counted,
    date_in,
    number,
    numbered_names,
    shorter_numbers,
    thousands_mark,
    undated,
    zeros_lost,
)
from stopgap.library.ranges.understanding.grid import (
    CellGrid,
    Step,
    changes_of,
    count_of,
    have,
    repair,
    with_cells,
)
from stopgap.library.ranges.understanding.vocabulary import (
    currency_of,
    without_currency,
    word_for,
)
from stopgap.library.tables.cells import (
    Finding,
    FindingKind,
    FoundCell,
)
from stopgap.swatches import FIELDS, Text

_YES_MEANINGS: Mapping[str, tuple[str, Mapping[str, str]]] = {
    "missing": ("owned", {"yes": "no", "no": "yes"}),
    "discontinued": ("status", {"yes": "discontinued", "no": "current"}),
    "available": ("status", {"yes": "current", "no": "discontinued"}),
}


def _codes(grid: CellGrid) -> Step:
    """Codes that became dates, lost their zeros, gained a `.0` or stand before a name."""
    findings = []
    parted = numbered_names(grid.columns["code"])
    own = grid.own.get("code", "code")
    named = own != "code" and grid.columns.get("name", grid.columns["code"])
    if parted and grid.columns["code"] == named:
        codes, names = zip(*parted, strict=True)
        text = f"{count_of(codes)} of column {own} parted into code and name"
        cells = grid.found("code", dict(enumerate(codes)))
        findings.append(repair("code:name", text, own, cells))
        grid = grid.with_column("code", [*codes]).with_column("name", [*names])
    for cause, told, mended in (
        ("code:.0", "ended in .0", _whole),
        ("code:date", "became dates", undated),
        ("code:zeros", "probably lost zeros", zeros_lost),
    ):
        column, own = grid.columns["code"], grid.own.get("code", "code")
        taken = mended(column)
        if taken:
            text = f"{count_of(taken)} of column {own} {told}"
            findings.append(repair(cause, text, own, grid.found("code", taken)))
            grid = with_cells(grid, "code", taken)
    column, own = grid.columns["code"], grid.own.get("code", "code")
    dated = {place: code for place, code in enumerate(column) if date_in(code)}
    if dated:
        text = f"{count_of(dated)} of column {own} look like dates that a program made of codes; "
        found = grid.found("code", dated)
        text += "what they were cannot be told, and they are kept as they stand"
        findings.append(Finding(FindingKind.GUESS, "code:dates", text, own, found))
    shorter = shorter_numbers(column)
    if shorter:
        are = "is shorter" if len(shorter) == 1 else "are shorter"
        text = f"{count_of(shorter)} of column {own} {are} than others; zeros before may be lost"
        remark = repair("code:shorter", text, own, grid.found("code", shorter))
        findings.append(remark._replace(kind=FindingKind.REMARK))
    return grid, findings


def _whole(codes: Sequence[str]) -> dict[int, str]:
    """Whole numbers that were written with a decimal, if all of them were."""
    filled = {place: code for place, code in enumerate(codes) if code}
    if not all(code.endswith(".0") and code[:-2].isdecimal() for code in filled.values()):
        return {}
    return {place: code[:-2] for place, code in filled.items()}


def _gone_by_price(grid: CellGrid) -> Step:
    """A word in place of a price that says it is no longer made, where no column does."""
    if "price" not in grid.columns or {"status", *_YES_MEANINGS} & grid.columns.keys() - {
        "missing"
    }:
        return grid, []
    column, own = grid.columns["price"], grid.own.get("price", "price")
    gone = {
        place: "discontinued"
        for place, cell in enumerate(column)
        if word_for("status", cell) == "discontinued"
    }
    if not gone:
        return grid, []
    statuses = [gone.get(place, "") for place in range(len(column))]
    findings = [_worded("price", own, grid.found("price", gone))]
    grid = with_cells(grid, "price", dict.fromkeys(gone, ""))
    return grid.with_column("status", statuses), findings


def _prices(grid: CellGrid) -> Step:
    """Prices without the sign of their currency, which gets a column of its own."""
    findings: list[Finding] = []
    for title in ("price", "set_price"):
        if title in grid.columns:
            grid, found = _priced(grid, title)
            findings += found
    return grid, findings


def _priced(grid: CellGrid, title: str) -> Step:
    column, own = grid.columns[title], grid.own.get(title, title)
    parts = [cell.split(";") if title == "set_price" else [cell] for cell in column]
    mark = thousands_mark([without_currency(part) for each in parts for part in each])
    plain = [
        ";".join(number(without_currency(part), thousands=mark) or part for part in each)
        for each in parts
    ]
    changed = changes_of([cell.replace(",", ".") for cell in column], plain)
    currencies = [currency_of(each[0]) or "" for each in parts]
    findings = []
    if changed:
        signs = " and ".join(dict.fromkeys(filter(None, currencies)))
        text = f"{count_of(changed)} of column {own} {have(changed)} more than a plain number"
        text += f"; the currency {signs} was kept beside it" if signs else ""
        findings.append(repair(f"number:{title}", text, own, grid.found(title, changed)))
    grid = grid.with_column(title, plain)
    return _with_currency(grid, currencies, own, column), findings


def _with_currency(
    grid: CellGrid, currencies: list[str], heading: str, prices: Sequence[str]
) -> CellGrid:
    """The grid with the currencies that prices, else their heading, were written with."""
    if not any(currencies):
        of_heading = currency_of((heading.split() or [""])[-1]) or ""
        currencies = [of_heading if cell else "" for cell in prices]
    new = any(currencies) and "currency" not in grid.columns
    return grid.with_column("currency", currencies) if new else grid


def _words(grid: CellGrid) -> Step:
    """Words of six languages for the contract's, column by column."""
    findings = []
    for title in list(grid.columns):
        field, turned = _YES_MEANINGS.get(title, (title, {}))
        if field not in _WORDED:
            continue
        column, own = grid.columns[title], grid.own.get(title, title)
        if field == "owned" and not _TICKS.isdisjoint(column):
            column = ["no" if cell in ("o", "O") else cell for cell in column]  # wished for
        plain = [_word(field, turned, cell) for cell in column]
        if turned and turned["no"] not in plain:
            plain = [text or turned["no"] for text in plain]  # only what is so is marked
        cells = grid.found(title, changes_of(grid.columns[title], plain))
        if cells:
            findings.append(_worded(title, own, cells))
        if title != field:
            grid = grid.without((title,))
        grid = grid.with_column(field, plain, own)
    return grid, findings


def _owned_by_stock(grid: CellGrid) -> Step:
    """What is left of a pencil says that it is owned, where no column does."""
    if "stock" not in grid.columns or "owned" in grid.columns:
        return grid, []
    column, own = grid.columns["stock"], grid.own.get("stock", "stock")
    owned = {"full": "yes", "half": "yes", "stub": "yes", "empty": "yes", "none": "no"}
    plain = [owned.get(cell.casefold(), "") for cell in column]
    yours = {place: "yes" for place, cell in enumerate(plain) if cell == "yes"}
    if not yours:
        return grid, []
    text = f"{count_of(yours)} of column {own} {have(yours)} or had some left: counted as owned"
    finding = Finding(FindingKind.REMARK, "owned:stock", text, own, grid.found("stock", yours))
    return grid.with_column("owned", plain), [finding]


def _worded(title: str, own: str, cells: Sequence[FoundCell]) -> Finding:
    """The guess that words are; each is a cause of its own."""
    said = Counter((cell.found, cell.taken) for cell in cells).most_common()
    pairs = [f"{found or 'nothing'} as {taken}" for (found, taken), _ in said]
    more = f" and {len(pairs) - 6} more words" if len(pairs) > 6 else ""
    say = "says" if len(cells) == 1 else "say"
    text = f"{count_of(cells)} of column {own} {say} a word for it: {', '.join(pairs[:6])}{more}"
    causes = sorted(f"words:{title}:{found}={taken}" for (found, taken), _ in said)
    return Finding(FindingKind.GUESS, "\n".join(causes), text, own, tuple(cells))


_TICKS = frozenset("xX×✓✔✗✘")
_WORDED = ("owned", "status", "finish", "core", "opacity", "stock", "avoid", "pressure")


def _word(field: str, turned: Mapping[str, str], cell: str) -> str:
    """The contract's word for a cell; the cell itself where it is one, or nobody would know."""
    if not cell:
        return cell
    asked = "owned" if turned else field
    found = word_for(asked, cell)
    anything = isinstance(FIELDS[asked].kind, Text)
    if _reads(asked, cell) and not turned and not (anything and found):
        return cell
    if asked == "owned" and found is None:
        if _reads("owned", cell):
            found = "yes" if FIELDS["owned"].kind.read(cell) else "no"
        elif (count := counted(cell)) is not None:
            found = "yes" if count else "no"
    return turned.get(found, found) if found is not None else cell


def _reads(field: str, *cells: str) -> bool:
    try:
        FIELDS[field].kind.read(*cells)
    except ValueError:
        return False
    return True


def _unreadable(grid: CellGrid) -> Step:
    """Cells of what is optional that cannot be read go to a column of their own, as texts."""
    findings = []
    for field in FIELDS.values():
        title = field.name
        if title in ("code", "name", "lab") or title not in grid.columns:
            continue
        beside = [grid.columns.get(more, [""] * len(grid.numbers)) for more in field.titles[1:]]
        column, own = grid.columns[title], grid.own.get(title, title)
        bad = {
            place: ""
            for place, cell in enumerate(column)
            if cell and not _reads(title, cell, *(cells[place] for cells in beside))
        }
        if not bad:
            continue
        example = column[next(iter(bad))]
        expected = field.kind.expected
        text = (
            f"{count_of(bad)} of column {own} {'is' if len(bad) == 1 else 'are'} not {expected} "
            f"({example!r:.30}): kept as a text, not as {title}"
        )
        kind = FindingKind.KEPT
        findings.append(Finding(kind, f"text:{title}", text, own, grid.found(title, bad)))
        kept = [cell if place in bad else "" for place, cell in enumerate(column)]
        grid = with_cells(grid, title, bad).with_column(f"{own} (as written)", kept)
    return grid, findings


VALUE_STEPS = (_codes, _gone_by_price, _prices, _words, _unreadable, _owned_by_stock)
"""In their order, once colours are in their columns."""
