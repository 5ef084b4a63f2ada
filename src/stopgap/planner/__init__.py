"""Decisions: what stands in for a shade, what to use for a list, what to buy."""

from stopgap.planner.beforehand import Beforehand, stand_ins_beforehand
from stopgap.planner.recipes import (
    LayerQuestion,
    estimated_hand,
    find_recipes,
    make_box,
    middle_by_layering,
)
from stopgap.planner.stand_ins import StandIn, StandIns, find_stand_ins

__all__ = [
    "Beforehand",
    "LayerQuestion",
    "StandIn",
    "StandIns",
    "estimated_hand",
    "find_recipes",
    "find_stand_ins",
    "make_box",
    "middle_by_layering",
    "stand_ins_beforehand",
]
