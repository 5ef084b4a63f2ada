"""Stand-ins, layering recipes and gaps for people who draw with coloured pencils.

Public names are resolved on first use, so that `import stopgap` costs next to nothing.

>>> import stopgap
>>> float(round(stopgap.difference.delta_E([50, 2.6772, -79.7751], [50, 0, -82.7485]), 4))
2.0425
"""

from typing import TYPE_CHECKING

from stopgap.lazy import on_first_use

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
    from stopgap.library import demo_library, open_library

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

__getattr__ = on_first_use(
    __name__, {"library": "open_library", "library.demo": "demo_library"}, modules=__all__
)


def __dir__() -> list[str]:
    return sorted([*globals(), *__all__])
