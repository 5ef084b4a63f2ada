"""Decisions: what stands in for a shade, what to use for a list, what to buy."""

from stopgap.planner.answers import StandIn, StandIns, UnderLight
from stopgap.planner.light import look_under
from stopgap.planner.shift import Shift, estimate_shift
from stopgap.planner.stand_ins import find_stand_ins

__all__ = [
    "Shift",
    "StandIn",
    "StandIns",
    "UnderLight",
    "estimate_shift",
    "find_stand_ins",
    "look_under",
]
