"""The one door to colour-science, which takes over half a second to import.

Functions that need it call `colour_science()`; no module imports it at its top.
"""

import sys
import warnings
from importlib import import_module
from types import ModuleType


def colour_science() -> ModuleType:
    """The package `colour`, imported on first use.

    Without matplotlib, which only its plotting needs, colour-science says on import that plotting
    is not available. Nothing here plots through it, so that one message is not shown.
    """
    if "colour" not in sys.modules:
        with warnings.catch_warnings():
            warnings.filterwarnings("ignore", message='"Matplotlib" related API features')
            import_module("colour")  # slow, and wanted by few callers
    return sys.modules["colour"]
