"""The search for the best pose: branch and bound over boxes of places times intervals of headings (see `boxes`)."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import TYPE_CHECKING

from readiness.measure.plan import Area
from readiness.measure.poses.cover import widened
from readiness.measure.poses.exact import rooms_at
from readiness.measure.poses.model import TOLERANCE, Apart, Cancelled, Found, Heard, Moving, Pose

if TYPE_CHECKING:
    from readiness.measure.poses.boxes import Boxes, Turn

CLOSE = 0.0002
"""m; where the best pose found misses by less and the bound does not rule out a better one, the pose decides."""
_ROUNDING = 1e-7
"""m; far more than rounding can do."""
_WIDEST = math.radians(12.0)
"""No first interval of headings is wider."""
_ACROSS = 8
"""So many of the first boxes lie side by side along the longer side of the place."""
_SKEW = 3.0
"""Headings are halved where turning through them takes the farthest place this many times as far as a box is wide."""
_NEAREST = 6
"""So many things tell of most first boxes that they hold nothing good."""
_BATCH = 16
"""Boxes quartered at once."""
_LAST = 0.01
"""m; first step of the last climb, to the very top."""
_AT_ONCE = 16_000
"""Arcs times boxes looked at between two calls of `heard`: some hundredths of a second."""


def best_pose(
    place: Area, moving: Sequence[Moving], apart: Sequence[Apart], low: float, high: float, *,
    tolerance: float = TOLERANCE, heard: Heard | None = None,
) -> Found:  # fmt: skip
    """The pose with most spare room, its heading from `low` to `high` degrees.

    Raises Cancelled, and ValueError where nothing moves or `low` is above `high`.
    """
    search = _search(place, moving, apart, low, high, tolerance, heard)
    search.run()
    search.best.climb(_LAST)
    rooms = rooms_at(place, moving, apart, search.best.pose, 2 * tolerance)
    room = rooms[0][0]
    bound = max(search.bound + _ROUNDING, room)
    return Found(search.best.pose, room, bound, tuple(number for _, number in rooms))


def fits(
    place: Area, moving: Sequence[Moving], apart: Sequence[Apart], low: float, high: float, *,
    heard: Heard | None = None,
) -> Pose | None:  # fmt: skip
    """A pose with no less than zero spare room, or None where there is none: quicker than the best.

    None where the bound is below zero, or no more than CLOSE above the best pose found, which does not fit.
    """

    def enough(pose: Pose) -> bool:
        return rooms_at(place, moving, apart, pose, 0.0)[0][0] >= 0.0

    search = _search(place, moving, apart, low, high, CLOSE, heard)
    search.best.enough = enough
    search.run()
    return search.best.pose if enough(search.best.pose) else None


def _search(
    place: Area, moving: Sequence[Moving], apart: Sequence[Apart],
    low: float, high: float, tolerance: float, heard: Heard | None,
) -> Search:  # fmt: skip
    if not moving:
        raise ValueError("there is no moving shape: nothing needs room")
    if not low <= high:
        raise ValueError(f"headings from {low:g} to {high:g} degrees: the first must not be above the second")
    return Search(place, moving, apart, math.radians(low), math.radians(high), tolerance - _ROUNDING, heard)


class Search:
    """Boxes that may hold something better than the best so far, by intervals of headings."""

    def __init__(
        self, place: Area, moving: Sequence[Moving], apart: Sequence[Apart],
        low: float, high: float, tolerance: float, heard: Heard | None,
    ) -> None:  # fmt: skip
        from readiness.measure.poses.hulls import hulls
        from readiness.measure.poses.nearby import Best

        self.place, self.low, self.high = place, low, high
        self.tolerance, self.heard = tolerance, heard
        self.left: list[tuple[Turn, Boxes]] = []
        self.dropped = -math.inf
        self.share = 0.0
        self.looked_at = 0
        """Boxes, so far."""
        self.h = hulls(place, moving, apart, self._say)
        self.best = Best(self.h, low, high, self._say)

    @property
    def bound(self) -> float:
        return max([self.dropped, self.best.value, *(float(boxes.bound.max()) for _, boxes in self.left)])

    @property
    def target(self) -> float:
        """Boxes that cannot hold more are of no interest."""
        least = 0.0 if self.best.enough else -math.inf
        return max(self.best.value + self.tolerance, least)

    def run(self) -> None:
        corners = self.place.core
        x, y = (sum(c[i] for c in corners) / len(corners) for i in (0, 1))
        self.best.offered((x, y, (self.low + self.high) / 2), 0.0)
        if self.best.content():
            return
        self._start()
        while self.left and not self.best.content():
            self._refine()
            self._keep()
            self._say()

    def _start(self) -> None:
        """Boxes all over the place: what the edge leaves of them, then the nearest things, then all."""
        from readiness.measure.poses.boxes import among_all, turn, with_things

        count = max(1, math.ceil((self.high - self.low) / _WIDEST))
        ends = [self.low + (self.high - self.low) * k / count for k in range(count + 1)]
        for k in range(count):
            now, boxes = turn(self.h, ends[k], ends[k + 1], self._grid())
            boxes = self._bounded(now, boxes)
            for most in (_NEAREST, None):
                if len(boxes) and len(self.h.a) > self.h.edge and not self.best.content():
                    now, boxes = turn(self.h, now.low, now.high, with_things(self.h, now, boxes, most))
                    boxes = self._bounded(now, boxes)
            now, boxes = turn(self.h, now.low, now.high, among_all(now, boxes))
            self.left.append((now, boxes))
        self._keep()

    def _grid(self) -> Boxes:
        """All places where the body's middle can be, but for poses worse than the best so far.

        It lies among the moving corners: beyond the line of any side some corner reaches at least as far as it.
        """
        import numpy as np

        from readiness.measure.poses.boxes import Boxes

        beyond = max(0.0, -self.best.value - float(self.h.off[: self.h.edge].min()))
        corners = np.array(widened(self.place.core, beyond))
        low, high = corners.min(axis=0), corners.max(axis=0)
        counts = np.ceil((high - low) / (high - low).max() * _ACROSS - 1e-9)
        half = (high - low) / counts / 2
        x, y = np.meshgrid(*(low[i] + half[i] * (2 * np.arange(counts[i]) + 1) for i in (0, 1)))
        at = np.column_stack([x.ravel(), y.ravel()])
        pairs = np.tile(np.arange(self.h.edge), (len(at), 1))
        return Boxes(at, np.tile(half, (len(at), 1)), np.full(len(at), np.inf), pairs)

    def _refine(self) -> None:
        """Quarters the boxes that promise most, or halves their headings."""
        import numpy as np

        from readiness.measure.poses.boxes import among_all, joined, turn

        k = max(range(len(self.left)), key=lambda k: float(self.left[k][1].bound.max()))
        now, boxes = self.left.pop(k)
        order = np.argsort(-boxes.bound)
        wide = 2 * boxes.half[order[0]].max()
        if self.best.reach * 2 * now.half > _SKEW * wide:
            middle = now.low + now.half
            for low, high in ((now.low, middle), (middle, now.high)):
                part, those = turn(self.h, low, high, among_all(now, boxes))
                self.left.append((part, self._bounded(part, those)))
            return
        best = self._bounded(now, boxes.some(order[:_BATCH]).quarters())
        self.left.append((now, joined([boxes.some(order[_BATCH:]), best])))

    def _bounded(self, now: Turn, boxes: Boxes) -> Boxes:
        """The boxes that may hold something better than the target, bounded."""
        from readiness.measure.poses.boxes import bounds, joined

        done = [boxes.some(slice(0, 0))]
        for some in boxes.batches(_AT_ONCE // len(now.rings[0].nx)):
            found = bounds(self.h, now, some, self.target)
            self.looked_at += len(found.boxes)
            within = self.tolerance / 4
            if found.corner[0] > self.best.value + within:
                self.best.offered(found.corner[1], within)
            if found.guess:
                self.best.offered(found.guess, within)
            done.append(self._better(found.boxes))
            self._say()
        return joined(done)

    def _better(self, boxes: Boxes) -> Boxes:
        keep = boxes.bound > self.target
        if not keep.all():
            self.dropped = max(self.dropped, float(boxes.bound[~keep].max()))
        return boxes.some(keep)

    def _keep(self) -> None:
        self.left = [(now, kept) for now, boxes in self.left if len(kept := self._better(boxes))]

    def _say(self) -> None:
        """Tells the share done, by how near bound and best are. Raises Cancelled."""
        bounds = [float(boxes.bound.max()) for _, boxes in self.left if len(boxes)]
        if bounds and math.isfinite(max(bounds)):
            apart = (max(bounds) - self.best.value) / self.tolerance
            self.share = max(self.share, min(0.99, 1 - math.log(max(apart, 1.0)) / 8))
        if self.heard and not self.heard(self.share):
            raise Cancelled("the search was ended")
