"""What drawing loads that no page of ours needs, left out where nothing but our pages is drawn.

While it loads, matplotlib writes documentation for every setting of every mark that it can draw,
prepares to draw in space, and gets ready for formulas, TeX, dates and patterns that name fonts;
fontTools, by which letters are embedded, loads what makes variable fonts. That is up to half of the
CPU time of a short drawing command. A notebook may want all of it, so only the command line spares
it. What is left out is found by its name: in a release that has no such name, or wants more of it,
it is loaded as ever.
"""

import sys
import warnings
from collections.abc import Iterator, Mapping
from contextlib import ExitStack, contextmanager
from datetime import UTC
from importlib import import_module
from importlib.util import find_spec, module_from_spec
from types import ModuleType
from typing import Any

_IN_SPACE = "mpl_toolkits.mplot3d"
_VARIABLE_FONTS = "fontTools.varLib"
_WITH_LETTERS = (".pdf", ".svg")
_CANVASES = {
    form: f"matplotlib.backends.backend_{canvas}"
    for form, canvas in ((".pdf", "pdf"), (".svg", "svg"), (".png", "agg"))
}


class _NoFormula:
    """What would set formulas."""

    def __init__(self, output: str) -> None:
        del output


def _family_alone(pattern: str) -> dict[str, list[str]]:
    """A pattern of fontconfig as far as the family."""
    return {"family": [pattern.partition(":")[0]]}


def _families_of(properties: Any) -> str:
    """The other way."""
    return ", ".join(properties.get_family())


_INSTEAD: Mapping[str, Mapping[str, object]] = {
    "matplotlib._fontconfig_pattern": {
        "parse_fontconfig_pattern": _family_alone,
        "generate_fontconfig_pattern": _families_of,
    },
    "matplotlib.mathtext": {"MathTextParser": _NoFormula},
    "matplotlib.texmanager": {"TexManager": None},
    "matplotlib.dviread": {"Dvi": None},
    "matplotlib.category": {},
    "matplotlib.dates": {"UTC": UTC},
    "pyparsing": {"__version__": "9999"},  # which is asked for, though nothing is parsed
}
"""Modules that matplotlib gets ready with, and all that is asked of them for our pages."""

_WITHOUT_AXES: Mapping[str, Mapping[str, object]] = {
    "matplotlib.axes": {"Axes": ()},  # of which nothing is one
    **{f"matplotlib.{name}": {} for name in ("projections", "colorbar", "legend")},
}
"""The same for pages that have no axes."""


def load_sparingly(form: str, *, axes: bool = True) -> None:
    """Load what draws .pdf, .svg or .png, without what only programmers want, or without `axes`.

    What is loaded already stays. For a process that draws nothing but our pages: matplotlib cannot
    draw in space or set formulas afterwards, nor draw axes where they were left out.
    """
    package = find_spec(_VARIABLE_FONTS)
    if form in _WITH_LETTERS and package is not None:
        # its modules, without running the package's own code, which makes fonts
        with _instead(_VARIABLE_FONTS, module_from_spec(package)):
            import_module("fontTools.subset")
    if "matplotlib" not in sys.modules:
        try:
            with ExitStack() as left_out:
                unused = _INSTEAD if axes else {**_INSTEAD, **_WITHOUT_AXES}
                for name, attributes in unused.items():
                    left_out.enter_context(_instead(name, _module(name, attributes)))
                _load_matplotlib(form)
        except (AttributeError, ImportError):  # more is asked of what was left out
            _load_matplotlib(form)


def _module(name: str, attributes: Mapping[str, object]) -> ModuleType:
    made = ModuleType(name)
    vars(made).update(attributes)
    return made


def _load_matplotlib(form: str) -> None:
    _write_no_documentation()
    with _instead(_IN_SPACE, None), warnings.catch_warnings():
        warnings.simplefilter("ignore", UserWarning)  # that it cannot be loaded
        import_module("matplotlib.figure")
        import_module(_CANVASES[form])


def _write_no_documentation() -> None:
    artist: Any = import_module("matplotlib.artist")
    if hasattr(artist.Artist, "_update_set_signature_and_docstring"):
        artist.Artist._update_set_signature_and_docstring = classmethod(lambda cls: cls)
    documentation: Any = import_module("matplotlib._docstring")
    for kind in ("Substitution", "_ArtistPropertiesSubstitution"):
        if hasattr(documentation, kind):
            getattr(documentation, kind).__call__ = lambda _, documented: documented


@contextmanager
def _instead(name: str, module: ModuleType | None) -> Iterator[None]:
    """Where `name` is not loaded yet, it is `module` for a while, or cannot be loaded."""
    if name in sys.modules:
        yield
        return
    sys.modules[name] = module  # type: ignore[assignment]
    try:
        yield
    finally:
        del sys.modules[name]
