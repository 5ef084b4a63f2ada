"""The whole question for stand-ins, as commands, pages and Python ask it.

That is which pencils may answer, what replaces one that is not to be its own answer, and whether
layers are looked for, or what goes over layers that lie on the work already.
"""

from collections.abc import Sequence
from dataclasses import replace
from typing import TYPE_CHECKING, Any, NamedTuple

from stopgap.defaults import PENCILS_BELOW, STAND_INS
from stopgap.planner.laying import Ground
from stopgap.planner.nearness import better_laying
from stopgap.planner.stand_ins.answer import StandIns
from stopgap.planner.stand_ins.replacing import to_answer_with
from stopgap.planner.stand_ins.search import find_stand_ins
from stopgap.swatches import Layer, Selection, Stack, Swatch, Target

if TYPE_CHECKING:
    from stopgap.library import StoredShift
    from stopgap.planner.recipes.cache import RecipeCache

FOR_LAYDOWN = "for_laydown"
"""What `instead` says where a pencil is to be replaced since it lays badly."""


class Layering(NamedTuple):
    """Which pencils recipes may use, whether they are shown in any case, how many pencils stay
    below them where they stand first, and where they are kept.
    """

    owned: bool = True
    always: bool = False
    below: int = PENCILS_BELOW
    cache: "RecipeCache | None" = None


def match_target(
    asked: Target,
    ground: Ground,
    selection: Selection,
    *,
    layering: Layering | None = None,
    instead: str = "",
    over: Sequence[Layer] = (),
    shifts: "Sequence[StoredShift]" = (),
    **wanted: Any,
) -> StandIns:
    """What comes nearest to a colour on that ground: pencils of the selection, and recipes.

    `instead` is "" or the name of the argument that says why the pencil asked for is to be
    replaced, FOR_LAYDOWN among them; `over` are layers that lie on the work already, the first laid
    first; `shifts` are those that the library knows of. `wanted` is as `find_stand_ins` takes it.
    Without `layering` no recipe is looked for.

    Raises
    ------
    UsageError
        If a colour of its own is to be replaced, or as `find_stand_ins`.
    InputError, NothingFoundError
        As `find_stand_ins` and `find_glazes`.
    """
    from stopgap.library import shift_notes

    swatches = to_answer_with(ground.answering.swatches, asked, instead=instead)
    laid = selection.of(swatches)
    if instead == FOR_LAYDOWN and isinstance(asked, Swatch):
        selection = selection._replace(for_laydown=True)
        laid = better_laying(asked, selection.of(swatches)).pencils
    question = None
    if layering is not None or over:
        from stopgap.planner.recipes.questions import LayerQuestion

        how = (layering or Layering())._asdict()
        question = LayerQuestion.among(laid, selection, ground.conditions, **how)
    if over and question is not None:
        from stopgap.planner.stand_ins.glazing import find_glazes

        wanted["limit"] = question.below
        answer = find_glazes(
            asked,
            Stack(over),
            laid,
            question if layering is not None else replace(question, pencils=()),
            **wanted,
        )
    else:
        wanted.setdefault("limit", STAND_INS)
        answer = find_stand_ins(asked, swatches, selection=selection, layering=question, **wanted)
    return answer.told(shift_notes(shifts, answer.ranges))
