"""The floor of a bay: where a place can be read, and between which places a straightedge can lie."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cached_property

from readiness.checklist.outline import inside
from readiness.checks.clear_area.things import obstacle_shape
from readiness.checks.picture import XY
from readiness.job import Bay, Obstacle
from readiness.measure.plan import PointAt, SegmentAt, Shape, signed_clearance

BESIDE = 0.1
"""m that a staff or the end of a straightedge keeps from a thing; common practice, no published source."""
STEP = 0.1
"""m between the places at which a line is looked at."""
ON_FLOOR = 0.15
"""m; a thing whose lower edge is higher than that leaves room for a straightedge."""


@dataclass(frozen=True)
class Room:
    """The bay's outline and what stands on its floor, in bay axes."""

    bay: Bay

    @cached_property
    def outline(self) -> tuple[XY, ...]:
        return tuple((p.x, p.y) for p in self.bay.outline)

    @cached_property
    def _standing(self) -> tuple[Shape, ...]:
        return tuple(obstacle_shape(o) for o in self.bay.obstacles if o.fixed and _on_floor(o))

    def holds(self, at: XY) -> bool:
        """Whether a place lies in the bay."""
        return inside(at, self.outline)

    def free(self, at: XY) -> bool:
        """Whether a place lies in the bay and nothing stands on it."""
        return self.holds(at) and all(signed_clearance(s, PointAt(*at)) >= BESIDE for s in self._standing)

    def clear(self, a: XY, b: XY) -> bool:
        """Whether the straight line between two places stays in the bay and meets nothing on the way.

        A thing on which one of the places lies is no bar: there a wheel stands, so the thing is a ramp or lies elsewhere.
        """
        steps = max(1, math.ceil(math.dist(a, b) / STEP))
        between = (
            (a[0] + (b[0] - a[0]) * k / steps, a[1] + (b[1] - a[1]) * k / steps) for k in range(1, steps)
        )
        if not all(self.holds(at) for at in between):
            return False
        return all(
            signed_clearance(s, SegmentAt(*a, *b)) > 0
            for s in self._standing
            if all(signed_clearance(s, PointAt(*end)) > 0 for end in (a, b))
        )


def _on_floor(obstacle: Obstacle) -> bool:
    return obstacle.height is None or obstacle.height.low <= ON_FLOOR
