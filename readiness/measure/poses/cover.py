"""A simple polygon, and what lies outside one, as unions of convex pieces that overlap.

Unlike those of `measure.polygon`, they have no seams along which a place inside the polygon lies on edges
only, and do not depend on where its corners begin or whether it is mirrored: they are the largest convex sets with
their corners among those of the polygon and among the places where its sides, drawn on beyond reflex corners,
end (the largest sets of such places that all see one another). Lengths in m.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from functools import lru_cache
from itertools import combinations, pairwise

from readiness.measure.convex import XY, Core
from readiness.measure.polygon import convex_pieces, hull, turn

_NEAR = 1e-9
"""m; closer than this is the same place."""
_MOST = 48
"""More pieces than this, or more corners, would slow the search down: pieces with seams do then."""


@lru_cache(maxsize=512)
def convex_cover(core: Core) -> tuple[Core, ...]:
    """Convex pieces, counterclockwise, whose union a simple polygon is (counterclockwise too)."""
    n = len(core)
    if n < 4 or all(turn(core[i - 1], core[i], core[(i + 1) % n]) >= 0 for i in range(n)):
        return (core,)
    for places in (_with_ends(core), list(core)) if n <= _MOST else ():
        if len(places) <= _MOST and (found := _pieces(core, places)):
            return found
    return convex_pieces(core)


def _pieces(core: Core, places: list[XY]) -> tuple[Core, ...]:
    """The largest convex pieces with these corners; none where there are too many."""
    sees: list[set[int]] = [set() for _ in places]
    for i, j in combinations(range(len(places)), 2):
        if _in_sight(core, places[i], places[j]):
            sees[i].add(j)
            sees[j].add(i)
    found: list[Core] = []
    for group in _groups(sees, set(), set(range(len(places))), set()):
        piece = hull((places[i] for i in group), _NEAR)
        if len(piece) > 2:
            found.append(piece)
        if len(found) > _MOST:
            return ()
    return tuple(found)


def _groups(sees: list[set[int]], chosen: set[int], left: set[int], done: set[int]) -> Iterator[set[int]]:
    """The largest groups that all see one another (Bron and Kerbosch 1973, with a pivot)."""
    if not left and not done:
        yield chosen
        return
    pivot = max(left | done, key=lambda i: len(sees[i] & left))
    for i in sorted(left - sees[pivot]):
        yield from _groups(sees, chosen | {i}, left & sees[i], done & sees[i])
        left = left - {i}
        done = done | {i}


def _with_ends(core: Core) -> list[XY]:
    """The corners, and where sides drawn on beyond reflex corners end."""
    places = list(core)
    n = len(core)
    for i in range(n):
        o, p, q = core[i - 1], core[i], core[(i + 1) % n]
        if turn(o, p, q) < 0:
            for end in (_end(core, o, p), _end(core, q, p)):
                if end and all(math.dist(end, other) > _NEAR for other in places):
                    places.append(end)
    return places


def _end(core: Core, o: XY, p: XY) -> XY | None:
    """Where the line from o through the corner p, beyond p, first meets a side."""
    dx, dy = p[0] - o[0], p[1] - o[1]
    least = math.inf
    for r, s in _sides(core):
        if p in (r, s):
            continue
        ex, ey = s[0] - r[0], s[1] - r[1]
        cross = dx * ey - dy * ex
        if cross == 0:
            continue
        t = ((r[0] - p[0]) * ey - (r[1] - p[1]) * ex) / cross
        along = ((r[0] - p[0]) * dy - (r[1] - p[1]) * dx) / cross
        if t > 0 and -_NEAR <= along <= 1 + _NEAR:
            least = min(least, t)
    return (p[0] + least * dx, p[1] + least * dy) if least < math.inf else None


def _in_sight(core: Core, p: XY, q: XY) -> bool:
    """Whether the straight line from p to q runs nowhere outside the polygon."""
    (px, py), dx, dy = p, q[0] - p[0], q[1] - p[1]
    length2 = dx * dx + dy * dy
    cuts = {0.0, 1.0}
    for (rx, ry), (sx, sy) in _sides(core):
        ex, ey, fx, fy = sx - rx, sy - ry, rx - px, ry - py
        cross = dx * ey - dy * ex
        if cross * cross <= _NEAR * _NEAR * length2 * (ex * ex + ey * ey):
            cuts |= {(fx * dx + fy * dy) / length2, ((sx - px) * dx + (sy - py) * dy) / length2}
            continue
        t, along = (fx * ey - fy * ex) / cross, (fx * dy - fy * dx) / cross
        if _NEAR < t < 1 - _NEAR and -_NEAR <= along <= 1 + _NEAR:
            if _NEAR < along < 1 - _NEAR:
                return False
            cuts.add(t)
    parts = pairwise(sorted(t for t in cuts if 0 <= t <= 1))
    middles = ((a + b) / 2 for a, b in parts if b - a > _NEAR)
    return all(_holds(core, (px + t * dx, py + t * dy)) for t in middles)


def _holds(core: Core, p: XY) -> bool:
    """Whether a place lies inside a polygon or on its edge."""
    inside = False
    px, py = p
    for (rx, ry), (sx, sy) in _sides(core):
        ex, ey, fx, fy = sx - rx, sy - ry, px - rx, py - ry
        length2, across = ex * ex + ey * ey, fx * ey - fy * ex
        if across * across <= _NEAR * _NEAR * length2 and 0 <= fx * ex + fy * ey <= length2:
            return True
        if (ry > py) != (sy > py) and fx < fy * ex / ey:
            inside = not inside
    return inside


def _sides(core: Core) -> Iterator[tuple[XY, XY]]:
    return zip(core, core[1:] + core[:1], strict=True)


# --- outside -------------------------------------------------------------------------------------


@lru_cache(maxsize=64)
def outside(core: Core) -> tuple[tuple[Core, ...], tuple[Core, ...]]:
    """What is not in a simple polygon: half-planes to the left of the lines given by two places each, and pockets.

    The half-planes lie beyond the sides of its hull. The pockets are the convex pieces of what lies between
    hull and polygon, continued some way beyond the hull so that they overlap the half-planes.
    """
    corners = hull(core, _NEAR)
    start = core.index(corners[0])
    ring = core[start:] + core[:start]
    planes: list[Core] = []
    pockets: list[Core] = []
    for p, q in _sides(corners):
        planes.append((q, p))
        stretch = [*ring[ring.index(p) : ring.index(q) or len(ring)], q]
        on = [k for k, c in enumerate(stretch) if abs(turn(p, q, c)) <= _NEAR * math.dist(p, q)]
        for a, b in pairwise(on):
            if b > a + 1:
                pockets += _pocket(stretch[a : b + 1])
    return tuple(planes), tuple(pockets)


def _pocket(edge: list[XY]) -> tuple[Core, ...]:
    """What lies between an edge, of a polygon that is on its left, and the straight line from its first place to its last."""
    p, q = edge[0], edge[-1]
    outwards = (q[1] - p[1], p[0] - q[0])
    lid = tuple((c[0] + outwards[0], c[1] + outwards[1]) for c in (p, q))
    return convex_cover((*lid, *edge[::-1]))


def widened(core: Core, by: float) -> Core:
    """The corners of the hull of a polygon with all its sides moved outwards by so many m."""
    corners = hull(core, _NEAR)
    found = []
    for o, p, q in zip(corners[-1:] + corners[:-1], corners, corners[1:] + corners[:1], strict=True):
        a, b = math.dist(o, p), math.dist(p, q)
        n, m = ((p[1] - o[1]) / a, (o[0] - p[0]) / a), ((q[1] - p[1]) / b, (p[0] - q[0]) / b)
        more = by / (1 + n[0] * m[0] + n[1] * m[1])
        found.append((p[0] + more * (n[0] + m[0]), p[1] + more * (n[1] + m[1])))
    return tuple(found)
