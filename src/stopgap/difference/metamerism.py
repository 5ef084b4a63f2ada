"""How far two colours that match under one light part under another.

Reference: CIE 015:2018, Colorimetry, section 9.2 (special metamerism index: change in illuminant);
section number from memory. The pair's remaining difference under the reference light is taken out
by the ratio of the tristimulus values, and the index is the difference that is left under the test
light, here in ΔE00 (the CIE leaves the formula to be named).
"""

from stopgap.arrays import Floats, FloatsLike
from stopgap.colorimetry import xyz_to_lab
from stopgap.colorimetry.cielab import as_xyz
from stopgap.difference.formulas.ciede2000 import delta_E_ciede2000
from stopgap.errors import InputError


def special_metamerism_index(
    reference_1: FloatsLike,
    reference_2: FloatsLike,
    test_1: FloatsLike,
    test_2: FloatsLike,
    test_white: FloatsLike,
) -> Floats:
    """Index (...) of pairs from their tristimulus values (..., 3) under two lights.

    Parameters
    ----------
    reference_1, reference_2
        X, Y, Z of the colours under the reference light; of colour 2 all above 0.
    test_1, test_2
        X, Y, Z of the same colours under the test light.
    test_white
        X, Y, Z of the perfect diffuser under the test light.

    Raises
    ------
    InputError
        For values that are not finite, or a colour 2 without light.
    """
    first, second = as_xyz(reference_1, "reference_1"), as_xyz(reference_2, "reference_2")
    if (second <= 0.0).any():
        raise InputError("reference_2: expected tristimulus values above 0.")
    corrected = as_xyz(test_2, "test_2") * (first / second)
    return delta_E_ciede2000(xyz_to_lab(test_1, test_white), xyz_to_lab(corrected, test_white))
