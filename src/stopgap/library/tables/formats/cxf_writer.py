"""A range's columns as CxF/X (ISO 17972-1:2015, CxF 3 core), through colour-cxf.

Colours become colour values under a specification of their conditions; every other column is a
tag, so that it comes back when stopgap reads the file.
"""

import re
from collections.abc import Mapping
from types import MappingProxyType
from typing import TYPE_CHECKING

from stopgap.errors import InputError
from stopgap.library.tables.cells import TextTable, guard_twice, is_wavelength
from stopgap.library.tables.formats.cxf import TAGS

if TYPE_CHECKING:
    from colour_cxf.cxf3 import ColorSpecification, ColorValues, GeometryChoice, Object

_SPECIFIED = ("illuminant", "observer", "mode", "geometry", "instrument", "backing", "bandpass")
_MODES: Mapping[str, str] = MappingProxyType(
    {"M0": "M0_Incandescent", "M1": "M1_Daylight", "M2": "M2_UVExcluded", "M3": "M3_Polarized"}
)
_NOT_XML = re.compile("[^\t\n\r\x20-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")
_NO_DATE = "1970-01-01T00:00:00Z"  # CxF wants one of every object; the tag has what is known

Cells = dict[str, str]


def write_cxf(table: TextTable) -> bytes:
    """One object a row, its code as the name.

    Raises
    ------
    InputError
        If a spectrum does not lie on whole nanometres from 360 to 400 on, as CxF demands.
    """
    import colour_cxf
    from colour_cxf import cxf3

    rows = [dict(zip(table.header.cells, row.cells)) for row in table.rows]
    keys = {_key(row): "" for row in rows}
    names = {key: f"cs{number}" for number, key in enumerate(keys, start=1)}
    file = cxf3.CxF(
        file_information=cxf3.FileInformation(creator="stopgap"),
        resources=cxf3.Resources(
            object_collection=cxf3.ObjectCollection(
                object_value=[
                    _object(row, number, names[_key(row)])
                    for number, row in enumerate(rows, start=1)
                ]
            ),
            color_specification_collection=cxf3.ColorSpecificationCollection(
                color_specification=[_specification(key, name) for key, name in names.items()]
            ),
        ),
    )
    written: bytes = colour_cxf.write_cxf(file)
    return written


def _key(row: Cells) -> tuple[str, ...]:
    """What rows must share to share a specification: conditions, first wavelength and step."""
    nm = _wavelengths(row)
    if any(at != int(at) for at in nm) or (nm and not 360 <= nm[0] <= 400):
        raise InputError(
            f"{row['code']}: CxF holds spectra on whole nanometres that begin at 360 to 400 nm; "
            f"this one begins at {nm[0]:g}. Export it as CSV or CGATS."
        )
    span = (f"{nm[0]:g}", f"{nm[1] - nm[0]:g}") if nm else ("", "")
    return (*(row.get(title, "") for title in _SPECIFIED), *span)


def _wavelengths(row: Cells) -> list[float]:
    return [float(t[2:]) for t, cell in row.items() if is_wavelength(t) and cell]


def _object(row: Cells, number: int, specification: str) -> "Object":
    from colour_cxf import cxf3
    from xsdata.models.datatype import XmlDateTime

    tags = [
        cxf3.Tag(name=_legal(guard_twice(title)), value=_legal(guard_twice(cell)))
        for title, cell in {"geometry": "", "date": "", **row}.items()
        if title not in ("code", "L", "a", "b") and not is_wavelength(title)
    ]
    return cxf3.Object(
        object_type="Standard",
        name=_legal(guard_twice(row["code"])),
        id=f"s{number}",
        creation_date=cxf3.CreationDate(value=XmlDateTime.from_string(_NO_DATE)),
        color_values=_values(row, specification),
        tag_collection=[cxf3.TagCollection(name=TAGS, tag=tags)],
    )


def _legal(text: str) -> str:
    """Text in which characters that XML 1.0 cannot hold are written out, as in CSV."""
    return _NOT_XML.sub(lambda found: f"\\u{ord(found[0]):04x}", text)


def _values(row: Cells, specification: str) -> "ColorValues":
    from colour_cxf import cxf3

    values: list[object] = []
    nm = _wavelengths(row)
    if nm:
        factors = [float(row[f"nm{at:g}"]) for at in nm]
        values.append(
            cxf3.ReflectanceSpectrum(
                value=factors, start_wl=int(nm[0]), color_specification=specification
            )
        )
    L, a, b = (float(row[axis]) for axis in "Lab")
    values.append(cxf3.ColorCielab(l=L, a=a, b=b, color_specification=specification))
    return cxf3.ColorValues(choice=values)


def _specification(key: tuple[str, ...], name: str) -> "ColorSpecification":
    from colour_cxf import cxf3

    illuminant, observer, mode, geometry, instrument, backing, bandpass, start, step = key
    tristimulus = None
    if illuminant and observer:
        light = cxf3.Illuminant(value=cxf3.EilluminantType(illuminant))
        tristimulus = cxf3.TristimulusSpec(
            illuminant_or_custom_illuminant=light,
            observer=cxf3.Observer(value=cxf3.EobserverType(f"{observer}_Degree")),
            method=cxf3.Method(value=cxf3.EastmTableType.UNKNOWN),
        )
    lamp = cxf3.EdeviceIlluminationType(_MODES[mode]) if mode else None
    device = cxf3.Device(
        model=instrument or None,
        device_illumination=cxf3.DeviceIllumination(value=lamp) if lamp else None,
    )
    kind = "Spectrum_Reflectance" if start else "Colorimetric_Reflectance"
    return cxf3.ColorSpecification(
        id=name,
        tristimulus_spec=tristimulus,
        measurement_spec=cxf3.MeasurementSpec(
            measurement_type=cxf3.MeasurementType(value=cxf3.EspectrumType(kind)),
            geometry_choice=_geometry(geometry),
            wavelength_range=(
                cxf3.WavelengthRange(start_wl=int(start), increment=int(step)) if start else None
            ),
            backing=backing or None,
            bandpass_corrected=True if bandpass == "instrument" else None,
            device=device if instrument or lamp else None,
        ),
    )


def _geometry(text: str) -> "GeometryChoice":
    from colour_cxf import cxf3

    angles = text.replace(":", "/").split("/")
    if len(angles) == 2 and all(angle.isdigit() for angle in angles):
        single = cxf3.SingleAngleType(
            single_angle_configuration=cxf3.SingleAngleConfiguration(
                value=cxf3.EsingleAngleConfigurationType.ANNULAR
            ),
            illumination_angle=float(angles[0]),
            measurement_angle=float(angles[1]),
        )
        return cxf3.GeometryChoice(choice=single)
    return cxf3.GeometryChoice(choice=text or "not stated")
