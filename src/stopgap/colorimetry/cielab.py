"""CIE 1976 L*a*b* to and from tristimulus values, and from other whites to D50.

Reference: CIE 015:2018, Colorimetry, section 8.2.1; ISO/CIE 11664-4:2019, equations (1) to (9).
The formulas are used below black and above white as they stand, so that both directions are
inverse to each other. Whites are changed by von Kries-type chromatic adaptation.

References
----------
Bradford: ICC.1:2022, annex E (linear Bradford). K. M. Lam (1985), "Metamerism and colour
constancy", PhD thesis, University of Bradford.
CAT16: C. Li et al. (2017), "Comprehensive color solutions: CAM16, CAT16, and CAM16-UCS", Color
Research & Application 42(6), 703-718; here with complete adaptation.

Two observers
-------------
The 2 and the 10 degree observer see different things: how a colour moves between them depends on
its spectrum, which Lab and XYZ no longer hold. Such colours are refused unless the caller accepts
that they are treated as if only the white had changed. `OBSERVER_UNCERTAINTY` is what that costs:
the root mean square ΔE00 between Lab integrated for D50, 2 degree and Lab integrated for 10 degree
and adapted by Bradford, over the 99 reflectances of CIE 224:2017 in colour-science 0.4.7. It is
3.13 from D65 (largest 6.2) and 2.35 from D50 (largest 5.1). To measure it again:
`pytest tests/colorimetry/test_adaptation.py -k observer_uncertainty`. Adaptation alone, from D65
with the 2 degree observer, costs 0.88 in the same way.
"""

from typing import Literal, get_args

import numpy as np

from stopgap.arrays import Floats, FloatsLike, as_lab, as_triples
from stopgap.colorimetry.whites import (
    BRADFORD,
    CAT16,
    D50,
    observer_name,
    von_kries,
    white_point,
)
from stopgap.errors import InputError, Remedy

_KNEE = 6.0 / 29.0
_SLOPE = 3.0 * _KNEE**2


def as_xyz(values: FloatsLike, name: str = "xyz") -> Floats:
    """`values` as float64 of shape (..., 3), finite: tristimulus values, Y = 100 for white."""
    return as_triples(values, name, "X, Y, Z")


def xyz_to_lab(xyz: FloatsLike, white: FloatsLike = D50) -> Floats:
    """L*, a*, b* of tristimulus values (..., 3) on the scale of `white`.

    >>> xyz_to_lab(D50).tolist()
    [100.0, 0.0, 0.0]
    """
    return lab_of(as_xyz(xyz) / as_xyz(white, "white"))


def lab_to_xyz(lab: FloatsLike, white: FloatsLike = D50) -> Floats:
    """Tristimulus values of L*, a*, b* (..., 3), on the scale of `white`."""
    ratio = relative_tristimulus(as_lab(lab))
    return np.asarray(ratio * as_xyz(white, "white"), dtype=np.float64)


def lab_of(relative: Floats) -> Floats:
    """L*, a*, b* of X/Xn, Y/Yn, Z/Zn (..., 3), values relative to the perfect diffuser.

    Nothing is checked: for arrays that come from inside.
    """
    f = np.where(relative > _KNEE**3, np.cbrt(relative), relative / _SLOPE + 4.0 / 29.0)
    f_X, f_Y, f_Z = np.moveaxis(f, -1, 0)
    return np.stack([116.0 * f_Y - 16.0, 500.0 * (f_X - f_Y), 200.0 * (f_Y - f_Z)], axis=-1)


def relative_tristimulus(lab: Floats) -> Floats:
    """X/Xn, Y/Yn, Z/Zn of L*, a*, b* (..., 3), as `lab_of` backwards."""
    L, a, b = np.moveaxis(lab, -1, 0)
    f_Y = (L + 16.0) / 116.0
    f = np.stack([f_Y + a / 500.0, f_Y, f_Y - b / 200.0], axis=-1)
    return np.asarray(np.where(f > _KNEE, f**3, _SLOPE * (f - 4.0 / 29.0)))


AdaptationMethod = Literal["Bradford", "CAT16"]

OBSERVER_UNCERTAINTY = 3.1
"""Added standard uncertainty, ΔE00, of a 10 degree colour that is taken for a 2 degree one."""


def adapt(
    xyz: FloatsLike,
    white_from: FloatsLike,
    white_to: FloatsLike,
    method: AdaptationMethod = "Bradford",
) -> Floats:
    """Corresponding tristimulus values (..., 3) under another white (3,).

    Raises
    ------
    InputError
        For values that are not finite, a white that is not positive, or an unknown method.
    """
    if method not in get_args(AdaptationMethod):
        raise InputError(f"method: {method!r} is not one of Bradford, CAT16.")
    source, destination = as_xyz(white_from, "white_from"), as_xyz(white_to, "white_to")
    for white, name in ((source, "white_from"), (destination, "white_to")):
        if white.shape != (3,) or (white <= 0.0).any():
            raise InputError(f"{name}: expected three positive tristimulus values.")
    values = as_xyz(xyz)
    if np.array_equal(source, destination):
        return values.copy()
    matrix = von_kries(source, destination, BRADFORD if method == "Bradford" else CAT16)
    return np.asarray(values @ matrix.T, dtype=np.float64)


def xyz_to_d50_lab(
    xyz: FloatsLike,
    illuminant: str,
    observer: int = 2,
    method: AdaptationMethod = "Bradford",
    *,
    accept_observer: bool = False,
) -> Floats:
    """L*, a*, b* under D50, 2 degree observer, of tristimulus values under another white.

    Parameters
    ----------
    xyz
        Tristimulus values (..., 3), Y = 100 for the perfect diffuser.
    illuminant, observer
        The white that `xyz` refers to: a name of WHITES; 2 or 10 degrees.
    method
        The adaptation; Bradford agrees with the ICC.
    accept_observer
        Take 10 degree values as if only the white had changed. The caller then adds
        OBSERVER_UNCERTAINTY to the uncertainty of the colour.

    Raises
    ------
    InputError
        For an unknown illuminant, observer or method, or the 10 degree observer not accepted.
    """
    _refuse_unaccepted(observer, accept_observer=accept_observer)
    return xyz_to_lab(adapt(xyz, white_point(illuminant, observer), D50, method))


def lab_to_d50(
    lab: FloatsLike,
    illuminant: str,
    observer: int = 2,
    method: AdaptationMethod = "Bradford",
    *,
    accept_observer: bool = False,
) -> Floats:
    """L*, a*, b* under D50, 2 degree observer, of L*, a*, b* under another white, (..., 3).

    Parameters and errors as for `xyz_to_d50_lab`.

    >>> lab_to_d50([50, 20, 30], "D50").round(6).tolist()
    [50.0, 20.0, 30.0]
    """
    xyz = lab_to_xyz(lab, white_point(illuminant, observer))
    return xyz_to_d50_lab(xyz, illuminant, observer, method, accept_observer=accept_observer)


def _refuse_unaccepted(observer: int, *, accept_observer: bool) -> None:
    observer_name(observer)
    if observer != 2 and not accept_observer:
        raise InputError(
            "Colours for the 10 degree observer cannot be turned into 2 degree colours, because "
            "the difference depends on the spectrum; give reflectance spectra, or accept an added "
            f"uncertainty of {OBSERVER_UNCERTAINTY} ΔE00.",
            remedy=Remedy.ACCEPT_OBSERVER,
        )
