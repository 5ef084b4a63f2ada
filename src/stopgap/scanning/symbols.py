"""Data Matrix symbols (ISO/IEC 16022, ECC 200) as modules; zxing-cpp writes them."""

import numpy as np

from stopgap.arrays import Booleans

MODULES = 12
"""Modules along the side of a symbol of ten digits: the most that so few hold."""


def dark_modules(digits: str) -> Booleans:
    """Which modules (12, 12) of the symbol of ten digits are dark, the first row on top."""
    import zxingcpp

    symbol = zxingcpp.create_barcode(digits, zxingcpp.BarcodeFormat.DataMatrix)
    dark: Booleans = np.asarray(symbol.to_image(scale=1, add_quiet_zones=False)) < 128
    if dark.shape != (MODULES, MODULES):
        raise AssertionError(f"{digits}: a symbol of {dark.shape} modules")
    return dark
