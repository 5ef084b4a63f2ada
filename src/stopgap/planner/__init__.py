"""Decisions: what stands in for a shade, what to use for a list, what to buy.

Public names are resolved on first use: a question about stand-ins must not wait for the rest.
"""

from importlib import import_module
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from stopgap.planner.answers import StandIn, StandIns, UnderLight
    from stopgap.planner.beforehand import Beforehand, stand_ins_beforehand
    from stopgap.planner.layered import layered_ways
    from stopgap.planner.light import look_under
    from stopgap.planner.needs import BlendNeed, ColourNeed
    from stopgap.planner.pair_shift import PairShift, shift_of_pairs
    from stopgap.planner.plan import (
        Alternative,
        Chain,
        DoNotBuy,
        Laid,
        NeedAnswer,
        Purchase,
        ShoppingList,
        Stage,
        Stop,
    )
    from stopgap.planner.recipe_cache import RecipeCache
    from stopgap.planner.recipe_index import RecipeIndex
    from stopgap.planner.recipes import (
        LayerQuestion,
        estimated_hand,
        find_recipes,
        make_box,
        middle_by_layering,
    )
    from stopgap.planner.shopping import shopping_list
    from stopgap.planner.stand_ins import find_stand_ins
    from stopgap.planner.tables import CrossTable, TableRow, cross_table
    from stopgap.planner.translated import Asked, Row, Translation
    from stopgap.planner.translation import translate
    from stopgap.planner.ways import Way

__all__ = [
    "Alternative",
    "Asked",
    "Beforehand",
    "BlendNeed",
    "Chain",
    "ColourNeed",
    "CrossTable",
    "DoNotBuy",
    "Laid",
    "LayerQuestion",
    "NeedAnswer",
    "PairShift",
    "Purchase",
    "RecipeCache",
    "RecipeIndex",
    "Row",
    "ShoppingList",
    "Stage",
    "StandIn",
    "StandIns",
    "Stop",
    "TableRow",
    "Translation",
    "UnderLight",
    "Way",
    "cross_table",
    "estimated_hand",
    "find_recipes",
    "find_stand_ins",
    "layered_ways",
    "look_under",
    "make_box",
    "middle_by_layering",
    "shift_of_pairs",
    "shopping_list",
    "stand_ins_beforehand",
    "translate",
]

_MODULE = {
    "Alternative": "plan",
    "Asked": "translated",
    "Beforehand": "beforehand",
    "BlendNeed": "needs",
    "Chain": "plan",
    "ColourNeed": "needs",
    "CrossTable": "tables",
    "DoNotBuy": "plan",
    "Laid": "plan",
    "LayerQuestion": "recipes",
    "NeedAnswer": "plan",
    "PairShift": "pair_shift",
    "Purchase": "plan",
    "RecipeCache": "recipe_cache",
    "RecipeIndex": "recipe_index",
    "Row": "translated",
    "ShoppingList": "plan",
    "Stage": "plan",
    "StandIn": "answers",
    "StandIns": "answers",
    "Stop": "plan",
    "TableRow": "tables",
    "Translation": "translated",
    "UnderLight": "answers",
    "Way": "ways",
    "cross_table": "tables",
    "estimated_hand": "recipes",
    "find_recipes": "recipes",
    "find_stand_ins": "stand_ins",
    "layered_ways": "layered",
    "look_under": "light",
    "make_box": "recipes",
    "middle_by_layering": "recipes",
    "shift_of_pairs": "pair_shift",
    "shopping_list": "shopping",
    "stand_ins_beforehand": "beforehand",
    "translate": "translation",
}


def __getattr__(name: str) -> Any:
    if name not in _MODULE:
        raise AttributeError(f"module 'stopgap.planner' has no attribute {name!r}")
    return getattr(import_module(f"stopgap.planner.{_MODULE[name]}"), name)
