"""What the question for stand-ins is answered with."""

from typing import TYPE_CHECKING, NamedTuple

from stopgap.errors import Note
from stopgap.swatches import Swatch, Target

if TYPE_CHECKING:
    from stopgap.layering import Layered, Recipe


class UnderLight(NamedTuple):
    """One candidate beside the target under one illuminant.

    `metamerism` is the special metamerism index of CIE 15 against D50; `parts` says that it is too
    large to accept of two colours that match under D50. Where a spectrum had to be reconstructed
    `delta_E` and `metamerism` are medians and `interval` holds 90 of 100 differences.
    """

    illuminant: str
    delta_E: float
    metamerism: float
    parts: bool
    interval: tuple[float, float] | None = None


class StandIn(NamedTuple):
    """One candidate: differences are the candidate's minus the target's.

    `delta_E` is in the metric asked for, `delta_L`, `delta_C`, `delta_H` are CIE L*, C*ab, H*ab;
    `sigma` is the standard uncertainty of the difference in ΔE00 and `upper` the bound that holds
    in 95 of 100 cases; `probability` is that of being the nearest of those shown; `tied` says that
    it is one of several that hold the nearest with 95 per cent. `under` is for other lights.
    """

    swatch: Swatch
    delta_E: float
    grade: str
    delta_L: float
    delta_C: float
    delta_H: float
    words: str
    sigma: float
    tied: bool
    cautions: tuple[str, ...] = ()
    upper: float = 0.0
    probability: float = 1.0
    under: tuple[UnderLight, ...] = ()


class Over(NamedTuple):
    """What lies on the work already, and what single pencils come to over it.

    `delta_E` (ΔE00) is from it to the target. `pencils` are the nearest laid alone, `on_paper` the
    one that is nearest on bare paper, all over this ground; nothing laid alone is lighter than
    `lightest` (L*). `out_of_reach` says that not even the near end of any interval is close.
    """

    ground: "Layered"
    delta_E: float
    pencils: "tuple[Recipe, ...]"
    on_paper: "Recipe"
    lightest: float
    out_of_reach: bool


class StandIns(NamedTuple):
    """The answer to one question: single pencils, nearest first, and layering recipes, of which the
    one that promises most comes first; `layers_first` says that these stand above the pencils.
    `over` is what the recipes are laid over, where that is not bare paper.
    """

    target: Target
    metric: str
    matches: tuple[StandIn, ...]
    notes: tuple[Note, ...]
    layers: "tuple[Recipe, ...]" = ()
    layers_first: bool = False
    over: Over | None = None
