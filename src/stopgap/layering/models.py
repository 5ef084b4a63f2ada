"""The table of layering models.

A model is a function of reflectances, `(layers, paper, loads, *, tooth, opacity, ground=None) ->
reflectance`, of the form that `stopgap.layering.shared_tooth.shared_tooth` describes; one that
`traps` takes `trapping` as well.
"""

from collections.abc import Callable, Mapping
from types import MappingProxyType
from typing import NamedTuple

from stopgap.arrays import Floats
from stopgap.colorimetry.recovery.bands import REC_2020, SPECTRUM, Bands
from stopgap.errors import InputError
from stopgap.layering.prepared_layers import (
    LaidGround,
    PreparedLayers,
    laid_ground,
    prepared_layers,
)
from stopgap.layering.shared_tooth import NODES, absorption, shared_tooth

ModelFunction = Callable[..., Floats]
DEFAULT_MODEL = "spectrum"


class Additive(NamedTuple):
    """A model taken apart, so that a search prepares every pencil once.

    `absorption(layers, paper, opacity, tooth=…)` are optical depths on bare paper.
    `laid_ground(paper, depth, opacity, tooth=…, trapping=…)` is a paper and what lies on it, and
    `prepared_layers(depth, opacity, ground)` are layers made ready to be laid on that.
    """

    absorption: Callable[..., Floats]
    laid_ground: Callable[..., LaidGround]
    prepared_layers: Callable[[Floats, Floats, LaidGround], PreparedLayers]


class Model(NamedTuple):
    """One row of MODELS; without `additive` a search calls it for every recipe."""

    function: ModelFunction
    bands: Bands
    about: str
    additive: Additive | None = None
    traps: bool = False

    def reflectance(
        self,
        layers: Floats,
        seen_on: Floats,
        loads: Floats,
        *,
        tooth: float,
        trapping: float,
        opacity: Floats,
        ground: Floats | None = None,
        depth: Floats | None = None,
        nodes: int = NODES,
    ) -> Floats:
        """What its function says of layers on a paper of those knobs.

        Where the model can be taken apart, optical `depth` (..., n, k) that is known already is
        taken as it is, and the mean over the tooth is one of so many `nodes`.
        """
        knobs: dict[str, int | float | Floats] = {"tooth": tooth}
        if self.traps:
            knobs["trapping"] = trapping
        if depth is not None:
            knobs["depth"] = depth
        if self.additive is not None:
            knobs["nodes"] = nodes
        return self.function(layers, seen_on, loads, opacity=opacity, ground=ground, **knobs)


_SHARED_TOOTH = Additive(absorption, laid_ground, prepared_layers)

MODELS: Mapping[str, Model] = MappingProxyType(
    {
        "spectrum": Model(
            shared_tooth,
            SPECTRUM,
            "layers sharing the paper's tooth, in 36 bands of the plainest spectrum",
            _SHARED_TOOTH,
            traps=True,
        ),
        "channels": Model(
            shared_tooth,
            REC_2020,
            "layers sharing the paper's tooth, in the three linear channels of ITU-R BT.2020",
            _SHARED_TOOTH,
            traps=True,
        ),
    }
)


def model_of(model: str | Model | ModelFunction) -> Model:
    """The row of MODELS of that name; a row, or a function over 36 bands, may be given instead.

    Raises
    ------
    InputError
        If no model has that name.
    """
    if isinstance(model, Model):
        return model
    if callable(model):
        return Model(model, SPECTRUM, getattr(model, "__name__", "a function"))
    if model not in MODELS:
        raise InputError(f"model: {model!r} is not one of {', '.join(MODELS)}.")
    return MODELS[model]
