"""Decisions: what stands in for a shade, what to use for a list, what to buy.

Public names are resolved on first use: a question about stand-ins must not wait for the rest.
"""

from typing import TYPE_CHECKING

from stopgap.lazy import on_first_use

if TYPE_CHECKING:
    from stopgap.planner.answers import StandIn, StandIns, UnderLight
    from stopgap.planner.beforehand import Beforehand, stand_ins_beforehand
    from stopgap.planner.hand import estimated_hand, make_box
    from stopgap.planner.kept_recipes import not_layered_notes, recipes_of_hand
    from stopgap.planner.layered import layered_ways
    from stopgap.planner.light import look_under
    from stopgap.planner.pair_shift import PairShift, shift_of_pairs
    from stopgap.planner.recipe_cache import RecipeCache
    from stopgap.planner.recipe_index import RecipeIndex
    from stopgap.planner.recipes import LayerQuestion, find_recipes, middle_by_layering
    from stopgap.planner.shopping import (
        Aim,
        Alternative,
        BlendNeed,
        ColourNeed,
        DoNotBuy,
        LaidBlend,
        LaidColour,
        NeedAnswer,
        Purchase,
        ShoppingList,
        shopping_list,
    )
    from stopgap.planner.stand_ins import find_stand_ins
    from stopgap.planner.tables import CrossTable, TableRow, cross_table
    from stopgap.planner.translated import Asked, Row, Translation
    from stopgap.planner.translation import translate


__all__ = [
    "Aim",
    "Alternative",
    "Asked",
    "Beforehand",
    "BlendNeed",
    "ColourNeed",
    "CrossTable",
    "DoNotBuy",
    "LaidBlend",
    "LaidColour",
    "LayerQuestion",
    "NeedAnswer",
    "PairShift",
    "Purchase",
    "RecipeCache",
    "RecipeIndex",
    "Row",
    "ShoppingList",
    "StandIn",
    "StandIns",
    "TableRow",
    "Translation",
    "UnderLight",
    "cross_table",
    "estimated_hand",
    "find_recipes",
    "find_stand_ins",
    "layered_ways",
    "look_under",
    "make_box",
    "middle_by_layering",
    "not_layered_notes",
    "recipes_of_hand",
    "shift_of_pairs",
    "shopping_list",
    "stand_ins_beforehand",
    "translate",
]

__getattr__ = on_first_use(
    __name__,
    {
        "answers": "StandIn StandIns UnderLight",
        "beforehand": "Beforehand stand_ins_beforehand",
        "hand": "estimated_hand make_box",
        "kept_recipes": "not_layered_notes recipes_of_hand",
        "layered": "layered_ways",
        "light": "look_under",
        "pair_shift": "PairShift shift_of_pairs",
        "recipe_cache": "RecipeCache",
        "recipe_index": "RecipeIndex",
        "recipes": "LayerQuestion find_recipes middle_by_layering",
        "shopping": "Aim Alternative BlendNeed ColourNeed DoNotBuy LaidBlend LaidColour NeedAnswer "
        "Purchase ShoppingList shopping_list",
        "stand_ins": "find_stand_ins",
        "tables": "CrossTable TableRow cross_table",
        "translated": "Asked Row Translation",
        "translation": "translate",
    },
)
