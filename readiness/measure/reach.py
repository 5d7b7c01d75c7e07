"""How far one set reaches out of another: the greatest distance from it that a place of the first has.

Out of a convex place it is greatest at a corner, or where an arc is farthest from a side or a corner. Out of a
concave place it may also be greatest on an edge half-way between two sides of the place, which is searched
for along the edge, or in the middle of a recess (see `recess`; of one with more than 40 corners the figure may
be too small, never its sign: what reaches out of a place does so with its edge).
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from functools import lru_cache

from readiness.measure.convex import XY, Bend, Core, Edge, Outline, depth_of, edges_of, rounded, turned_over
from readiness.measure.overlap import TOUCH, way_out
from readiness.measure.polygon import convex_pieces, holds
from readiness.measure.recess import middles

_CLOSE = 1e-9
"""m; the search along an edge ends so near to what cannot be exceeded."""


def reach(zone: tuple[Outline, ...], place: Core) -> float:
    """How far a set of convex pieces reaches out of a point, a segment or a polygon (counterclockwise).

    Negative: how much room is left, the least distance from a side.
    """
    pieces = [rounded(core) for core in convex_pieces(place)]
    if len(place) > 2:
        beyond = _beyond_sides(zone, place) if len(pieces) == 1 else _within(zone, place)
        if beyond <= 0.0:
            return beyond
    out = max(_distance(pieces, *at) for outline in zone for at in _farthest(outline, place))
    if len(pieces) > 1:
        inside = (m for m in middles(place) if any(depth_of(z, *m)[0] >= 0.0 for z in zone))
        out = max(out, *(_distance(pieces, *m) for m in inside), 0.0)
        for edge in (e for outline in zone for e in edges_of(outline)):
            out = _along(edge, pieces, out)
    return out


def _beyond_sides(zone: tuple[Outline, ...], place: Core) -> float:
    """How far out of a convex place, if not more than 0."""
    worst = -math.inf
    for edge in edges_of(rounded(place)):
        nx, ny = edge.ey, -edge.ex
        ahead = max((x - edge.x) * nx + (y - edge.y) * ny for z in zone for x, y in _reaching(z, nx, ny))
        worst = max(worst, ahead)
    return worst


def _reaching(outline: Outline, nx: float, ny: float) -> Iterator[XY]:
    """Places of a convex piece among which the one farthest in the direction n is."""
    ux, uy = outline[-1][1:3]
    _, _, _, x, y, r = outline[-1]
    for _, vx, vy, x2, y2, r2 in outline:
        if r and ux * ny >= uy * nx and nx * vy >= ny * vx:
            yield x + r * nx, y + r * ny
        ux, uy, x, y, r = vx, vy, x2, y2, r2
        yield x + r * ux, y + r * uy


def _within(zone: tuple[Outline, ...], place: Core) -> float:
    """How far out of a concave place, if less than 0; else infinite."""
    room = min(way_out(zone, (side,))[0] for side in _sides_over(place))
    _, nx, ny, x, y, r = zone[0][0]
    return -room if room > TOUCH and holds(place, (x + r * nx, y + r * ny)) else math.inf


@lru_cache(maxsize=64)
def _sides_over(place: Core) -> list[Outline]:
    return [turned_over(rounded(side)) for side in zip(place, place[1:] + place[:1], strict=True)]


def _distance(pieces: list[Outline], x: float, y: float) -> float:
    return max(0.0, min(-depth_of(piece, x, y)[0] for piece in pieces))


def _farthest(zone: Outline, place: Core) -> Iterator[XY]:
    """Corners of a convex piece, and the places on its arcs that are farthest from a side or a corner."""
    for k, (_, ux, uy, x, y, r) in enumerate(zone):
        yield x + r * ux, y + r * uy
        if r:
            _, vx, vy, *_ = zone[(k + 1) % len(zone)]
            for nx, ny in _ways(place, x, y):
                if ux * ny > uy * nx and nx * vy > ny * vx:
                    yield x + r * nx, y + r * ny


def _ways(place: Core, x: float, y: float) -> Iterator[XY]:
    """Unit vectors away from the sides of a place, and away from its corners at (x, y)."""
    for p, q in zip(place, place[1:] + place[:1], strict=True):
        for dx, dy in ((q[1] - p[1], p[0] - q[0]), (x - p[0], y - p[1])):
            if far := math.hypot(dx, dy):
                yield dx / far, dy / far


def _along(edge: Edge, pieces: list[Outline], best: float) -> float:
    """The greatest distance from the pieces along an edge, or `best` if that is greater.

    The distance from a convex piece is a convex function: on a straight part it is nowhere more than at one of
    its ends, on an arc by no more than its rise above the chord. And it is no more than that from one place.
    """
    ends = [[-depth_of(p, *edge.place(t))[0] for p in pieces] for t in (0.0, edge.length)]
    parts = [(0.0, ends[0], edge.length, ends[1])]
    while parts:
        t0, from0, t1, from1 = parts.pop()
        best = max(best, min(from0), min(from1))
        rise = edge.radius * (1 - math.cos((t1 - t0) / edge.radius / 2)) if edge.radius else 0.0
        if min(map(max, from0, from1)) + rise <= best + _CLOSE or t1 - t0 <= _CLOSE:
            continue
        t = (t0 + t1) / 2
        depths = [depth_of(p, *edge.place(t)) for p in pieces]
        corners = [p[at] for p, (_, at) in zip(pieces, depths, strict=True) if at >= 0]
        if edge.radius and any(_from_corner(edge, t0, t1, c) <= best + _CLOSE for c in corners):
            continue
        middle = [-depth for depth, _ in depths]
        parts += [(t0, from0, t, middle), (t, middle, t1, from1)]
    return best


def _from_corner(arc: Edge, t0: float, t1: float, corner: Bend) -> float:
    """The greatest distance of a part of an arc from a corner of a piece."""
    x, y = corner[3], corner[4]
    if t0 <= arc.across_from(2 * arc.x - x, 2 * arc.y - y) <= t1:
        return math.hypot(arc.x - x, arc.y - y) + arc.radius
    return max(math.dist(arc.place(t), (x, y)) for t in (t0, t1))
