"""Plain plan geometry for judging what a file draws; a few dozen points, no library needed."""

from __future__ import annotations

from collections.abc import Sequence
from math import dist

from readiness.measure.convex import XY
from readiness.measure.polygon import between, meet, turn

__all__ = ["XY", "away", "crossing", "from_side", "inside", "spread_across"]


def crossing(points: Sequence[XY], apart: float = 0.0) -> tuple[int, int] | None:
    """Two sides of a closed outline that meet where they should not, or come nearer than `apart`; None if it is simple.

    Side k runs from point k to the next one. Neighbours may share only their common corner.
    """
    n = len(points)
    sides = [(p, points[(k + 1) % n]) for k, p in enumerate(points)]
    boxes = [_box(*side, apart / 2) for side in sides]
    for i, (a, b) in enumerate(sides):
        x1, y1, x2, y2 = boxes[i]
        for j in range(i + 1, n):
            u1, v1, u2, v2 = boxes[j]
            if u1 > x2 or u2 < x1 or v1 > y2 or v2 < y1:
                continue
            c, d = sides[j]
            if j == i + 1:
                bad = _folds(a, b, d, apart)
            elif (j + 1) % n == i:
                bad = _folds(c, a, b, apart)
            else:
                bad = meet(a, b, c, d) or away(a, b, c, d) < apart
            if bad:
                return i, j
    return None


def _box(a: XY, b: XY, wider: float) -> tuple[float, float, float, float]:
    return (
        min(a[0], b[0]) - wider, min(a[1], b[1]) - wider, max(a[0], b[0]) + wider, max(a[1], b[1]) + wider,
    )  # fmt: skip


def away(a: XY, b: XY, c: XY, d: XY) -> float:
    """Distance of two closed segments that do not cross."""
    return min(from_side(a, c, d), from_side(b, c, d), from_side(c, a, b), from_side(d, a, b))


def from_side(p: XY, a: XY, b: XY) -> float:
    """Distance of a point from the closed segment a-b."""
    ex, ey = b[0] - a[0], b[1] - a[1]
    length2 = ex * ex + ey * ey
    t = ((p[0] - a[0]) * ex + (p[1] - a[1]) * ey) / length2 if length2 else 0.0
    t = min(max(t, 0.0), 1.0)
    return dist(p, (a[0] + t * ex, a[1] + t * ey))


def inside(point: XY, points: Sequence[XY]) -> bool:
    """Whether the point lies in the closed outline or on its edge (even-odd rule)."""
    x, y = point
    odd = False
    for k, (x1, y1) in enumerate(points):
        x2, y2 = points[(k + 1) % len(points)]
        if turn((x1, y1), (x2, y2), point) == 0 and between(point, (x1, y1), (x2, y2)):
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
    return max(abs(turn(a, b, p)) for p in points) / span if span else 0.0


def _folds(a: XY, corner: XY, b: XY, apart: float) -> bool:
    """Whether the side a-corner and the side corner-b lie on one another, or as good as."""
    if a == corner or b == corner:
        return True
    dot = (a[0] - corner[0]) * (b[0] - corner[0]) + (a[1] - corner[1]) * (b[1] - corner[1])
    if dot <= 0:
        return False
    return turn(a, corner, b) == 0 or min(from_side(a, corner, b), from_side(b, a, corner)) < apart
