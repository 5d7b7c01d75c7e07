"""Where a rigid set of shapes fits best among others that stand still, turned a little or a lot.

Plan geometry only. A pose is a place and a heading; every pair of a moving and a still shape has a gap
that is asked for. The spare room of a pose is the smallest of all clearances less their gaps.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from readiness.measure.overlap import XY
from readiness.measure.plan import Area, Shape

TOLERANCE = 0.002
"""m; how far the best pose found may stay below the bound."""


@dataclass(frozen=True, slots=True)
class Moving:
    """A shape that moves with the body, in its axes. `inside`: how far in m it must stay within the place."""

    shape: Shape
    inside: float = 0.0


@dataclass(frozen=True, slots=True)
class Apart:
    """A moving shape (by its number), a still one in the axes of the place, and the gap in m asked for."""

    moving: int
    still: Shape
    gap: float = 0.0


@dataclass(frozen=True, slots=True)
class Pose:
    x: float
    y: float
    heading: float
    """Degrees, counterclockwise."""


@dataclass(frozen=True, slots=True)
class Found:
    """The best pose, and what no pose can exceed. `spare` < 0: none fits."""

    pose: Pose
    spare: float
    """m; the smallest clearance less its gap at this pose, exact (measure.plan)."""
    bound: float
    """m; no pose has more spare room than this. bound - spare <= tolerance, unless the search was cut short."""
    binding: tuple[int, ...]
    """Numbers of the pairs that bind at the pose, tightest first; -1 - k for moving shape k against the place's edge."""


Heard = Callable[[float], bool]
"""Called now and then with the share done, 0 to 1; returns False to end the search."""


class Cancelled(Exception):
    """The search was ended by the caller."""


def best_pose(
    place: Area, moving: Sequence[Moving], apart: Sequence[Apart], low: float, high: float, *,
    tolerance: float = TOLERANCE, heard: Heard | None = None,
) -> Found:  # fmt: skip
    """The pose with most spare room, its heading from `low` to `high` degrees. Raises Cancelled."""
    raise NotImplementedError


def fits(
    place: Area, moving: Sequence[Moving], apart: Sequence[Apart], low: float, high: float, *,
    heard: Heard | None = None,
) -> Pose | None:  # fmt: skip
    """A pose with no less than zero spare room, or None where there is none: quicker than the best."""
    raise NotImplementedError


def spare(
    place: Area, moving: Sequence[Moving], apart: Sequence[Apart], pose: Pose
) -> tuple[float, tuple[XY, XY], int]:
    """Spare room at a pose in m, exact; the places between which it lies, in the place's axes; which pair."""
    raise NotImplementedError
