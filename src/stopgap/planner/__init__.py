"""Decisions: what stands in for a shade, what to use for a list, what to buy."""

from stopgap.planner.answers import StandIn, StandIns, UnderLight
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
    "translate",
]
