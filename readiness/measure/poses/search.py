"""The search for the best pose: branch and bound over boxes of places times intervals of headings.

Turned by R(heading) a corner runs on an arc that leaves its chord by no more than reach (1 - cos(half the interval)).
But for that, with the arcs of directions of either end of the interval the signed distances (see `hulls`) are convex
in place and heading, so that over a box the game of `game` bounds them: second order in the size of the box, so
few boxes are needed. What can be the smallest nowhere in a box is left out in it and in its parts.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from readiness.measure.plan import Area
from readiness.measure.poses.exact import WITHIN, rooms_at
from readiness.measure.poses.model import TOLERANCE, Apart, Cancelled, Found, Heard, Moving, Pose

if TYPE_CHECKING:
    from readiness.measure.poses.boxes import Search

_ROUNDING = 1e-7
"""m; far more than rounding can do."""


def best_pose(
    place: Area, moving: Sequence[Moving], apart: Sequence[Apart], low: float, high: float, *,
    tolerance: float = TOLERANCE, heard: Heard | None = None,
) -> Found:  # fmt: skip
    """The pose with most spare room, its heading from `low` to `high` degrees.

    Raises Cancelled, and ValueError where nothing moves or `low` is above `high`.
    """
    search = _search(place, moving, apart, low, high, heard)
    search.until(tolerance - 2 * WITHIN * search.inexact - _ROUNDING)
    pose = search.pose()
    rooms = rooms_at(place, moving, apart, pose, 2 * tolerance)
    room = rooms[0][0]
    return Found(pose, room, max(search.bound() + _ROUNDING, room), tuple(number for _, number in rooms))


def fits(
    place: Area, moving: Sequence[Moving], apart: Sequence[Apart], low: float, high: float, *,
    heard: Heard | None = None,
) -> Pose | None:  # fmt: skip
    """A pose with no less than zero spare room, or None where there is none: quicker than the best.

    None where the bound is below zero, or within TOLERANCE of it with no pose found that does.
    """

    def enough(pose: Pose) -> bool:
        return rooms_at(place, moving, apart, pose, 0.0)[0][0] >= 0.0

    search = _search(place, moving, apart, low, high, heard)
    search.until(TOLERANCE - 2 * WITHIN * search.inexact - _ROUNDING, enough)
    pose = search.pose()
    return pose if enough(pose) else None


def _search(
    place: Area,
    moving: Sequence[Moving],
    apart: Sequence[Apart],
    low: float,
    high: float,
    heard: Heard | None,
) -> Search:
    from readiness.measure.poses.boxes import Search
    from readiness.measure.poses.hulls import hulls

    if not moving:
        raise ValueError("there is no moving shape: nothing needs room")
    if not low <= high:
        raise ValueError(f"headings from {low:g} to {high:g} degrees: the first must not be above the second")
    return Search(hulls(place, moving, apart), place, low, high, heard)
