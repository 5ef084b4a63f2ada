"""What a cell holds, by itself: a number as people write it, a hex, three numbers, a lost code.

Everything here is a pure function of texts. Numbers come back as text with a point, which the
contract's own reading takes to the last bit.
"""

import re
from collections.abc import Callable, Mapping, Sequence
from decimal import Decimal, InvalidOperation
from itertools import pairwise

from stopgap.swatches.kinds import PLAIN_NUMBER

_SPACES = re.compile(r"(?<=\d)[\s\u00a0\u202f'’](?=\d)")
_HEX = re.compile(r"(?:#|0x)?([0-9a-f]{6})", re.IGNORECASE)
_SHORT_HEX = re.compile(r"#([0-9a-f]{3})", re.IGNORECASE)
_LETTERS_OF_LAB = re.compile(r"(?:cie)?lab|rgb|rvb|[lab]\s*\*?\s*[:=]?(?=\s*[-+\d])", re.IGNORECASE)
_DATES = (
    re.compile(r"(?P<year>\d{4})-(?P<month>\d\d)-(?P<day>\d\d)(?:[T ]00:00(?::00)?(?:\.0+)?)?"),
    re.compile(r"(?P<day>\d{1,2})\.(?P<month>\d{1,2})\.(?P<year>\d{4})"),
    re.compile(r"(?P<day>\d{1,2})[-. ]+(?P<name>[^\W\d]{3,5})\.?(?:[-. ]+(?P<year>\d{2,4}))?"),
    re.compile(r"(?P<name>[^\W\d]{3,5})\.?[-. ]+(?P<day>\d{1,2})"),
)
_NUMBERED = re.compile(
    r"#?([A-Za-z]{0,4}[-.]?\d{1,6}[A-Za-z]?)(?:\s*[:–—|/]\s*|\s+(?:-\s+)?)([^\W\d].*)"
)
_COUNTED = re.compile(
    r"(\d{1,3})\s*(?:[x×]|st(?:k|ck|uck|ück|uk|uks)?|p(?:cs?|zz?|ieces?)|u(?:ds?|n)?)?\.?",
    re.IGNORECASE,
)
_TWO_NUMBERS = re.compile(r"(\d{1,3})([-./ ])(\d{1,3})")
_MONTHS = (
    *(["jan", "ene", "gen"], ["feb", "fév", "fev"], ["mar", "mär", "mrz", "maa", "mrt"]),
    *(["apr", "avr", "abr"], ["may", "mai", "mag", "mei"], ["jun", "juin", "giu"]),
    *(["jul", "juil", "lug"], ["aug", "aoû", "ago"], ["sep", "set"]),
    *(["oct", "okt", "ott"], ["nov"], ["dec", "dez", "déc", "dic"]),
)


def number(cell: str, *, thousands: str = "") -> str | None:
    """A number with a decimal point, however it was written; None where it is none.

    `thousands` is the mark that parts thousands in this column, where that is known.

    >>> number("−3,25"), number("1.234,5"), number("45,2 %"), number("blue")
    ('-3.25', '1234.5', '45.2', None)
    """
    text = cell.strip().replace("−", "-").rstrip("%° ")
    text = re.sub(r"^[–—]\s*(?=[\d.,])", "-", text)
    text = _SPACES.sub("", text)
    if thousands:
        text = text.replace(thousands, "")
    comma, point = text.rfind(","), text.rfind(".")
    if comma >= 0 and point >= 0:
        text = text.replace("," if comma < point else ".", "")
    if text.count(",") > 1:
        text = text.replace(",", "")
    elif text.count(".") > 1:
        text = text.replace(".", "")
    text = text.replace(",", ".")
    return text if PLAIN_NUMBER.fullmatch(text) else None


def thousands_mark(cells: Sequence[str]) -> str:
    """The mark that parts thousands in a column, where another one is the decimal mark of it."""
    decimals = {
        mark for mark in ",." if any(re.search(rf"\{mark}\d{{1,2}}$", cell) for cell in cells)
    }
    parted = {
        mark for mark in ",." if any(re.search(rf"\d\{mark}\d{{3}}$", cell) for cell in cells)
    }
    marks = parted - decimals
    return marks.pop() if len(marks) == 1 and decimals else ""


def share(holds: Callable[[str], object], cells: Sequence[str]) -> float:
    """Of cells that are not empty, how many hold; 0 where all are empty."""
    filled = [cell for cell in cells if cell]
    return sum(bool(holds(cell)) for cell in filled) / len(filled) if filled else 0.0


def hex_of(cell: str) -> str | None:
    """A hex as `#rrggbb`, whatever stands before it; of six digits, lost zeros put back."""
    found = _HEX.fullmatch(cell)
    if found:
        return f"#{found[1].lower()}"
    short = _SHORT_HEX.fullmatch(cell)
    if short:
        return "#" + "".join(2 * digit for digit in short[1].lower())
    return None


def three_numbers(cell: str) -> tuple[str, str, str] | None:
    """Three numbers of one cell, with points: `45,2; -3,1; 20`, `lab(45.2 -3.1 20)`, `L45 a-3 b20`.

    >>> three_numbers("45,2 / -3,1 / 20,0")
    ('45.2', '-3.1', '20.0')
    """
    text = _LETTERS_OF_LAB.sub(" ", cell.replace("−", "-")).strip(" ()[]{}")
    for mark in (r"\s*[;/|]\s*", r"\s*,\s+|\s+", r"\s*,\s*", r"(?<=\d)-(?=\d)"):
        parts = [part for part in re.split(mark, text.strip()) if part]
        numbers = [number(part) for part in parts]
        if len(parts) == 3 and all(numbers):
            return (str(numbers[0]), str(numbers[1]), str(numbers[2]))
    parts = text.split(",")
    if len(parts) == 6:
        pairs = [
            number(f"{whole.strip()}.{rest.strip()}")
            for whole, rest in zip(parts[::2], parts[1::2])
        ]
        if all(pairs):
            return (str(pairs[0]), str(pairs[1]), str(pairs[2]))
    return None


def is_rgb(cell: str) -> bool:
    """Whether a cell holds three whole numbers from 0 to 255."""
    three = three_numbers(cell)
    return three is not None and all(part.isdigit() and int(part) <= 255 for part in three)


def is_lab(cell: str) -> bool:
    """Whether a cell holds three numbers that can be L*, a*, b*."""
    three = three_numbers(cell)
    return (
        three is not None
        and 0 <= float(three[0]) <= 100
        and all(abs(float(part)) <= 150 for part in three[1:])
    )


def times(cell: str, factor: str) -> str:
    """A number in text times another, without the noise of binary fractions.

    >>> times("0.453", "100")
    '45.3'
    """
    try:
        return format((Decimal(cell) * Decimal(factor)).normalize(), "f")
    except InvalidOperation:
        return cell


def date_in(cell: str) -> tuple[int, int] | None:
    """Day and month of a cell that a spreadsheet program made a date of; None where it is none.

    >>> date_in("2024-01-02 00:00:00"), date_in("02. Jan"), date_in("1-13")
    ((2, 1), (2, 1), None)
    """
    for pattern in _DATES:
        found = pattern.fullmatch(cell.strip())
        if found is None:
            continue
        parts = found.groupdict()
        month = int(parts["month"]) if parts.get("month") else _month(parts.get("name") or "")
        day = int(parts["day"])
        if month and 1 <= month <= 12 and 1 <= day <= 31:
            return day, month
    return None


def undated(codes: Sequence[str]) -> dict[int, str]:
    """By its place, what a code was before it became a date; empty where that cannot be told.

    The others say what parts the two numbers, and in which order they count on.
    """
    dates = {place: date for place, code in enumerate(codes) if (date := date_in(code))}
    others = [found for code in codes if (found := _TWO_NUMBERS.fullmatch(code))]
    marks = "".join({found[2] for found in others})
    if not dates or len(marks) != 1:
        return {}
    wide = any(part.startswith("0") for found in others for part in (found[1], found[3]))
    both = [_numbered(dates, order, marks, 2 if wide else 1) for order in (0, 1)]
    return _better(*((_counting_on(codes, repaired, marks), repaired) for repaired in both))


def _better(one: tuple[int, dict[int, str]], other: tuple[int, dict[int, str]]) -> dict[int, str]:
    """What has the higher score; nothing where both have the same."""
    if one[0] == other[0]:
        return {}
    return one[1] if one[0] > other[0] else other[1]


def _numbered(
    dates: Mapping[int, tuple[int, int]], order: int, mark: str, width: int
) -> dict[int, str]:
    """Days and months as the codes that they were, the day first or last."""
    return {
        place: f"{date[order]:0{width}d}{mark}{date[1 - order]:0{width}d}"
        for place, date in dates.items()
    }


def numbered_names(cells: Sequence[str]) -> list[tuple[str, str]]:
    """Code and name of cells that hold both, if all of them do and no code stands twice.

    >>> numbered_names(["101 Gull Grey", "K-7: Kelp"]), numbered_names(["101 Gull", "Kelp"])
    ([('101', 'Gull Grey'), ('K-7', 'Kelp')], [])
    """
    found = [_NUMBERED.fullmatch(cell.strip()) for cell in cells]
    parted = [(each[1], each[2]) for each in found if each]
    whole = len(parted) == len(cells) and len(dict(parted)) == len(parted) > 1
    return parted if whole else []


def counted(cell: str) -> int | None:
    """How many a cell says that there are; None where it says something else.

    >>> counted("2 Stk."), counted("0x"), counted("2 left")
    (2, 0, None)
    """
    found = _COUNTED.fullmatch(cell.strip())
    return int(found[1]) if found else None


def zeros_lost(codes: Sequence[str]) -> dict[int, str]:
    """By its place, a code with the zeros that it has probably lost.

    It has where others still have theirs, or most have three digits and are no plain count.

    >>> zeros_lost(["001", "7", "12"]), zeros_lost(["3", "10", "17"])
    ({1: '007', 2: '012'}, {})
    """
    short = shorter_numbers(codes)
    full = [code for place, code in enumerate(codes) if place not in short]
    if any(code.startswith("0") for code in full):
        return short
    if short and len(full[0]) > 2 and len(full) >= 0.6 * len(codes):
        return short
    return {}


def shorter_numbers(codes: Sequence[str]) -> dict[int, str]:
    """By its place, a number with zeros before it to the length of the longest; not of a count.

    >>> shorter_numbers(["3", "10", "17"]), shorter_numbers(["1", "2", "3", "9", "10"])
    ({0: '03'}, {})
    """
    digits = {place: code for place, code in enumerate(codes) if code.isdecimal()}
    if len(digits) < 3 or len(digits) < len(codes):
        return {}
    width = max(map(len, digits.values()))
    short = {place: code.zfill(width) for place, code in digits.items() if len(code) < width}
    padded = any(code.startswith("0") for code in digits.values())
    plain_count = len(digits) >= 0.5 * max(map(int, digits.values()))
    if (plain_count and not padded) or set(short.values()) & set(codes):
        return {}
    return short


def _counting_on(before: Sequence[str], repaired: Mapping[int, str], mark: str) -> int:
    """How often a code counts on from the one before it; less than never where one stands twice."""
    codes = [repaired.get(place, code) for place, code in enumerate(before)]
    if len(set(codes)) < len(codes):
        return -1
    found = (re.fullmatch(rf"(\d+){re.escape(mark)}(\d+)", code) for code in codes)
    pairs = [(int(each[1]), int(each[2])) for each in found if each]
    return sum(
        (b[0] == a[0] and b[1] == a[1] + 1) or (b[0] == a[0] + 1 and b[1] <= a[1])
        for a, b in pairwise(pairs)
    )


def _month(name: str) -> int:
    word = name.casefold()
    return next(
        (place for place, names in enumerate(_MONTHS, 1) if word.startswith(tuple(names))), 0
    )


def counts_on(column: Sequence[str]) -> bool:
    """Whether a column only numbers its rows."""
    numbers = [cell.rstrip(".") for cell in column if cell]
    return len(numbers) > 1 and numbers == [str(at) for at in range(1, len(numbers) + 1)]


def are_codes(column: Sequence[str], rows: int) -> bool:
    """Whether a column of a table of so many rows can be that of codes."""
    filled = [cell for cell in column if cell]
    return (
        len(filled) >= max(2, 0.7 * rows)
        and len(set(filled)) >= 0.95 * len(filled)
        and max(map(len, filled)) <= 16
        and share(lambda cell: any(map(str.isdigit, cell)), filled) >= 0.5
        and share(lambda cell: "," in cell or "." in cell, filled) < 0.5
    )


def are_names(column: Sequence[str]) -> bool:
    """Whether a column can be that of names."""
    filled = [cell for cell in column if cell]
    return (
        len(filled) > 1
        and share(lambda cell: any(map(str.isalpha, cell)), filled) >= 0.9
        and len(set(filled)) >= 0.7 * len(filled)
        and sum(map(len, filled)) / len(filled) >= 3
        and max(map(len, filled)) <= 60
    )
