"""White points of the CIE illuminants for both standard observers, and the door to colour-science.

There are several D50 whites that differ in the fourth digit. Inside stopgap D50 is always the one
of its chromaticity x = 0.3457, y = 0.3585 (CIE 015:2018, table 3, to four digits), as in CSS
Color 4 `lab()`: X = 96.4296, Y = 100, Z = 82.5105. The ICC's D50 (96.42, 100, 82.49 in the profile
header) and the CIE's tristimulus table (96.42, 100, 82.51) are less than 0.03 ΔE*ab from it.

The chromaticities are kept as colour-science tabulates them, since it takes over half a second to
import. Functions that need more of it call `colour_science()`; no module imports it at its top.
"""

import sys
import warnings
from collections.abc import Mapping
from functools import lru_cache
from importlib import import_module
from pathlib import Path
from types import MappingProxyType, ModuleType

import numpy as np

from stopgap.arrays import Floats, read_only
from stopgap.errors import InputError


def colour_science() -> ModuleType:
    """The package `colour`, imported on first use.

    Without matplotlib, which only its plotting needs, colour-science says on import that plotting
    is not available. Nothing here plots through it, so that one message is not shown.
    """
    if "colour" not in sys.modules:
        with warnings.catch_warnings():
            warnings.filterwarnings("ignore", message='"Matplotlib" related API features')
            import_module("colour")  # slow, and wanted by few callers
    return sys.modules["colour"]


OBSERVERS: Mapping[int, str] = MappingProxyType(
    {2: "CIE 1931 2 Degree Standard Observer", 10: "CIE 1964 10 Degree Standard Observer"}
)

WHITES: tuple[str, ...] = (
    *("A", "B", "C", "D50", "D55", "D60", "D65", "D75", "E"),
    *(f"F{number}" for number in range(1, 13)),
    *(f"F3.{number}" for number in range(1, 16)),
    *(f"HP{number}" for number in range(1, 6)),
    *("LED-B1", "LED-B2", "LED-B3", "LED-B4", "LED-B5", "LED-BH1", "LED-RGB1"),
    *("LED-V1", "LED-V2", "ID50", "ID65"),
)
"""The illuminants that are accepted, by their CIE names; case does not matter, F2 is also FL2."""


LAMPS_IN_WORDS: Mapping[str, str] = MappingProxyType(
    {"bulb": "A", "LED": "LED-B3", "tube": "F11", "daylight": "D65"}
)
"""The illuminants that people meet by what they call them: a glow lamp, a usual LED lamp, a shop's
fluorescent tube, daylight from the north (this project's choice among the CIE's)."""


def _from_chromaticity(x: float, y: float) -> Floats:
    return read_only([100.0 * x / y, 100.0, 100.0 * (1.0 - x - y) / y])


D50 = _from_chromaticity(0.3457, 0.3585)
D65 = _from_chromaticity(0.3127, 0.3290)
C = _from_chromaticity(0.31006, 0.31616)

BRADFORD = read_only(
    [[0.8951, 0.2664, -0.1614], [-0.7502, 1.7135, 0.0367], [0.0389, -0.0685, 1.0296]]
)
"""X, Y, Z to the responses that are scaled from one white to another (ICC.1:2022, annex E)."""

CAT16 = read_only(
    [
        [0.401288, 0.650173, -0.051461],
        [-0.250268, 1.204414, 0.045854],
        [-0.002079, 0.048952, 0.953127],
    ]
)
"""The same by C. Li et al. (2017), as `cam16.py` cites them."""


def von_kries(white: Floats, other: Floats, responses: Floats = BRADFORD) -> Floats:
    """Tristimulus values under a white to corresponding ones under another, (3, 3)."""
    scales = responses @ other / (responses @ white)
    return read_only(np.linalg.inv(responses) @ np.diag(scales) @ responses)


def illuminant_name(text: str) -> str:
    """The name in WHITES that `text` stands for.

    Raises
    ------
    InputError
        If no illuminant has that name; the message lists them.

    >>> illuminant_name("bulb"), illuminant_name("fl2")
    ('A', 'F2')
    """
    called = {word.upper(): name for word, name in LAMPS_IN_WORDS.items()}
    folded = "".join(text.split()).upper()
    folded = called.get(folded, folded)
    if folded.startswith("FL"):
        folded = "F" + folded[2:]
    if folded not in WHITES:
        told = ", ".join((*LAMPS_IN_WORDS, *WHITES))
        raise InputError(f"{text!r} is not one of {told}.", argument="illuminant")
    return folded


def observer_name(observer: int) -> str:
    """The full name of the 2 or 10 degree observer.

    Raises
    ------
    InputError
        For any other number.
    """
    if observer not in OBSERVERS:
        raise InputError(f"observer: expected 2 or 10 (degrees), found {observer!r}.")
    return OBSERVERS[observer]


def science_name(illuminant: str) -> str:
    """The name that colour-science uses: FL2 for F2, the others as they are."""
    name = illuminant_name(illuminant)
    return "FL" + name[1:] if name.startswith("F") else name


def white_point(illuminant: str, observer: int = 2) -> Floats:
    """X, Y, Z of the perfect diffuser under an illuminant, Y = 100, read-only.

    From the CIE's chromaticities as colour-science tabulates them (`CCS_ILLUMINANTS`).

    Raises
    ------
    InputError
        For an unknown illuminant or observer.

    >>> white_point("D50").round(4).tolist()
    [96.4296, 100.0, 82.5105]
    """
    name = illuminant_name(illuminant)
    observer_name(observer)
    return _kept()[name, observer]


@lru_cache(maxsize=1)
def _kept() -> Mapping[tuple[str, int], Floats]:
    """White of each illuminant and observer."""
    table = Path(__file__).parent / "data" / "chromaticities.csv"
    whites = {}
    for line in table.read_text(encoding="utf-8").splitlines():
        if not line.startswith("#"):
            name, *xy = line.split(",")
            for place, observer in enumerate(OBSERVERS):
                x, y = map(float, xy[2 * place : 2 * place + 2])
                whites[name, observer] = _from_chromaticity(x, y)
    return MappingProxyType(whites)
