"""The search for a place in one bay."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from readiness.bayfit.found import BayFit, Headings, Mode
from readiness.checklist.model import Checklist
from readiness.job import Bay, Sheet

SWING = 3.0
"""Degrees either way of the bay's axis."""


def modes_of(checklist: Checklist) -> tuple[Mode, ...]:
    """What can be asked of a bay: single, or left, right, in turn, at once."""
    return ("left", "right", "in_turn", "at_once") if len(checklist.sides) > 1 else ("single",)


def bay_fit(
    checklist: Checklist, sheet: Sheet, bay: Bay, modes: Sequence[Mode], *, headings: Headings = "axis",
    swing: float = SWING, heard: Callable[[str, float], bool] | None = None,
) -> BayFit:  # fmt: skip
    """Where in a bay the car can stand, for each mode. `heard` is told what is worked on and the share done, and
    ends the search by False; raises `measure.poses.Cancelled` then."""
    raise NotImplementedError
