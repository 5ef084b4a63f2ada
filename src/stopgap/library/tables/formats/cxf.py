"""CxF/X (ISO 17972-1:2015, CxF 3 core) to the columns of a range file, through colour-cxf.

The text is parsed by defusedxml first, which refuses document types, and with them entities: what
colour-cxf then sees cannot grow or reach out. An object becomes a row for each reading and each
way of measuring it; its name is the code, tags are further columns.
"""

import re
import warnings
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from types import MappingProxyType
from typing import TYPE_CHECKING

from stopgap.errors import InputError
from stopgap.library.tables.cells import TextRow, TextTable

if TYPE_CHECKING:
    from logging import LogRecord
    from xml.etree.ElementTree import Element

    from colour_cxf.cxf3 import (
        ColorCielab,
        ColorCiexyz,
        ColorSpecification,
        CxF,
        Object,
        ReflectanceSpectrum,
    )

NAMESPACE = "http://colorexchangeformat.com/CxF3-core"
TAGS = "stopgap"
"""The tag collection that a range's other columns are kept in."""

_DEEPEST = 100  # elements within each other; the schema's own are some ten
_CONDITIONS = ("mode", "geometry", "instrument", "backing", "bandpass")
_OBSERVERS: Mapping[str, str] = MappingProxyType({"2_Degree": "2", "10_Degree": "10"})

Cells = dict[str, str]


def read_cxf(data: bytes, name: str) -> TextTable:
    """The objects that have a reflectance spectrum, Lab or XYZ.

    Raises
    ------
    InputError
        If the XML is malformed, truncated or unsafe, is not CxF 3, or holds no colour.
    """
    file = _parsed(data, name)
    objects = _objects(file)
    rows, paper_row = _rows(objects, _specifications(file), name)
    if not rows:
        raise InputError(
            f"{name}: none of the {len(objects)} objects has a reflectance spectrum, CIE Lab or "
            "CIE XYZ."
        )
    titles = list(dict.fromkeys(title for row in rows for title in row))
    wavelengths = sorted((t for t in titles if _wavelength(t)), key=_wavelength)
    titles = [title for title in titles if not _wavelength(title)] + wavelengths
    return TextTable(
        header=TextRow(0, tuple(titles)),
        rows=tuple(
            TextRow(number, tuple(row.get(title, "").strip() for title in titles))
            for number, row in enumerate(rows, start=1)
        ),
        details={"format": "CxF", "objects": str(len(objects))},
        unit="factor",
        paper_row=paper_row,
    )


def _rows(
    objects: "Sequence[Object]", specifications: "Mapping[str, ColorSpecification]", name: str
) -> tuple[list[Cells], int | None]:
    """Every row, and the number of the first that is the substrate's."""
    rows: list[Cells] = []
    paper_row = None
    for place, item in enumerate(objects, start=1):
        found = list(_rows_of(item, place, specifications, name))
        if found and paper_row is None and (item.object_type or "").casefold() == "substrate":
            paper_row = len(rows) + 1
        rows += found
    return rows, paper_row


def _parsed(data: bytes, name: str) -> "CxF":
    """The file as colour-cxf's objects, from a tree that holds no document type."""
    from defusedxml import DefusedXmlException, ElementTree

    try:
        root = ElementTree.fromstring(data, forbid_dtd=True)
    except DefusedXmlException as error:
        raise InputError(
            f"{name}: the XML declares a document type or entities, which can make a program "
            "fetch files or fill its memory. They are refused; CxF needs none."
        ) from error
    except (ElementTree.ParseError, ValueError, LookupError) as error:
        raise InputError(
            f"{name}: the XML cannot be read; it is damaged or truncated ({error})."
        ) from error
    if root.tag != f"{{{NAMESPACE}}}CxF":
        raise InputError(
            f"{name}: the XML is not CxF 3 (ISO 17972): expected the root CxF of {NAMESPACE}, "
            f"found {root.tag!r:.80}."
        )
    if _is_deep(root):
        raise InputError(
            f"{name}: the file is not valid CxF 3: more than {_DEEPEST} of its elements lie within "
            "each other. Export it anew from the program that measured."
        )
    for private in root.findall(f"{{{NAMESPACE}}}CustomResources"):
        root.remove(private)  # other programs' own elements, which no schema describes
    import colour_cxf
    from xsdata.exceptions import ConverterWarning, ParserError

    try:
        with warnings.catch_warnings(), _remarks_raised():
            warnings.simplefilter("error", ConverterWarning)
            return colour_cxf.read_cxf(ElementTree.tostring(root))
    except (ParserError, ConverterWarning, ValueError, TypeError) as error:
        reason = " ".join(str(error).split())
        raise InputError(f"{name}: the file is not valid CxF 3: {reason:.200}.") from error


def _is_deep(root: "Element") -> bool:
    """Whether elements lie within each other so deep that following them would end the program."""
    level = [root]
    for _ in range(_DEEPEST):
        level = [child for element in level for child in element]
    return bool(level)


@contextmanager
def _remarks_raised() -> Iterator[None]:
    """Raise what xsdata would only log, such as an element that it has no place for."""
    from xsdata.exceptions import ParserError
    from xsdata.logger import logger

    def refuse(record: "LogRecord") -> bool:
        raise ParserError(record.getMessage())

    logger.addFilter(refuse)
    try:
        yield
    finally:
        logger.removeFilter(refuse)


def _objects(file: "CxF") -> "list[Object]":
    resources = file.resources
    collection = resources.object_collection if resources else None
    return collection.object_value if collection else []


def _specifications(file: "CxF") -> "dict[str, ColorSpecification]":
    resources = file.resources
    collection = resources.color_specification_collection if resources else None
    return {item.id or "": item for item in (collection.color_specification if collection else [])}


def _rows_of(
    item: "Object", place: int, specifications: "Mapping[str, ColorSpecification]", name: str
) -> Iterator[Cells]:
    """One row for each reading under each way of measuring."""
    from colour_cxf.cxf3 import ColorCielab, ColorCiexyz, ReflectanceSpectrum

    code = (item.name or item.id or "").strip()
    where = f"{name}: object {code or place!r}"
    by_conditions: dict[tuple[str, ...], list[tuple[Cells, Cells]]] = {}
    for value in item.color_values.choice if item.color_values else []:
        if not isinstance(value, ReflectanceSpectrum | ColorCielab | ColorCiexyz):
            continue
        reference = value.color_specification or ""
        if reference not in specifications:
            raise InputError(f"{where}: its ColorSpecification {reference!r:.40} is not defined.")
        conditions = _conditions(specifications[reference])
        if isinstance(value, ReflectanceSpectrum):
            cells = _spectrum(value, specifications[reference], where)
        else:
            cells = {**_tristimulus(value), **_white(specifications[reference])}
        key = tuple(conditions.get(title, "") for title in _CONDITIONS)
        by_conditions.setdefault(key, []).append((conditions, cells))
    own, about = _tags(item, where), {"code": code, **_date(item)}
    for values in by_conditions.values():
        for conditions, cells in _readings(values):
            yield {**about, **conditions, **cells, **own}


def _readings(values: list[tuple[Cells, Cells]]) -> Iterator[tuple[Cells, Cells]]:
    """Spectra with the Lab beside them, else Lab, else XYZ; a second one of a kind is repeated."""
    conditions = values[0][0]
    kinds: dict[str, list[Cells]] = {"nm": [], "L": [], "X": []}
    for _, cells in values:
        kinds[next((kind for kind in ("L", "X") if kind in cells), "nm")].append(cells)
    best = next(kind for kind, found in kinds.items() if found)
    for number, cells in enumerate(kinds[best]):
        beside = kinds["L"][number : number + 1] if best == "nm" else []
        yield conditions, {**cells, **(beside[0] if beside else {})}


def _spectrum(
    value: "ReflectanceSpectrum", specification: "ColorSpecification", where: str
) -> Cells:
    measured = specification.measurement_spec
    span = measured.wavelength_range if measured else None
    start = value.start_wl if value.start_wl is not None else (span.start_wl if span else None)
    step = span.increment if span else None
    if start is None or not step or step < 1:
        raise InputError(
            f"{where}: its spectrum lacks a first wavelength or an increment of 1 nm or more "
            f"(found {start} and {step})."
        )
    return {f"nm{start + step * place}": repr(factor) for place, factor in enumerate(value.value)}


def _tristimulus(value: "ColorCielab | ColorCiexyz") -> Cells:
    if hasattr(value, "l"):
        return {"L": _text(value.l), "a": _text(value.a), "b": _text(value.b)}
    return {"X": _text(value.x), "Y": _text(value.y), "Z": _text(value.z)}


def _white(specification: "ColorSpecification") -> Cells:
    """Illuminant and observer of Lab and XYZ, by their CIE names."""
    stated = specification.tristimulus_spec
    if stated is None:
        return {}
    illuminant = stated.illuminant_or_custom_illuminant
    name = getattr(illuminant, "value", None)
    observer = str(stated.observer.value.value) if stated.observer and stated.observer.value else ""
    found = {
        "illuminant": str(getattr(name, "value", "Custom")) if illuminant is not None else "",
        "observer": _OBSERVERS.get(observer, observer),
    }
    return {title: cell for title, cell in found.items() if cell}


def _conditions(specification: "ColorSpecification") -> Cells:
    """How it was measured, under the titles of a range file."""
    measured = specification.measurement_spec
    if measured is None:
        return {}
    device = measured.device
    light = device.device_illumination if device else None
    mode = str(light.value.value) if light and light.value else ""
    found = {
        "mode": mode[:2] if re.match("M[0-3]_", mode) else "",
        "geometry": _geometry(
            measured.geometry_choice.choice if measured.geometry_choice else None
        ),
        "instrument": " ".join(
            part for part in ((device.manufacturer, device.model) if device else ()) if part
        ),
        "backing": measured.backing or "",
        "bandpass": "instrument" if measured.bandpass_corrected else "",
    }
    return {title: cell for title, cell in found.items() if cell}


def _geometry(choice: object) -> str:
    angles = [getattr(choice, f"{part}_angle", None) for part in ("illumination", "measurement")]
    if None not in angles:
        return "/".join(f"{angle:g}" for angle in angles)
    sphere = str(getattr(choice, "value", choice or ""))
    return {"Specular_Included": "di/8", "Specular_Excluded": "de/8"}.get(sphere, sphere)


def _tags(item: "Object", where: str) -> Cells:
    """A range's own columns; the tags of other programs stay apart under their collection."""
    tags: Cells = {}
    for collection in item.tag_collection:
        for tag in collection.tag:
            title = tag.name if collection.name == TAGS else f"{collection.name}: {tag.name}"
            if tag.name and title in tags:
                raise InputError(f"{where} has the tag {title!r:.60} twice. Keep one.")
            if tag.name:
                tags[title or ""] = tag.value or ""
    return tags


def _date(item: "Object") -> Cells:
    made = item.creation_date
    return {"date": str(made.value)} if made and made.value else {}


def _text(number: float | None) -> str:
    return "" if number is None else repr(number)


def _wavelength(title: str) -> float:
    return float(title[2:]) if re.fullmatch(r"nm\d+", title) else 0.0
