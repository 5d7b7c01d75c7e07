"""How far apart two point sets lie in plan, or how far into one another: points, segments, polygons.

Where they overlap, the shortest way out is the distance from the origin to the edge of the Minkowski
difference A - B: moving B by m frees it exactly when m lies outside that set. For convex A and B the
difference is the hull of all differences of corners. A concave polygon is cut into triangles; the
difference is then the union of theirs, and only edges that no other piece covers count.
"""

from __future__ import annotations

import math
from functools import lru_cache
from itertools import pairwise

XY = tuple[float, float]
Core = tuple[XY, ...]
"""One point, the two ends of a segment, or the corners of a simple polygon, counterclockwise."""
Witness = tuple[float, XY, XY, XY]
"""Distance (negative: how far in), the places on A and B, and the unit vector from A out towards B."""

TOUCH = 1e-9
"""m; closer than this counts as touching."""
_SLIVER = 1e-7
_Corner = tuple[float, float, XY, XY]
"""A corner of A - B, and the corners of A and B that it comes from."""
_Edge = tuple[float, float, float, float, float]


@lru_cache(maxsize=1024)  # things and zones stay where they are from answer to answer
def way_out(a: Core, b: Core) -> Witness:
    """Distance between A and B where they are apart, minus the shortest way out where they are not."""
    d, pa, pb = _apart(a, b)
    if d > TOUCH and (_boxes_apart(a, b) or not _meet(a, b)):
        return d, pa, pb, ((pb[0] - pa[0]) / d, (pb[1] - pa[1]) / d)
    if d > TOUCH and min(len(a), len(b)) == 1:
        # a point inside a polygon leaves it at the nearest side, concave or not
        return -d, pa, pb, ((pa[0] - pb[0]) / d, (pa[1] - pb[1]) / d)
    hulls = [_difference(p, q) for p in _pieces(a) for q in _pieces(b)]
    return _deepest(hulls)


def gap(a: Core, b: Core) -> float:
    """The distance of `way_out` alone."""
    if len(a) == 1 and len(b) == 1:
        return math.dist(a[0], b[0])
    return way_out(a, b)[0]


@lru_cache(maxsize=512)
def simple(points: Core) -> Core:
    """Corners of a simple polygon, counterclockwise and without repeats.

    Raises ValueError for fewer than three corners, no area, or sides that touch or cross.
    """
    core = tuple(p for p, q in zip(points, points[1:] + points[:1], strict=True) if p != q)
    if len(core) < 3:
        raise ValueError(f"an area needs three different corners, there are {len(set(points))}")
    sides = list(zip(core, core[1:] + core[:1], strict=True))
    n = len(sides)
    for i in range(n):
        for j in range(i + 2, n if i else n - 1):
            if _touch(*sides[i], *sides[j]):
                raise ValueError(
                    f"sides {i + 1} and {j + 1} of the area meet: give its corners in order round it"
                )
    area = math.fsum(p[0] * q[1] - q[0] * p[1] for p, q in sides)
    if area == 0:
        raise ValueError("the corners of the area lie on one line: it has no inside")
    return core if area > 0 else core[::-1]


# --- apart ---------------------------------------------------------------------------------------


@lru_cache(maxsize=2048)
def _edges(core: Core) -> tuple[_Edge, ...]:
    """Start, vector and 1 / length^2 of each side; one of length 0 for a point."""
    ends = list(zip(core, core[1:] + core[:1], strict=True)) if len(core) != 2 else [core]
    edges = []
    for (x, y), (x2, y2) in ends:
        ex, ey = x2 - x, y2 - y
        length2 = ex * ex + ey * ey
        edges.append((x, y, ex, ey, 1.0 / length2 if length2 > 0 else 0.0))
    return tuple(edges)


@lru_cache(maxsize=2048)
def _box(core: Core) -> tuple[float, float, float, float]:
    xs, ys = [p[0] for p in core], [p[1] for p in core]
    return min(xs), min(ys), max(xs), max(ys)


def _boxes_apart(a: Core, b: Core) -> bool:
    ax, ay, ax2, ay2 = _box(a)
    bx, by, bx2, by2 = _box(b)
    return ax2 < bx or bx2 < ax or ay2 < by or by2 < ay


def _apart(a: Core, b: Core) -> tuple[float, XY, XY]:
    """Distance between corners of one and sides of the other, and where; right unless sides cross."""
    if len(b) == 1:
        _, q, p = _corner_to_side(b, a)
        return math.dist(p, q), p, q
    d2, p, q = _corner_to_side(a, b)
    if len(a) > 1:
        e2, s, r = _corner_to_side(b, a)
        if e2 < d2:
            p, q = r, s
    return math.dist(p, q), p, q


def _corner_to_side(corners: Core, core: Core) -> tuple[float, XY, XY]:
    best = math.inf
    at, foot = corners[0], core[0]
    edges = _edges(core)
    for p in corners:
        px, py = p
        for x, y, ex, ey, inverse in edges:
            dx, dy = px - x, py - y
            t = (dx * ex + dy * ey) * inverse
            if t > 0.0:
                if t > 1.0:
                    t = 1.0
                dx -= t * ex
                dy -= t * ey
            d2 = dx * dx + dy * dy
            if d2 < best:
                best, at, foot = d2, p, (px - dx, py - dy)
    return best, at, foot


def _meet(a: Core, b: Core) -> bool:
    """Do cores that do not touch overlap: does one hold a corner of the other, or do sides cross?"""
    if (len(b) > 2 and _holds(b, a[0])) or (len(a) > 2 and _holds(a, b[0])):
        return True
    if len(a) == 1 or len(b) == 1:
        return False
    return any(_cross(e, f) for e in _edges(a) for f in _edges(b))


def _holds(polygon: Core, p: XY) -> bool:
    """Even-odd rule; the caller has made sure that p lies on no side."""
    inside = False
    px, py = p
    x, y = polygon[-1]
    for x2, y2 in polygon:
        if (y > py) != (y2 > py) and px < x + (py - y) * (x2 - x) / (y2 - y):
            inside = not inside
        x, y = x2, y2
    return inside


def _cross(e: _Edge, f: _Edge) -> bool:
    x, y, ex, ey, _ = e
    u, v, fx, fy, _ = f
    dx, dy = u - x, v - y
    s1, s2 = ex * dy - ey * dx, ex * (dy + fy) - ey * (dx + fx)
    t1, t2 = fy * dx - fx * dy, fx * (ey - dy) - fy * (ex - dx)
    return s1 * s2 < 0 and t1 * t2 < 0


def _touch(p: XY, q: XY, r: XY, s: XY) -> bool:
    a, b = (p, q), (r, s)
    return _apart(a, b)[0] == 0.0 or _cross(_edges(a)[0], _edges(b)[0])


# --- overlapping ---------------------------------------------------------------------------------


def _turn(o: XY | _Corner, p: XY | _Corner, q: XY | _Corner) -> float:
    """Twice the area of the triangle o p q; positive counterclockwise."""
    return (p[0] - o[0]) * (q[1] - o[1]) - (p[1] - o[1]) * (q[0] - o[0])


@lru_cache(maxsize=512)
def _pieces(core: Core) -> tuple[Core, ...]:
    """Convex pieces: the core itself, or the triangles of a concave polygon, by clipping ears."""
    left = list(core)
    n = len(left)
    if n < 4 or all(_turn(left[i - 1], left[i], left[(i + 1) % n]) >= 0 for i in range(n)):
        return (core,)
    triangles = []
    while len(left) > 3:
        i = _ear(left)
        ear = (left[i - 1], left[i], left[(i + 1) % len(left)])
        if _turn(*ear) > 0:
            triangles.append(ear)
        del left[i]
    return (*triangles, (left[0], left[1], left[2]))


def _ear(left: list[XY]) -> int:
    """A corner whose triangle with its neighbours holds no other corner; every simple polygon has two."""
    n = len(left)
    for i in range(n):
        o, p, q = left[i - 1], left[i], left[(i + 1) % n]
        turn = _turn(o, p, q)
        if turn == 0:
            return i
        if turn > 0 and not any(_in_triangle(o, p, q, r) for r in left if r not in (o, p, q)):
            return i
    # only rounding can lead here: the widest corner does least harm
    return max(range(n), key=lambda i: _turn(left[i - 1], left[i], left[(i + 1) % n]))


def _in_triangle(o: XY, p: XY, q: XY, r: XY) -> bool:
    return _turn(o, p, r) >= 0 and _turn(p, q, r) >= 0 and _turn(q, o, r) >= 0


def _difference(a: Core, b: Core) -> list[_Corner]:
    """Corners of A - B for convex A and B, counterclockwise (monotone chain, Andrew 1979)."""
    corners = sorted((p[0] - q[0], p[1] - q[1], p, q) for p in a for q in b)
    if len(corners) < 3:
        return corners
    lower: list[_Corner] = []
    upper: list[_Corner] = []
    for chain, order in ((lower, corners), (upper, reversed(corners))):
        for c in order:
            while len(chain) > 1 and _turn(chain[-2], chain[-1], c) <= 0:
                chain.pop()
            chain.append(c)
    return lower[:-1] + upper[:-1]


def _deepest(hulls: list[list[_Corner]]) -> Witness:
    """The place on the edge of the union of hulls nearest to the origin."""
    best = math.inf
    found: tuple[_Corner, _Corner, float] | None = None
    for k, hull in enumerate(hulls):
        others = hulls[:k] + hulls[k + 1 :]
        for c, d in pairwise([*hull, hull[0]]):
            if _nearest_on(c, d, 0.0, 1.0)[0] >= best:
                continue
            for t0, t1 in _bare(c, d, others):
                distance, t = _nearest_on(c, d, t0, t1)
                if distance < best:
                    best, found = distance, (c, d, t)
    assert found is not None, "a bounded set has an edge"
    return _witness(best, *found)


def _nearest_on(c: _Corner, d: _Corner, t0: float, t1: float) -> tuple[float, float]:
    """Distance from the origin to the part t0..t1 of the side from c to d, and where along it."""
    ex, ey = d[0] - c[0], d[1] - c[1]
    length2 = ex * ex + ey * ey
    t = -(c[0] * ex + c[1] * ey) / length2 if length2 else 0.0
    t = min(max(t, t0), t1)
    return math.hypot(c[0] + t * ex, c[1] + t * ey), t


def _witness(distance: float, c: _Corner, d: _Corner, t: float) -> Witness:
    pa = (c[2][0] + t * (d[2][0] - c[2][0]), c[2][1] + t * (d[2][1] - c[2][1]))
    pb = (c[3][0] + t * (d[3][0] - c[3][0]), c[3][1] + t * (d[3][1] - c[3][1]))
    if distance > _SLIVER:
        return -distance, pa, pb, ((pa[0] - pb[0]) / distance, (pa[1] - pb[1]) / distance)
    return -distance, pa, pb, _outward(c, d)


def _outward(c: _Corner, d: _Corner) -> XY:
    length = math.hypot(d[0] - c[0], d[1] - c[1])
    return ((d[1] - c[1]) / length, (c[0] - d[0]) / length) if length else (1.0, 0.0)


def _bare(c: _Corner, d: _Corner, others: list[list[_Corner]]) -> list[tuple[float, float]]:
    """Parts of the side from c to d, 0 to 1, beyond which no other hull lies."""
    length = math.hypot(d[0] - c[0], d[1] - c[1])
    if not others:
        return [(0.0, 1.0)]
    if length <= _SLIVER:
        return []
    nx, ny = _outward(c, d)
    # a hair outside, so that a seam between two pieces counts as covered and a common outer side does not
    px, py = c[0] + TOUCH * nx, c[1] + TOUCH * ny
    ex, ey = d[0] - c[0], d[1] - c[1]
    covered = sorted(s for s in (_inside(px, py, ex, ey, hull) for hull in others) if s is not None)
    bare, here = [], 0.0
    for t0, t1 in [*covered, (1.0, 1.0)]:
        if (t0 - here) * length > _SLIVER:
            bare.append((here, t0))
        here = max(here, t1)
    return bare


def _inside(px: float, py: float, ex: float, ey: float, hull: list[_Corner]) -> tuple[float, float] | None:
    """The part of the segment p + t e, 0 <= t <= 1, inside a convex hull (Cyrus and Beck 1978)."""
    t0, t1 = 0.0, 1.0
    for c, d in pairwise([*hull, hull[0]]):
        hx, hy = d[0] - c[0], d[1] - c[1]
        start = hx * (py - c[1]) - hy * (px - c[0])
        rate = hx * ey - hy * ex
        if rate > 0:
            t0 = max(t0, -start / rate)
        elif rate < 0:
            t1 = min(t1, -start / rate)
        elif start < 0:
            return None
        if t0 >= t1:
            return None
    return t0, t1
