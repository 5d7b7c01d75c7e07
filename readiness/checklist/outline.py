"""Plain plan geometry for judging what a file draws; a few dozen points, no library needed."""

from __future__ import annotations

from collections.abc import Sequence
from math import dist

XY = tuple[float, float]


def crossing(points: Sequence[XY]) -> tuple[int, int] | None:
    """Two sides of a closed outline that meet where they should not; None if it is simple.

    Side k runs from point k to the next one. Neighbours may share only their common corner.
    """
    n = len(points)
    for i in range(n):
        a, b = points[i], points[(i + 1) % n]
        for j in range(i + 1, n):
            c, d = points[j], points[(j + 1) % n]
            if j == i + 1:
                bad = _folds(a, b, d)
            elif (j + 1) % n == i:
                bad = _folds(c, a, b)
            else:
                bad = meet(a, b, c, d)
            if bad:
                return i, j
    return None


def meet(a: XY, b: XY, c: XY, d: XY) -> bool:
    """Whether the closed segments a-b and c-d have a point in common."""
    s1, s2 = _turn(a, b, c), _turn(a, b, d)
    s3, s4 = _turn(c, d, a), _turn(c, d, b)
    if s1 * s2 < 0 and s3 * s4 < 0:
        return True
    touches = ((s1, a, b, c), (s2, a, b, d), (s3, c, d, a), (s4, c, d, b))
    return any(s == 0 and _between(p, q, r) for s, p, q, r in touches)


def inside(point: XY, points: Sequence[XY]) -> bool:
    """Whether the point lies in the closed outline or on its edge (even-odd rule)."""
    x, y = point
    odd = False
    for k, (x1, y1) in enumerate(points):
        x2, y2 = points[(k + 1) % len(points)]
        if _turn((x1, y1), (x2, y2), point) == 0 and _between((x1, y1), (x2, y2), point):
            return True
        if (y1 > y) != (y2 > y) and x < x1 + (y - y1) * (x2 - x1) / (y2 - y1):
            odd = not odd
    return odd


def spread_across(points: Sequence[XY]) -> float:
    """Largest distance of a point from the line through the two that span the points, in their unit."""
    a = points[0]
    b = max(points, key=lambda p: dist(a, p))
    a = max(points, key=lambda p: dist(b, p))
    span = dist(a, b)
    return max(abs(_turn(a, b, p)) for p in points) / span if span else 0.0


def _turn(a: XY, b: XY, c: XY) -> float:
    return (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0])


def _between(a: XY, b: XY, p: XY) -> bool:
    """Whether p, known to lie on the line a-b, lies within its ends."""
    across = min(a[0], b[0]) <= p[0] <= max(a[0], b[0])
    return across and min(a[1], b[1]) <= p[1] <= max(a[1], b[1])


def _folds(a: XY, corner: XY, b: XY) -> bool:
    """Whether the side a-corner and the side corner-b lie on one another."""
    if a == corner or b == corner:
        return True
    dot = (a[0] - corner[0]) * (b[0] - corner[0]) + (a[1] - corner[1]) * (b[1] - corner[1])
    return _turn(a, corner, b) == 0 and dot > 0
