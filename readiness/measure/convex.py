"""Convex sets in plan with straight and round edges, by what they reach in each direction.

The farthest place of a convex set in the direction of a unit vector n lies on a corner or on an arc. An
`Outline` lists them, arcs and corners alike as circles, each with the normal from which on it is the
farthest: a corner is a circle of radius 0, and a straight edge runs from one circle to the next. So
polygons, discs, corridors and slices of a disc are one kind of thing, and none is approximated.

Two outlines overlaid give that of the difference A - B, all p - q with p in A and q in B (radii and
centres add). Its distance from the origin is the distance of A from B, its depth about the origin the
shortest way by which B leaves A: signed, it is the largest value of -h(n), h being how far A - B reaches in
the direction n (Schneider, Convex Bodies: The Brunn-Minkowski Theory, 2014, sections 1.7 and 3.1).
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator
from typing import NamedTuple

XY = tuple[float, float]
Core = tuple[XY, ...]
"""One point, the two ends of a segment, or the corners of a polygon, counterclockwise."""
Bend = tuple[float, float, float, float, float, float]
"""Angle and unit vector of the normal from which on it counts; centre and radius of the circle."""
Outline = tuple[Bend, ...]
"""By angle from -pi on; the first bend begins there. No bend is wider than half a turn."""
Witness = tuple[float, XY, XY]
"""Signed distance, and the places on A and on B between which it lies."""
_PARALLEL = 1e-12
"""Radians; edges that differ by less are one."""


def rounded(core: Core, radius: float = 0.0) -> Outline:
    """Everything within `radius` of a point, a segment, or a polygon without straight or reflex corners."""
    if len(core) == 1:
        ((x, y),) = core
        return ((-math.pi, -1.0, 0.0, x, y, radius), (0.0, 1.0, 0.0, x, y, radius))
    bends = []
    for p, q in zip(core, core[1:] + core[:1], strict=True):
        length = math.dist(p, q)
        bends.append(((q[1] - p[1]) / length, (p[0] - q[0]) / length, *q, radius))
    return _in_order(bends)


def slice_of(x: float, y: float, radius: float, u: XY, v: XY) -> Outline:
    """The part of a disc from direction u counterclockwise to v, not more than half a turn."""
    bends = [
        (u[1], -u[0], x + radius * u[0], y + radius * u[1], 0.0),
        (*u, x, y, radius),
        (*v, x + radius * v[0], y + radius * v[1], 0.0),
    ]
    # of half a disc the middle is no corner
    half = abs(u[0] * v[1] - u[1] * v[0]) < _PARALLEL and u[0] * v[0] + u[1] * v[1] < 0
    return _in_order(bends if half else [*bends, (-v[1], v[0], x, y, 0.0)])


def _in_order(bends: Iterable[tuple[float, float, float, float, float]]) -> Outline:
    """Bends given in order round the set, turned so that the first begins at -pi."""
    ring = [(_angle(nx, ny), nx, ny, x, y, r) for nx, ny, x, y, r in bends]
    first = min(range(len(ring)), key=lambda k: ring[k][0])
    ring = ring[first:] + ring[:first]
    if ring[0][0] > -math.pi:
        ring.insert(0, (-math.pi, -1.0, 0.0, *ring[-1][3:]))
    return tuple(ring)


def _angle(nx: float, ny: float) -> float:
    angle = math.atan2(ny, nx)
    return angle if angle < math.pi - _PARALLEL else -math.pi


def turned_over(outline: Outline) -> Outline:
    """The set turned by half a turn about the origin: -B of B."""
    return _in_order((-nx, -ny, -x, -y, r) for _, nx, ny, x, y, r in outline)


def overlaid(a: Outline, b: Outline) -> tuple[Outline, list[tuple[int, int]]]:
    """A + B, and for each of its bends the numbers of the bends of A and B that it comes from."""
    bends: list[Bend] = []
    sources: list[tuple[int, int]] = []
    i = j = 0
    last_i, last_j = len(a) - 1, len(b) - 1
    angle, nx, ny, ax, ay, ar = a[0]
    _, _, _, bx, by, br = b[0]
    while True:
        if bends and angle - bends[-1][0] < _PARALLEL:
            angle, nx, ny, *_ = bends.pop()
            sources.pop()
        bends.append((angle, nx, ny, ax + bx, ay + by, ar + br))
        sources.append((i, j))
        if i < last_i and (j == last_j or a[i + 1][0] <= b[j + 1][0]):
            i += 1
            angle, nx, ny, ax, ay, ar = a[i]
        elif j < last_j:
            j += 1
            angle, nx, ny, bx, by, br = b[j]
        else:
            return tuple(bends), sources


def depth_of(outline: Outline, px: float, py: float) -> tuple[float, int]:
    """How deep a place lies in a set (outside: negative), and where it would leave it.

    That is the number of the bend on whose circle it does, or -1 - k for the straight edge before bend k.
    """
    least, at, before = math.inf, 0, len(outline) - 1
    _, ux, uy, x, y, r = outline[before]
    cx, cy = x - px, y - py
    for k, (_, nx, ny, x, y, r_next) in enumerate(outline):
        # on a circle: where the normal that points from its centre towards the place is one of its own
        if uy * cx > ux * cy and nx * cy > ny * cx:
            depth = r - math.sqrt(cx * cx + cy * cy)
            if depth < least:
                least, at = depth, before
        before, ux, uy, cx, cy, r = k, nx, ny, x - px, y - py, r_next
        depth = cx * ux + cy * uy + r
        if depth < least:
            least, at = depth, -1 - k
    return least, at


class Edge(NamedTuple):
    """A straight edge before a bend: start, unit vector, radius 0. Or its arc: centre, angle where it starts, 0,
    radius."""

    bend: int
    x: float
    y: float
    ex: float
    ey: float
    radius: float
    length: float

    def place(self, t: float, out: float = 0.0) -> XY:
        """The place t m along the edge, or `out` m outside it."""
        if self.radius:
            angle, r = self.ex + t / self.radius, self.radius + out
            return self.x + r * math.cos(angle), self.y + r * math.sin(angle)
        return self.x + t * self.ex + out * self.ey, self.y + t * self.ey - out * self.ex

    def nearest(self, t0: float, t1: float) -> tuple[float, float]:
        """Distance from the origin to the part from t0 to t1 m along the edge, and where along it."""
        t = self.across_from(0.0, 0.0)
        if not t0 <= t <= t1:
            t = min(t0, t1, key=lambda end: math.hypot(*self.place(end)))
        return math.hypot(*self.place(t)), t

    def across_from(self, x: float, y: float) -> float:
        """How far along its line or circle the place nearest to (x, y) is."""
        dx, dy = x - self.x, y - self.y
        if self.radius:
            return ((math.atan2(dy, dx) - self.ex) % math.tau) * self.radius
        return dx * self.ex + dy * self.ey


def edges_of(outline: Outline) -> Iterator[Edge]:
    """Straight edges and arcs, counterclockwise; none of length 0."""
    last = len(outline) - 1
    _, _, _, px, py, pr = outline[last]
    for k, (angle, nx, ny, x, y, r) in enumerate(outline):
        sx, sy = px + pr * nx, py + pr * ny
        length = (y + r * ny - sy) * nx - (x + r * nx - sx) * ny
        if length > 0:
            yield Edge(k, sx, sy, -ny, nx, 0.0, length)
        end = outline[k + 1][0] if k < last else math.pi
        if r > 0 and end > angle:
            yield Edge(k, x, y, angle, 0.0, r, r * (end - angle))
        px, py, pr = x, y, r
