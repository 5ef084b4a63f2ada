"""Keywords of a CGATS file, and what they say of the measurement.

The first group are the standard's (ISO 28178:2009, CGATS.17; from memory), the second are widely
written although it wants them declared by KEYWORD.
"""

import re
from collections.abc import Iterable, Iterator, Mapping

_STANDARD = """
ORIGINATOR FILE_DESCRIPTOR DESCRIPTOR CREATED MANUFACTURER MANUFACTURE_DATE PROD_DATE SERIAL
MATERIAL INSTRUMENTATION MEASUREMENT_SOURCE MEASUREMENT_GEOMETRY DIFFUSE_GEOMETRY FILTER
POLARIZATION WEIGHTING_FUNCTION COMPUTATIONAL_PARAMETER SAMPLE_BACKING PRINT_CONDITIONS TARGET_TYPE
CHISQ_DOF DEVCALSTD CROSS_REFERENCE PROCESS_COLOR_ID NUMBER_OF_FIELDS NUMBER_OF_SETS KEYWORD
BEGIN_DATA END_DATA BEGIN_DATA_FORMAT END_DATA_FORMAT
"""
_WIDESPREAD = """
ILLUMINANT OBSERVER ILLUMINATION_NAME OBSERVER_ANGLE MEASUREMENT_CONDITION MEASUREMENT_DATE
COPYRIGHT COLOR_REP DEVICE_CLASS
"""
KEYWORDS: frozenset[str] = frozenset((_STANDARD + _WIDESPREAD).split())

_ILLUMINANT = re.compile(
    r"(?:^|[\s,;=])(ID50|ID65|D\d\d|F(?:L)?\d{1,2}(?:\.\d{1,2})?|LED-\w+|HP\d|[A-CE])(?=$|[\s,;/])",
    re.IGNORECASE,
)
_OBSERVER = re.compile(r"(?<![\d.])(2|10|1931|1964)\s*(?:°|-|_|deg|M-|$|[,;\s])", re.IGNORECASE)
_MODE = re.compile(r"\bM\s?([0-3])\b(?!-)", re.IGNORECASE)
_SOURCE_PART = re.compile(r"(illuminati?on|illuminant|observer)\w*\s*=\s*(\S+)", re.IGNORECASE)
_PROSE_ILLUMINANT = re.compile(r"\b(D50|D55|D65|D75)\b")
_PROSE_OBSERVER = re.compile(r"\b(2|10)\s*(?:°|deg)", re.IGNORECASE)
_PROSE_GEOMETRY = re.compile(r"\b(45[/:]0|0[/:]45|d[/:]8|8[/:]d)\b", re.IGNORECASE)
_YEARS = {"1931": "2", "1964": "10"}


def conditions_of(keywords: Mapping[str, str]) -> dict[str, str]:
    """What the keywords state, under the titles of a range file's columns."""
    prose = [keywords.get("INSTRUMENTATION", "")]
    stated = {
        "illuminant": _stated(_ILLUMINANT, _texts(keywords, "illumin")).upper()
        or _first(_PROSE_ILLUMINANT, prose),
        "observer": _stated(_OBSERVER, _texts(keywords, "observer"))
        or _first(_PROSE_OBSERVER, prose),
        "mode": _first(
            _MODE,
            (keywords.get(word, "") for word in ("MEASUREMENT_CONDITION", "MEASUREMENT_SOURCE")),
        )
        or _first(_MODE, [keywords.get("FILTER", "")]),
        "geometry": keywords.get("MEASUREMENT_GEOMETRY", "") or _first(_PROSE_GEOMETRY, prose),
        "instrument": keywords.get("INSTRUMENTATION", ""),
        "backing": keywords.get("SAMPLE_BACKING", ""),
        "date": keywords.get("MEASUREMENT_DATE", "") or keywords.get("CREATED", ""),
    }
    stated["observer"] = _YEARS.get(stated["observer"], stated["observer"])
    stated["mode"] = stated["mode"] and f"M{stated['mode']}"
    return {title: text for title, text in stated.items() if text}


def _texts(keywords: Mapping[str, str], about: str) -> Iterator[str]:
    """Where an illuminant or an observer may be stated, most explicit first."""
    for part in re.split(r"(?=ILLUMINANT|OBSERVER)", keywords.get("WEIGHTING_FUNCTION", "")):
        kind, _, value = part.partition(",")
        if kind.strip().casefold().startswith(about):
            yield value.strip(" ,")
    for keyword in ("ILLUMINANT", "ILLUMINATION_NAME", "OBSERVER", "OBSERVER_ANGLE"):
        if keyword.casefold().startswith(about):
            yield keywords.get(keyword, "")
    for kind, value in _SOURCE_PART.findall(keywords.get("MEASUREMENT_SOURCE", "")):
        if kind.casefold().startswith(about):
            yield value


def _stated(pattern: re.Pattern[str], texts: Iterable[str]) -> str:
    """What is found, else the text as it stands, so that it is refused and not passed over."""
    found = [text for text in texts if text]
    return _first(pattern, found) or next(iter(found), "")


def _first(pattern: re.Pattern[str], texts: Iterable[str]) -> str:
    return next((found[1] for text in texts if (found := pattern.search(text))), "")
