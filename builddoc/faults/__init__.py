"""Faults tried without being asked: extra states derived from the declared ones, each sort in a file of its own."""

from .trying import LIMIT, Extra, Trial, solve_with, states

__all__ = ["LIMIT", "Extra", "Trial", "solve_with", "states"]
