"""Libraries, ranges and frames from Python."""

from pathlib import Path
from typing import TYPE_CHECKING, cast

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
from stopgap.planner.arranging import open_library as open_library
from stopgap.swatches import ColourRange as ColourRange
from stopgap.swatches import Swatch as Swatch

if TYPE_CHECKING:
    from pandas import DataFrame


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
    if not isinstance(library, Library):
        raise InputError(f"expected an open library, found {library!r:.60}.", argument="library")
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


def to_frame(value: Pencils) -> "DataFrame":
    """Pencils, or an answer, as a frame.

    Parameters
    ----------
    value
        What `match`, `translate`, `blend`, `gaps`, `shop`, `families` or `layer` gave; else pencils
        as every question takes them. Of pencils every swatch has a row: `range` and `code` are its
        key, `L`, `a`, `b` its colour under D50, 2 degree observer.

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
