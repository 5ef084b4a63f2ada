"""Illuminants, observers, spectra, adaptation and sRGB: thin over colour-science.

colour-science takes over half a second to import, so that it is imported on the first call that
needs it: whites other than D50 and D65, adaptation, spectra. Lab, sRGB, colours typed as text and
the optimal colour solid do without.
"""

from typing import TYPE_CHECKING

from stopgap.lazy import on_first_use

if TYPE_CHECKING:
    from stopgap.colorimetry.adaptation import (
        OBSERVER_UNCERTAINTY,
        AdaptationMethod,
        adapt,
        lab_to_d50,
        xyz_to_d50_lab,
    )
    from stopgap.colorimetry.cielab import lab_to_xyz, xyz_to_lab
    from stopgap.colorimetry.lab_text import parse_colour
    from stopgap.colorimetry.reconstruction import RECONSTRUCTED_AT, plausible_reflectances
    from stopgap.colorimetry.science import colour_science
    from stopgap.colorimetry.solid import within_optimal_solid
    from stopgap.colorimetry.spectra import as_wavelengths, reflectance_to_lab, reflectance_to_xyz
    from stopgap.colorimetry.srgb import (
        hex_to_lab,
        hexes_to_lab,
        lab_to_hex,
        lab_to_hexes,
        lab_to_srgb,
        srgb_to_lab,
    )
    from stopgap.colorimetry.whites import D50, D65, WHITES, illuminant_name, white_point

__all__ = [
    "D50",
    "D65",
    "OBSERVER_UNCERTAINTY",
    "RECONSTRUCTED_AT",
    "WHITES",
    "AdaptationMethod",
    "adapt",
    "as_wavelengths",
    "colour_science",
    "hex_to_lab",
    "hexes_to_lab",
    "illuminant_name",
    "lab_to_d50",
    "lab_to_hex",
    "lab_to_hexes",
    "lab_to_srgb",
    "lab_to_xyz",
    "parse_colour",
    "plausible_reflectances",
    "reflectance_to_lab",
    "reflectance_to_xyz",
    "srgb_to_lab",
    "white_point",
    "within_optimal_solid",
    "xyz_to_d50_lab",
    "xyz_to_lab",
]

__getattr__ = on_first_use(
    __name__,
    {
        "adaptation": "OBSERVER_UNCERTAINTY AdaptationMethod adapt lab_to_d50 xyz_to_d50_lab",
        "cielab": "lab_to_xyz xyz_to_lab",
        "lab_text": "parse_colour",
        "reconstruction": "RECONSTRUCTED_AT plausible_reflectances",
        "science": "colour_science",
        "solid": "within_optimal_solid",
        "spectra": "as_wavelengths reflectance_to_lab reflectance_to_xyz",
        "srgb": "hex_to_lab hexes_to_lab lab_to_hex lab_to_hexes lab_to_srgb srgb_to_lab",
        "whites": "D50 D65 WHITES illuminant_name white_point",
    },
)
