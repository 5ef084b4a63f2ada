"""Decisions: what stands in for a shade, what to use for a list, what to buy."""

from stopgap.planner.stand_ins import StandIn, StandIns, find_stand_ins

__all__ = ["StandIn", "StandIns", "find_stand_ins"]
