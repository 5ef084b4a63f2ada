"""What drawing loads that no page of ours needs, left out where nothing but our pages is drawn.

While it loads, matplotlib writes documentation for every setting of every mark that it can draw,
and prepares to draw in space; fontTools, by which letters are embedded, loads what makes variable
fonts. That is up to a third of the CPU time of a short drawing command. A notebook may want all of
it, so only the command line spares it. What is left out is found by its name: in a release that has
no such name, it is loaded as ever.
"""

import sys
import warnings
from collections.abc import Iterator
from contextlib import contextmanager
from importlib import import_module
from importlib.util import find_spec, module_from_spec
from types import ModuleType
from typing import Any

_IN_SPACE = "mpl_toolkits.mplot3d"
_VARIABLE_FONTS = "fontTools.varLib"


def load_sparingly(*, letters: bool) -> None:
    """Load matplotlib, and with `letters` what embeds them, without what only programmers want.

    What is loaded already stays. For a process that draws nothing but our pages: matplotlib cannot
    draw in space afterwards.
    """
    if "matplotlib" not in sys.modules:
        _write_no_documentation()
        with _instead(_IN_SPACE, None), warnings.catch_warnings():
            warnings.simplefilter("ignore", UserWarning)  # that it cannot be loaded
            import_module("matplotlib.figure")
    package = find_spec(_VARIABLE_FONTS)
    if letters and package is not None:
        # its modules, without running the package's own code, which makes fonts
        with _instead(_VARIABLE_FONTS, module_from_spec(package)):
            import_module("fontTools.subset")


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
