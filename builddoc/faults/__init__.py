"""Faults tried without being asked: extra states derived from the declared ones by orders that parts know already."""

from .trying import LIMIT, Tried, solve_with, states

__all__ = ["LIMIT", "Tried", "solve_with", "states"]
