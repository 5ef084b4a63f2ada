"""Stand-ins, layering recipes and gaps for people who draw with coloured pencils.

Public names are resolved on first use, so that `import stopgap` costs next to nothing.

>>> import stopgap
>>> float(round(stopgap.difference.delta_E([50, 2.6772, -79.7751], [50, 0, -82.7485]), 4))
2.0425
"""

from importlib import import_module
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from stopgap import (
        blends,
        colorimetry,
        difference,
        layering,
        naming,
        neighbours,
        planner,
        reports,
    )
    from stopgap.library import open_library
    from stopgap.library.demo import demo_library

__version__ = "0.1.0"

__all__ = [
    "blends",
    "colorimetry",
    "demo_library",
    "difference",
    "layering",
    "naming",
    "neighbours",
    "open_library",
    "planner",
    "reports",
]

_DEFINED_IN = {"demo_library": "stopgap.library.demo", "open_library": "stopgap.library"}


def __getattr__(name: str) -> Any:
    if name in _DEFINED_IN:
        return getattr(import_module(_DEFINED_IN[name]), name)
    if name in __all__:
        return import_module(f"stopgap.{name}")
    raise AttributeError(f"module 'stopgap' has no attribute {name!r}")


def __dir__() -> list[str]:
    return sorted([*globals(), *__all__])
