"""How text gets into a PDF: laid out, and embedded as outlines alone.

matplotlib loads every letter again that it has laid out, and hands fontTools fonts with all tables
by which they lay out text, to be cut to the letters. No PDF needs either, and both together took
most of the time of writing one. Where the two are made otherwise, it is done as ever.
"""

from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager
from functools import cache, partial
from typing import Any

from matplotlib.backends import backend_pdf
from matplotlib.ft2font import LoadFlags

_NOT_IN_PDF = ("GDEF", "GPOS", "GSUB", "MATH", "OS/2", "cmap", "gasp", "kern", "name", "post")
"""Tables of a font that lay out text or tell of it: in a PDF it is laid out already, and what reads
one takes none of them (ISO 32000-2:2020, 9.9.1).
"""


@contextmanager
def text_of_pdf() -> Iterator[None]:
    """Write text without what no PDF needs."""
    from fontTools import subset

    helpers = getattr(backend_pdf, "_text_helpers", None)
    with _by(subset, "load_font", _outlines), _by(helpers, "layout", _laid_out):
        yield


@contextmanager
def _by(module: Any, name: str, other: Callable[..., Any]) -> Iterator[None]:
    """For a while what has that name in a module, if anything, is done by `other`, which is handed
    the usual way first.
    """
    usual = _usual(module, name)
    if usual is not None:
        setattr(module, name, partial(other, usual))
    try:
        yield
    finally:
        if usual is not None:
            setattr(module, name, usual)


@cache
def _usual(module: Any, name: str) -> Any:
    """What has that name where nothing is left out, whoever else writes a PDF at the time."""
    return getattr(module, name, None)


def _outlines(usual: Callable[..., Any], *asked: Any, **options: Any) -> Any:
    """A font without the tables that are not for a PDF."""
    font = usual(*asked, **options)
    for table in _NOT_IN_PDF:
        if table in font:
            del font[table]
    return font


def _laid_out(
    usual: Callable[..., Iterable[Any]], text: str, font: Any, **how: Any
) -> Iterable[Any]:
    """Each letter of a text with its place, none of them loaded."""
    try:
        return font._layout(text, LoadFlags.NO_HINTING, **how)  # type: ignore[no-any-return]
    except (AttributeError, TypeError):  # it is asked otherwise
        return usual(text, font, **how)
