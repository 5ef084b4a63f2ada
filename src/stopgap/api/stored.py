"""Libraries, ranges and frames from Python."""

from collections.abc import Iterable, Sequence
from io import BytesIO
from pathlib import Path
from typing import TYPE_CHECKING, BinaryIO, TypeAlias, cast

from stopgap.api.arguments import checked
from stopgap.api.asked import Pencils, pencils_of
from stopgap.api.frames import frame_of
from stopgap.api.shown import ANSWERS, report_of
from stopgap.errors import InputError
from stopgap.library import (
    Convention,
    ImportReport,
    Library,
    RangeDraft,
    import_proposal,
    propose_range,
)
from stopgap.library import import_range as import_draft
from stopgap.planner.arranging import demo_library as demo_library
from stopgap.planner.arranging import open_library as open_library
from stopgap.scanning import Scan, read_chart, store_scan
from stopgap.swatches import ColourRange as ColourRange
from stopgap.swatches import Swatch as Swatch

if TYPE_CHECKING:
    from pandas import DataFrame

Picture: TypeAlias = str | Path | bytes | BinaryIO
"""A JPEG, PNG or TIFF: where it lies, what it holds, or an open stream of that."""


@checked
def import_range(
    library: Library,
    source: "str | Path | RangeDraft | DataFrame",
    name: str = "",
    *,
    convention: Convention | None = None,
    renew: bool = False,
) -> ImportReport:
    """Bring a range into an open library, whole or not at all.

    Parameters
    ----------
    source
        A file as people keep it (CSV, XLSX, ODS, CGATS, CxF), a frame with the columns of a range
        file, or a draft that was read already. What was guessed of a file is told in `findings`.
    name
        What the range is called.
    convention
        White, observer and the like, of what the file leaves open; see `stopgap.library`.
    renew
        Whether a range of that name is renewed; decisions about its pencils stay.

    Raises
    ------
    InputError
        If the file is not as expected, or the range is there already and `renew` is not given.
    UnknownSwatchError
        If there is nothing to renew.

    Examples
    --------
    >>> import stopgap
    >>> with stopgap.demo_library() as library:
    ...     mine = stopgap.to_frame([stopgap.Swatch("Mine", "A1", (52.0, 40.0, 30.0))])
    ...     report = stopgap.import_range(library, mine, "Mine")
    >>> report.added
    ('A1',)
    """
    if isinstance(source, RangeDraft):
        return import_draft(library, source, renew=renew)
    convention = convention or Convention()
    if hasattr(source, "iloc"):
        from stopgap.api.frames import draft_of_frame

        return import_draft(
            library, draft_of_frame(cast("DataFrame", source), name, convention), renew=renew
        )
    if not isinstance(source, str | Path):
        raise InputError(f"expected a file or a frame, found {source!r:.60}.", argument="source")
    proposal = propose_range(Path(source), name, convention)
    return import_proposal(library, proposal, renew=renew)


@checked
def scan(
    library: Library,
    pictures: Picture | Iterable[Picture],
    *,
    device: str | None = None,
    light: str | None = None,
    anchors: Sequence[str | Swatch] = (),
    target: str | Path | None = None,
    on: str | None = None,
    store: bool = True,
    replace_measured: bool = False,
) -> Scan:
    """Read coloured pages of a chart back, and keep what was read of each pencil as a swatch.

    The answer's `kept` are these swatches, L*, a*, b* under D50 with their uncertainty [ΔE00], and
    its `boxes` all boxes of the chart, with what became of each.

    Parameters
    ----------
    library
        The open library that the chart was made from; where nothing is stored it may be read only.
    pictures
        Scans or photographs of pages of one chart, each a file, its bytes or a stream; several of
        one page are averaged.
    device, light
        "flatbed", "flatbed-led" or "phone", by default a phone where an exposure is stated; of a
        phone "daylight", "led", "fluorescent" or "tungsten".
    anchors
        Pencils of measured colour on these pages to learn from.
    target
        A spreadsheet of patches of known colour that lie on the page.
    on
        The paper that was coloured in on, else the one that the chart was drawn for.
    store
        Whether the library keeps it, all pages in one change; False for a look.
    replace_measured
        Whether a colour that was measured gives way; else it stays.

    Raises
    ------
    InputError
        Where a picture cannot be read, they show several charts, or an argument is not as expected.
    UnknownSwatchError
        Where nothing bears the name of an anchor or of a paper.
    UsageError
        For an unknown device or light.
    LibraryError
        Where the library is to keep it and may only be read.

    Examples
    --------
    >>> import stopgap
    >>> with stopgap.demo_library() as library:
    ...     page = stopgap.coloured_page(library, ["Quillet:Q3", "Quillet:Q7"])
    ...     found = stopgap.scan(library, page, device="flatbed", replace_measured=True)
    >>> [(swatch.address, round(swatch.lab[0])) for swatch in found.kept]
    [('Quillet:Q3', 66), ('Quillet:Q7', 40)]
    """
    found = read_chart(
        library,
        _files(pictures),
        device=device,
        light=light,
        anchors=[one.address if isinstance(one, Swatch) else one for one in anchors],
        target=None if target is None else Path(target),
        on=on,
        replace_measured=replace_measured,
    )
    return store_scan(library, found) if store else found


def _files(pictures: Picture | Iterable[Picture]) -> list[Path | BinaryIO]:
    """Each picture as it is read; raises InputError where it is of a wrong type."""
    alone = isinstance(pictures, str | Path | bytes) or hasattr(pictures, "read")
    every = [pictures] if alone else pictures if isinstance(pictures, Iterable) else []
    files: list[Path | BinaryIO] = []
    for one in every:
        if isinstance(one, bytes):
            files.append(BytesIO(one))
        elif isinstance(one, str | Path):
            files.append(Path(one))
        elif hasattr(one, "read"):
            files.append(cast("BinaryIO", one))
        else:
            files.clear()
            break
    if not files:
        raise InputError(f"expected a file or more, found {pictures!r:.60}.", argument="pictures")
    return files


def to_frame(value: Pencils) -> "DataFrame":
    """Pencils, or an answer, as a frame.

    Parameters
    ----------
    value
        What `match`, `translate`, `blend`, `gaps`, `shop`, `families`, `layer` or `scan` gave; else
        pencils as every question takes them. Of pencils every swatch has a row: `range` and `code`
        are its key, `L`, `a`, `b` its colour under D50, 2 degree observer.

    Raises
    ------
    InputError
        If it is neither.

    Examples
    --------
    >>> import stopgap
    >>> with stopgap.demo_library() as library:
    ...     frame = stopgap.to_frame(library)
    >>> len(frame), float(frame["L"][0])
    (240, 92.29)
    """
    import pandas

    if isinstance(value, ANSWERS):
        report = report_of(value)
        return pandas.DataFrame(report.rows, columns=list(report.columns))
    if isinstance(value, tuple) and value and all(isinstance(each, ANSWERS) for each in value):
        return pandas.concat([to_frame(each) for each in value], ignore_index=True)
    return frame_of([swatch for pencil in pencils_of(value) for swatch in pencil.swatches])
