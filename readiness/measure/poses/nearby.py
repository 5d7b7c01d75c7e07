"""The best pose so far, and the way from it to a better one nearby."""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import TYPE_CHECKING

from readiness.measure.poses.arcs import arcs, distances
from readiness.measure.poses.game import most_telling, value_of
from readiness.measure.poses.hulls import Hulls
from readiness.measure.poses.model import Pose

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Array = NDArray[np.float64]
    Numbers = NDArray[np.intp]

Place = tuple[float, float, float]
"""Where the body's middle is, m, and its heading in radians."""

_STRIDE, _FINEST = 0.25, 2e-4
"""m; half the side of the first box about a pose, and of the last."""
_ROUND = 3.0
"""No place in a box, turning counted as the way of the farthest place, is farther from its middle than so many times half its side."""
_AWAY = 0.5
"""m; from so far on, what may be near is looked up anew."""


class Best:
    """The best pose so far. `at` is where the body's middle is then, and its heading in radians."""

    def __init__(self, h: Hulls, low: float, high: float, heard: Callable[[], None]) -> None:
        """`heard` is called now and then."""
        self.h, self.low, self.high, self.heard = h, low, high, heard
        self.value = -math.inf
        self.at: Place = (0.0, 0.0, low)
        self.reach = max(float(h.reach.max()), 0.1)
        self.enough: Callable[[Pose], bool] | None = None

    @property
    def pose(self) -> Pose:
        """The same as the pose of the body's own axes."""
        x, y, heading = self.at
        c, s = math.cos(heading), math.sin(heading)
        mx, my = self.h.middle
        return Pose(x - c * mx + s * my, y - s * mx - c * my, math.degrees(heading))

    def offered(self, at: Place, within: float) -> None:
        """Takes a pose that is better, and climbs from one that is better by more than `within`."""
        value = float(self.values(at, self.near(at, 0.0)).min())
        better = value > self.value + within
        if value > self.value:
            self.value, self.at = value, at
        if better:
            self.climb()

    def values(self, at: Place, which: Numbers) -> Array:
        """Clearance less what is asked of each of these pairs."""
        import numpy as np

        x, y, heading = at
        row = np.arange(len(which))[None]
        ring = arcs(self.h, heading, which)
        found: Array = (
            distances(ring, heading, row, np.array([[x]]), np.array([[y]]))[0, 0] - self.h.off[which]
        )
        return found

    def near(self, at: Place, within: float) -> Numbers:
        """The pairs that may be the tightest at a pose or at one within so much of it, by circles."""
        import numpy as np

        h = self.h
        most, least = circles(h, at[2], np.array([at[0]]), np.array([at[1]]))
        least[:, : h.edge] = -np.inf
        return np.flatnonzero(least[0] <= most[0].min() + 2 * within)

    def climb(self, size: float = _STRIDE) -> None:
        """From the best pose on, by the games of boxes about it that get smaller where they lead nowhere."""
        start, which = self.at, self._around(size)
        values = self.values(start, which)
        while size > _FINEST and not self.content():
            self.heard()
            if self._from(start) > _AWAY:
                start, which = self.at, self._around(size)
                values = self.values(start, which)
            at = self._promised(which[values <= self.value + 2 * _ROUND * size], size)
            there = self.values(at, which)
            gain = float(there.min()) - self.value
            if gain > 0.0:
                self.value, self.at, values = float(there.min()), at, there
            size *= 1.0 if gain > size / 4 else 0.5 if gain > size / 20 else 0.2

    def content(self) -> bool:
        """Whether no better pose is wanted."""
        return self.enough is not None and self.value >= 0.0 and self.enough(self.pose)

    def _around(self, size: float) -> Numbers:
        within = _AWAY + (1 + _ROUND) * size
        which = self.near(self.at, within)
        return which[self.values(self.at, which) <= self.value + 2 * within]

    def _from(self, start: Place) -> float:
        x, y, heading = self.at
        return math.hypot(x - start[0], y - start[1]) + self.reach * abs(heading - start[2])

    def _promised(self, which: Numbers, size: float) -> Place:
        """Where in a box about the best pose the mixture of its corners that wins the game lies."""
        import numpy as np

        x, y, heading = self.at
        turns = max(self.low, heading - size / self.reach), min(self.high, heading + size / self.reach)
        rings = [arcs(self.h, t, which) for t in turns]
        row = np.arange(len(which))[None]
        px = x + size * np.array([[-1.0, 1.0, -1.0, 1.0]])
        py = y + size * np.array([[-1.0, -1.0, 1.0, 1.0]])
        halves = [np.concatenate([distances(r, t, row, px, py) for t in turns], axis=1) for r in rings]
        table = np.concatenate(halves, axis=2) - np.tile(self.h.off[which], 2)
        mixture = value_of(most_telling(table))[1][0]
        return point_of(mixture, px[0], py[0], turns)


def point_of(mixture: Array, px: Array, py: Array, turns: tuple[float, float]) -> Place:
    """The pose that is this mixture of the corners of a box, at its first heading and at its last."""
    first, last = mixture[:4], mixture[4:]
    both = first + last
    return float(both @ px), float(both @ py), float(first.sum() * turns[0] + last.sum() * turns[1])


def circles(h: Hulls, heading: float, x: Array, y: Array) -> tuple[Array, Array]:
    """What each pair (columns) leaves at most and at least where the body's middle is (rows), by circles.

    What it leaves at least means nothing for half-planes.
    """
    import numpy as np

    c, s = math.cos(heading), math.sin(heading)
    mx, my = h.moving.middle_x[h.a], h.moving.middle_y[h.a]
    qx = h.still.middle_x[h.b] - c * mx + s * my
    qy = h.still.middle_y[h.b] - s * mx - c * my
    most: Array = np.hypot(x[:, None] - qx, y[:, None] - qy) - h.off
    return most, most - h.moving.reach[h.a] - h.still.reach[h.b]
