from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING

from readiness.measure.poses.game import value_of
from readiness.measure.poses.hulls import Arcs, Hulls, arcs, distances
from readiness.measure.poses.model import Cancelled, Heard, Pose

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    from readiness.measure.plan import Area

    Array = NDArray[np.float64]
    Numbers = NDArray[np.intp]

_WIDEST = math.radians(10.0)
_COLUMNS = 16
_BATCH = 16
_AT_ONCE = 60_000
_SKEW = 3.0


@dataclass(slots=True)
class Slice:
    """Boxes of places for an interval of headings."""

    low: float
    high: float
    which: Numbers
    rings: tuple[Arcs, Arcs]
    x: Array
    y: Array
    half: Array
    bound: Array
    act: Numbers
    """Per box the pairs that count in it, as numbers into `which`; -1 fills up."""


class Search:
    def __init__(self, h: Hulls, place: Area, low: float, high: float, heard: Heard | None) -> None:
        import numpy as np

        self.h, self.heard = h, heard
        self.low, self.high = math.radians(low), math.radians(high)
        self.inexact = bool((h.slack > 0).any())
        self.all = np.arange(len(h.a))
        self.best, self.at = -math.inf, (0.0, 0.0, self.low)
        self.dropped = -math.inf
        self.slices: list[Slice] = []
        self.tolerance = 0.0
        self.floor = -math.inf
        self.evaluations = 0
        self.share = 0.0
        corners = np.array(place.core)
        self.frame = corners.min(axis=0), corners.max(axis=0)
        middle = corners.mean(axis=0)
        self.tried(float(middle[0]), float(middle[1]), (self.low + self.high) / 2)

    # --- results

    def pose(self) -> Pose:
        x, y, heading = self.at
        c, s = math.cos(heading), math.sin(heading)
        mx, my = self.h.middle
        return Pose(x - c * mx + s * my, y - s * mx - c * my, math.degrees(heading))

    def bound(self) -> float:
        return max([self.dropped, self.best, *(float(s.bound.max()) for s in self.slices)])

    # --- the loop

    @property
    def target(self) -> float:
        return max(self.best + self.tolerance, self.floor)

    def until(self, tolerance: float, enough: Callable[[Pose], bool] | None = None) -> None:
        self.tolerance = tolerance
        if enough:
            self.floor = 0.0
        self.climb()
        if enough and self.best >= 0 and enough(self.pose()):
            return
        self.root()
        while self.slices:
            if enough and self.best >= 0 and enough(self.pose()):
                return
            self.prune()
            if not self.slices:
                break
            self.step()

    def say(self) -> None:
        if self.heard and not self.heard(self.share):
            raise Cancelled("the search was ended")

    def prune(self) -> None:
        for s in self.slices:
            keep = s.bound > self.target
            if not keep.all():
                self.dropped = max(self.dropped, float(s.bound[~keep].max()))
                s.x, s.y, s.half, s.bound, s.act = (
                    s.x[keep],
                    s.y[keep],
                    s.half[keep],
                    s.bound[keep],
                    s.act[keep],
                )
        self.slices = [s for s in self.slices if len(s.x)]

    def root(self) -> None:
        import numpy as np

        h = self.h
        spread = max(0.0, -self.best - float((h.off[: h.edge]).min()))
        low, high = self.frame[0] - spread, self.frame[1] + spread
        n = max(1, math.ceil((self.high - self.low) / _WIDEST))
        size = float((high - low).max()) / 8
        nx, ny = (max(1, math.ceil(d / size - 1e-9)) for d in high - low)
        half = np.array([(high[0] - low[0]) / nx, (high[1] - low[1]) / ny]) / 2
        gx, gy = np.meshgrid(
            low[0] + half[0] * (2 * np.arange(nx) + 1), low[1] + half[1] * (2 * np.arange(ny) + 1)
        )
        x, y = gx.ravel(), gy.ravel()
        for k in range(n):
            a, b = (self.low + (self.high - self.low) * (k + i) / n for i in (0, 1))
            edge = self.all[: h.edge]
            act = np.tile(edge, (len(x), 1))
            rings = arcs(h, a, edge), arcs(h, b, edge)
            s = Slice(a, b, edge, rings, x, y, np.tile(half, (len(x), 1)), np.full(len(x), np.inf), act)
            s = self.bounded(s)
            if len(s.x):
                s = self.bounded(self.widened(s))
            if len(s.x):
                self.slices.append(s)

    def widened(self, s: Slice) -> Slice:
        """With the things that may count in each box, by circles, beside the edge."""
        import numpy as np

        h = self.h
        mid = (s.low + s.high) / 2
        c, n = math.cos(mid), math.sin(mid)
        m = h.moving.middle[h.a[h.edge :]]
        q = h.still.middle[h.b[h.edge :]]
        qx, qy = q[:, 0] - c * m[:, 0] + n * m[:, 1], q[:, 1] - n * m[:, 0] - c * m[:, 1]
        d = np.hypot(s.x[:, None] - qx, s.y[:, None] - qy) - h.off[h.edge :]
        size = np.hypot(s.half[:, 0], s.half[:, 1])[:, None] + h.reach[h.edge :] * (s.high - s.low) / 2
        bound = np.minimum(s.bound, (d + size + h.slack[h.edge :]).min(axis=1, initial=np.inf))
        counts = d - size - h.moving.reach[h.a[h.edge :]] - h.still.reach[h.b[h.edge :]] <= bound[:, None]
        old = [s.which[row[row >= 0]] for row in s.act]
        rows = [np.concatenate([o, h.edge + np.flatnonzero(k)]) for o, k in zip(old, counts, strict=True)]
        act = padded(rows)
        return self.narrowed(s.low, s.high, None, s.x, s.y, s.half, bound, act)

    def narrowed(
        self,
        low: float,
        high: float,
        rings: tuple[Arcs | None, Arcs | None] | None,
        x: Array,
        y: Array,
        half: Array,
        bound: Array,
        act: Numbers,
    ) -> Slice:
        """A slice for boxes whose pairs are given by their numbers among all."""
        import numpy as np

        used = np.unique(act)
        used = used[used >= 0]
        local = np.where(act >= 0, np.searchsorted(used, act), -1)
        both = arcs(self.h, low, used), arcs(self.h, high, used)
        return Slice(low, high, used, both, x, y, half, bound, local)

    def step(self) -> None:
        import numpy as np

        k = max(range(len(self.slices)), key=lambda k: float(self.slices[k].bound.max()))
        s = self.slices[k]
        self.progress()
        reach = float(self.h.reach.max())
        size = float(s.half.max(axis=1)[s.bound.argmax()])
        if reach * (s.high - s.low) > _SKEW * 2 * size:
            del self.slices[k]
            mid = (s.low + s.high) / 2
            for low, high in ((s.low, mid), (mid, s.high)):
                act = np.where(s.act >= 0, s.which[s.act], -1)
                half = self.narrowed(low, high, None, s.x, s.y, s.half, s.bound, act)
                self.slices.append(self.bounded(half))
        else:
            order = np.argsort(-s.bound)
            top, rest = order[:_BATCH], order[_BATCH:]
            hx, hy = s.half[top, 0] / 2, s.half[top, 1] / 2
            x = np.concatenate([s.x[top] + i * hx for i in (-1, 1) for j in (-1, 1)])
            y = np.concatenate([s.y[top] + j * hy for i in (-1, 1) for j in (-1, 1)])
            four = [np.concatenate([v[top]] * 4) for v in (s.half / 2, s.bound, s.act)]
            parts = self.bounded(Slice(s.low, s.high, s.which, s.rings, x, y, *four))
            n = max(parts.act.shape[1], s.act.shape[1])
            s.x, s.y = np.concatenate([s.x[rest], parts.x]), np.concatenate([s.y[rest], parts.y])
            s.half, s.bound = (
                np.concatenate([s.half[rest], parts.half]),
                np.concatenate([s.bound[rest], parts.bound]),
            )
            s.act = np.concatenate([wide(s.act[rest], n), wide(parts.act, n)])
        self.slices = [s for s in self.slices if len(s.x)]

    def progress(self) -> None:
        gap = max(float(s.bound.max()) for s in self.slices) - self.best
        self.share = max(self.share, min(0.99, 1 - math.log(max(gap / max(self.tolerance, 1e-9), 1.0)) / 8))

    # --- bounds of boxes

    def bounded(self, s: Slice) -> Slice:
        """The boxes of a slice that may hold more than the target, with their bounds and what counts in each."""
        import numpy as np

        order = np.argsort((s.act >= 0).sum(axis=1))
        kept: list[tuple[Array, Array, Array, Array, Numbers]] = []
        at = 0
        while at < len(order):
            size = max(1, _AT_ONCE // max(1, s.act.shape[1] * s.rings[0].nx.shape[1]))
            rows = order[at : at + size]
            at += len(rows)
            act = s.act[rows]
            act = act[:, : max(1, int((act >= 0).sum(axis=1).max()))]
            kept.append(self.chunk(s, rows, act))
            self.say()
        n = max(k[4].shape[1] for k in kept)
        columns = [np.concatenate(c) for c in list(zip(*kept, strict=True))[:4]]
        return Slice(s.low, s.high, s.which, s.rings, *columns, np.concatenate([wide(k[4], n) for k in kept]))

    def chunk(self, s: Slice, rows: Numbers, act: Numbers) -> tuple[Array, Array, Array, Array, Numbers]:
        import numpy as np

        self.evaluations += len(rows)
        h = self.h
        x, y, half = s.x[rows], s.y[rows], s.half[rows]
        px = x[:, None] + half[:, :1] * np.array([-1.0, 1.0, -1.0, 1.0])
        py = y[:, None] + half[:, 1:] * np.array([-1.0, -1.0, 1.0, 1.0])
        swing = (s.high - s.low) / 2
        number = s.which[act]
        none = act < 0
        off = h.off[number]
        first, second = (s.low, s.high) if swing else (s.low, s.low)
        own = distances(s.rings[0], first, act, px, py), distances(s.rings[1], second, act, px, py)
        if swing:
            cross = distances(s.rings[0], second, act, px, py), distances(s.rings[1], first, act, px, py)
        else:
            cross = own
        exact = np.concatenate(own, axis=1) - off[:, None]
        exact[np.broadcast_to(none[:, None], exact.shape)] = np.inf
        self.seen(exact.min(axis=2), px, py, first, second)
        over = h.slack[number] + h.reach[number] * (1 - math.cos(swing)) - off
        over[none] = 1e3
        values = np.concatenate(
            [np.concatenate([own[0], cross[0]], axis=1), np.concatenate([cross[1], own[1]], axis=1)], axis=2
        )
        values += np.concatenate([over, over], axis=1)[:, None]
        bound = np.minimum(s.bound[rows], values.max(axis=1).min(axis=1))
        live = np.flatnonzero(bound > self.target)
        if len(live):
            chosen = columns(values[live])
            found, mix = value_of(chosen)
            bound[live] = np.minimum(bound[live], found)
            self.candidates(s, live, bound, mix, px, py, first, second, act, off, none)
            keep = bound > self.target
        else:
            keep = bound > self.target
        if not keep.all():
            self.dropped = max(self.dropped, float(bound[~keep].max()))
        least = exact.min(axis=1) - np.hypot(half[:, 0], half[:, 1])[:, None] - h.reach[number] * swing
        counts = (least <= bound[:, None]) & ~none
        return x[keep], y[keep], half[keep], bound[keep], packed(act[keep], counts[keep])

    def seen(self, values: Array, px: Array, py: Array, first: float, second: float) -> None:
        """Whether a corner of a box is better than the best so far; if so, climbs from there."""
        top = int(values.argmax())
        box, corner = divmod(top, values.shape[1])
        if values[box, corner] > self.best + self.tolerance / 4:
            heading = first if corner < 4 else second
            if self.tried(float(px[box, corner % 4]), float(py[box, corner % 4]), heading):
                self.climb()

    def candidates(self, s, live, bound, mix, px, py, first, second, act, off, none) -> None:
        import numpy as np

        k = int(bound[live].argmax())
        box = int(live[k])
        w = mix[k]
        x = float(w @ np.concatenate([px[box], px[box]]))
        y = float(w @ np.concatenate([py[box], py[box]]))
        heading = float(w[:4].sum() * first + w[4:].sum() * second)
        which = s.which[act[box][~none[box]]]
        if self.value(x, y, heading, which) > self.best + self.tolerance / 4 and self.tried(x, y, heading):
            self.climb()

    # --- single poses

    def value(self, x: float, y: float, heading: float, which: Numbers) -> float:
        return float(self.values(x, y, heading, which).min())

    def values(self, x: float, y: float, heading: float, which: Numbers) -> Array:
        import numpy as np

        ring = arcs(self.h, heading, which)
        row = np.arange(len(which))[None]
        found = distances(ring, heading, row, np.array([[x]]), np.array([[y]]))[0, 0] - self.h.off[which]
        return found

    def near(self, x: float, y: float, heading: float, within: float) -> Numbers:
        """Numbers of the pairs that may be the smallest somewhere within so much of a pose, by circles."""
        import numpy as np

        h = self.h
        c, n = math.cos(heading), math.sin(heading)
        m = h.moving.middle[h.a]
        q = h.still.middle[h.b]
        qx, qy = q[:, 0] - c * m[:, 0] + n * m[:, 1], q[:, 1] - n * m[:, 0] - c * m[:, 1]
        d = np.hypot(x - qx, y - qy) - h.off
        least = d - h.moving.reach[h.a] - h.still.reach[h.b]
        least[: h.edge] = -np.inf
        return np.flatnonzero(least <= d[h.edge :].min(initial=np.inf) + within)

    def tried(self, x: float, y: float, heading: float) -> bool:
        """Takes a pose if it is the best so far."""
        value = self.value(x, y, heading, self.near(x, y, heading, 0.0))
        if value > self.best:
            self.best, self.at = value, (x, y, heading)
            return True
        return False

    def climb(self) -> None:
        """From the best pose on to a better one near it, by games over boxes about it."""
        import numpy as np

        size, reach = 0.3, max(float(self.h.reach.max()), 0.1)
        start = self.at
        which = self.near(*start, 4 * 2.5 * size)
        values = self.values(*start, which)
        which = which[values <= values.min() + 4 * 2.5 * size]
        steps = 0
        while size > 2e-4 and steps < 40:
            steps += 1
            x, y, heading = self.at
            if math.hypot(x - start[0], y - start[1]) + reach * abs(heading - start[2]) > 0.9:
                self.climb()
                return
            low, high = max(self.low, heading - size / reach), min(self.high, heading + size / reach)
            rings = arcs(self.h, low, which), arcs(self.h, high, which)
            row = np.arange(len(which))[None]
            px, py = (
                np.array([[x - size, x + size, x - size, x + size]]),
                np.array([[y - size, y - size, y + size, y + size]]),
            )
            grid = [[distances(r, t, row, px, py) for t in (low, high)] for r in rings]
            table = np.concatenate([np.concatenate(g, axis=1) for g in grid], axis=2) - np.tile(
                self.h.off[which], 2
            )
            w = value_of(columns(table))[1][0]
            nx, ny = float(w @ np.tile(px[0], 2)), float(w @ np.tile(py[0], 2))
            nh = float(w[:4].sum() * low + w[4:].sum() * high)
            value = self.value(nx, ny, nh, which)
            if value > self.best + 1e-6:
                size = size if value > self.best + size / 10 else size / 2
                self.best, self.at = value, (nx, ny, nh)
            else:
                size /= 3


def columns(values: Array) -> Array:
    """The functions that matter most: the smallest in some corner, and those whose largest value is smallest."""
    import numpy as np

    boxes, corners, functions = values.shape
    if functions <= _COLUMNS:
        return values
    least = values.argmin(axis=2)
    rest = np.argpartition(values.max(axis=1), _COLUMNS - corners, axis=1)[:, : _COLUMNS - corners]
    return np.take_along_axis(values, np.concatenate([least, rest], axis=1)[:, None, :], axis=2)


def padded(rows: list[Numbers]) -> Numbers:
    import numpy as np

    out = np.full((len(rows), max(len(r) for r in rows)), -1)
    for k, r in enumerate(rows):
        out[k, : len(r)] = r
    return out


def packed(act: Numbers, counts: NDArray[np.bool_]) -> Numbers:
    """Only what counts, to the left."""
    import numpy as np

    order = np.argsort(~counts, axis=1, kind="stable")
    out = np.where(np.take_along_axis(counts, order, axis=1), np.take_along_axis(act, order, axis=1), -1)
    return out[:, : max(1, int(counts.sum(axis=1).max(initial=1)))]


def wide(act: Numbers, n: int) -> Numbers:
    import numpy as np

    if act.shape[1] >= n:
        return act
    return np.concatenate([act, np.full((len(act), n - act.shape[1]), -1)], axis=1)
