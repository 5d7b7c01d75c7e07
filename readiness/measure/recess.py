"""The recesses of a concave polygon, and the places in them that are farthest from it all round.

Such a place has the same distance t from three sides or corners. With s = x^2 + y^2 - t^2, each of them makes
an equation linear in x, y, t and s: n.(x, y) - t = h for a side with the outward normal n, and
-2 p.(x, y) + s = -p.p for a corner p.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from functools import lru_cache
from itertools import combinations, pairwise

from readiness.measure.convex import XY, Core
from readiness.measure.polygon import hull, turn

_Row = tuple[float, float, float, float, float]
"""Factors of x, y, t and s, and what their sum is."""
_NONE = 1e-9
MOST_CORNERS = 40


@lru_cache(maxsize=64)
def middles(place: Core) -> tuple[XY, ...]:
    """Places with the same distance from three sides or corners of one recess: the farthest ones among them.

    The work grows with the cube of the corners that one recess has.
    """
    return tuple(
        at for recess in _recesses(place) for rows in combinations(_rows(recess), 3) for at in _solved(rows)
    )


def _recesses(place: Core) -> Iterator[Core]:
    """The corners between one corner of the hull and the next, both included, where there are any."""
    outer = set(hull(place))
    first = next(k for k, p in enumerate(place) if p in outer)
    ring = [*place[first:], *place[: first + 1]]
    ends = [k for k, p in enumerate(ring) if p in outer]
    for i, j in pairwise(ends):
        if j - i > 1:
            yield tuple(ring[i : j + 1])


def _rows(recess: Core) -> list[_Row]:
    """An equation for each side, and for each corner that stands out into the recess or ends it."""
    rows = []
    for p, q in pairwise(recess):
        length = math.dist(p, q)
        nx, ny = (q[1] - p[1]) / length, (p[0] - q[0]) / length
        rows.append((nx, ny, -1.0, 0.0, p[0] * nx + p[1] * ny))
    inner = [q for p, q, r in zip(recess, recess[1:], recess[2:], strict=False) if turn(p, q, r) > 0]
    rows += [(-2 * x, -2 * y, 0.0, 1.0, -(x * x + y * y)) for x, y in (recess[0], *inner, recess[-1])]
    return rows


def _solved(rows: tuple[_Row, ...]) -> Iterator[XY]:
    """Where three equations and s = x^2 + y^2 - t^2 hold; nothing where they do not say enough."""
    line = _line(rows)
    if line is None:
        return
    (x, y, t, s), (dx, dy, dt, ds) = line
    a, b, c = dx * dx + dy * dy - dt * dt, x * dx + y * dy - t * dt - ds / 2, x * x + y * y - t * t - s
    if abs(a) <= _NONE:
        steps = [-c / (2 * b)] if abs(b) > _NONE else []
    else:
        root2 = b * b - a * c
        root = math.sqrt(root2) if root2 >= 0 else math.nan
        steps = [(-b - root) / a, (-b + root) / a] if root2 >= 0 else []
    yield from ((x + k * dx, y + k * dy) for k in steps)


def _line(rows: tuple[_Row, ...]) -> tuple[list[float], list[float]] | None:
    """A solution of three equations in four unknowns and the direction to the others (Gauss, full pivots)."""
    left = [list(row) for row in rows]
    free = [0, 1, 2, 3]
    pivots: list[tuple[int, list[float]]] = []
    while left:
        size, k, column = max((abs(row[c]), k, c) for k, row in enumerate(left) for c in free)
        if size <= _NONE:
            return None
        pivot = left.pop(k)
        row = [v / pivot[column] for v in pivot]
        free.remove(column)
        pivots = [(c, _less(r, row, column)) for c, r in pivots] + [(column, row)]
        left = [_less(r, row, column) for r in left]
    (last,) = free
    at, way = [0.0] * 4, [0.0] * 4
    way[last] = 1.0
    for column, row in pivots:
        at[column], way[column] = row[4], -row[last]
    return at, way


def _less(row: list[float], pivot: list[float], column: int) -> list[float]:
    return [v - row[column] * w for v, w in zip(row, pivot, strict=True)]
