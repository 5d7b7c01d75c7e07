"""What is asked and what is answered: moving shapes, still ones, a pose and its spare room."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from readiness.measure.plan import Shape

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
    """m; the smallest clearance less its gap at this pose, exact (see `spare`)."""
    bound: float
    """m; no pose has more spare room than this. bound - spare <= tolerance."""
    binding: tuple[int, ...]
    """Numbers of the pairs that bind at the pose, tightest first; -1 - k for moving shape k against the place's edge."""


Heard = Callable[[float], bool]
"""Called now and then with the share done, 0 to 1; returns False to end the search."""


class Cancelled(Exception):
    """The search was ended by the caller."""
