"""What hand and paper bring: pressure and tooth, in words or in numbers."""

from collections.abc import Mapping
from types import MappingProxyType

import numpy as np

from stopgap.arrays import Floats, as_floats
from stopgap.errors import InputError
from stopgap.swatches import Pressure, Tooth

PRESSURES: Mapping[str, float] = MappingProxyType(
    {Pressure.LIGHT: 0.35, Pressure.MEDIUM: 0.65, Pressure.HEAVY: 1.0}
)
"""How much colour a pressure lays, against the swatch, which is laid heavily.

Estimates of this project until they are calibrated; common practice, no source.
"""

TOOTH: Mapping[str, float] = MappingProxyType(
    {Tooth.SMOOTH: 2.0, Tooth.DRAWING: 1.3, Tooth.ROUGH: 0.9}
)
"""Shape n of the thickness on papers of little, usual and much tooth.

Estimates until they are calibrated. Characterised presses agree best with 2 to 3 on coated and
1 to 1.5 on uncoated paper (FOGRA and CGATS characterisation data of nine presses).
"""

DEFAULT_TOOTH = Tooth.DRAWING

TOOTH_SPREAD = 0.4
"""Standard uncertainty of ln n before calibration: n within 1.5 times either way, two in three.
An estimate of this project, from the presses that TOOTH names."""

LOAD_SPREAD = 0.3
"""Standard uncertainty of ln load before calibration, of loads other than 1, the swatch's own.
An estimate of this project: what `calibrate` starts from, 0.2 for medium and 0.4 for light."""


def tooth_value(tooth: str | float) -> float:
    """The n of a name of TOOTH, or of a number above 0 (infinity for no tooth at all).

    Raises
    ------
    InputError
        For an unknown name, or a number that is not above 0.
    """
    if isinstance(tooth, str):
        if tooth not in TOOTH:
            raise InputError(f"tooth: {tooth!r} is not one of {', '.join(TOOTH)}, nor a number.")
        return TOOTH[tooth]
    if not tooth > 0.0:
        raise InputError(f"tooth: expected a number above 0, found {tooth}.")
    return float(tooth)


def loads_of(pressures: object, table: Mapping[str, float] = PRESSURES) -> Floats:
    """Loads of pressures: names of `table`, or numbers from 0, in any nesting of sequences.

    Raises
    ------
    InputError
        For an unknown name, or a load that is negative or not a number.
    """
    asked = np.asarray(pressures, dtype=object)
    values = [_load(value, table) for value in asked.ravel()]
    return as_floats(values, "pressures").reshape(asked.shape)


def _load(pressure: object, table: Mapping[str, float]) -> float:
    if isinstance(pressure, str):
        if pressure not in table:
            known = ", ".join(table)
            raise InputError(f"pressures: {pressure!r} is not one of {known}, nor a number.")
        return table[pressure]
    if not isinstance(pressure, (int, float)) or not pressure >= 0.0:
        raise InputError(f"pressures: expected a name or a load from 0, found {pressure!r:.60}.")
    return float(pressure)
