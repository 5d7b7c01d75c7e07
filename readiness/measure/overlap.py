"""How far apart two sets lie in plan, or how far into one another; each a union of convex pieces.

Where they overlap, the shortest way out is the distance from the origin to the edge of A - B: moving B by
m frees it exactly when m lies outside that set, which is the union of the differences of all pieces. Of the
edge of each only the parts count that no other piece covers. Straight edges and arcs are cut exactly.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import pairwise

from readiness.measure.convex import (
    XY,
    Core,
    Edge,
    Outline,
    Witness,
    depth_of,
    edges_of,
    overlaid,
)

__all__ = ["TOUCH", "XY", "Core", "way_out"]

TOUCH = 1e-9
"""m; closer than this counts as touching."""
_SLIVER = 1e-8
"""m; a gap between two pieces narrower than this is no way out."""


def way_out(a: tuple[Outline, ...], over: tuple[Outline, ...]) -> Witness:
    """Distance between A and B where they are apart, minus the shortest way out where they are not.

    Takes the convex pieces of A and of -B (`turned_over`). The places are |distance| apart; moving B by A's
    place less its own makes the two just touch.
    """
    pairs = [_Difference(p, q, *overlaid(p, q)) for p in a for q in over]
    depths = [depth_of(pair.outline, 0.0, 0.0) for pair in pairs]
    k = max(range(len(pairs)), key=lambda k: depths[k][0])
    depth, at = depths[k]
    if len(pairs) == 1 or depth < -TOUCH:
        return (-depth, *pairs[k].places(at, depth))
    return _deepest(pairs)


@dataclass(frozen=True, slots=True)
class _Difference:
    """A - B of two convex pieces, with the outlines of A and -B and the bends of both that each bend comes from."""

    a: Outline
    over: Outline
    outline: Outline
    sources: list[tuple[int, int]]

    def places(self, at: int, depth: float) -> tuple[XY, XY]:
        """The places on A and B whose difference is nearest to the origin (see `depth_of`)."""
        if at >= 0:
            _, _, _, x, y, _ = self.outline[at]
            far = math.hypot(x, y)
            return self._on(at, -x / far, -y / far)
        k = -1 - at
        _, nx, ny, *_ = self.outline[k]
        return self.along(k, depth * nx, depth * ny)

    def along(self, k: int, wx: float, wy: float) -> tuple[XY, XY]:
        """The places whose difference is w, on the straight edge before bend k."""
        _, nx, ny, *_ = self.outline[k]
        (pa, pb), (qa, qb) = self._on(k - 1, nx, ny), self._on(k, nx, ny)
        sx, sy = pa[0] - pb[0], pa[1] - pb[1]
        ex, ey = qa[0] - qb[0] - sx, qa[1] - qb[1] - sy
        length2 = ex * ex + ey * ey
        t = ((wx - sx) * ex + (wy - sy) * ey) / length2 if length2 else 0.0
        t = min(max(t, 0.0), 1.0)
        return _between(pa, qa, t), _between(pb, qb, t)

    def _on(self, k: int, nx: float, ny: float) -> tuple[XY, XY]:
        i, j = self.sources[k]
        _, _, _, ax, ay, ar = self.a[i]
        _, _, _, bx, by, br = self.over[j]
        return (ax + ar * nx, ay + ar * ny), (-bx - br * nx, -by - br * ny)

    def at(self, edge: Edge, t: float) -> tuple[XY, XY]:
        """The places whose difference lies t m along an edge of A - B."""
        if not edge.radius:
            return self.along(edge.bend, *edge.place(t))
        angle = edge.ex + t / edge.radius
        return self._on(edge.bend, math.cos(angle), math.sin(angle))


def _between(p: XY, q: XY, t: float) -> XY:
    return p[0] + t * (q[0] - p[0]), p[1] + t * (q[1] - p[1])


# --- the edge of a union -------------------------------------------------------------------------


def _deepest(pairs: list[_Difference]) -> Witness:
    """The place on the edge of the union that is nearest to the origin."""
    edges = [list(edges_of(pair.outline)) for pair in pairs]
    order = sorted(
        ((e.nearest(0.0, e.length)[0], n, e) for n, es in enumerate(edges) for e in es), key=lambda o: o[0]
    )
    best, found = math.inf, None
    for least, n, edge in order:
        if least >= best:
            break
        for t0, t1 in _bare(edge, [(p, edges[k]) for k, p in enumerate(pairs) if k != n]):
            distance, t = edge.nearest(t0, t1)
            if distance < best:
                best, found = distance, (n, edge, t)
    assert found is not None, "a bounded set has an edge"
    n, edge, t = found
    return (-best, *pairs[n].at(edge, t))


def _bare(edge: Edge, others: list[tuple[_Difference, list[Edge]]]) -> list[tuple[float, float]]:
    """Parts of an edge beyond which no other piece lies."""
    covered: list[tuple[float, float]] = []
    for other, edges in others:
        parts = _covered(edge, other.outline, edges)
        if parts == [(0.0, edge.length)]:
            return []
        covered += parts
    if not covered:
        return [(0.0, edge.length)]
    bare, here = [], 0.0
    for t0, t1 in [*sorted(covered), (edge.length, edge.length)]:
        if t0 - here > _SLIVER:
            bare.append((here, t0))
        here = max(here, t1)
    return bare


def _covered(edge: Edge, other: Outline, sides: list[Edge]) -> list[tuple[float, float]]:
    """Parts of an edge that lie in another piece, looked at a hair outside it.

    So a seam between two pieces counts as covered and an outer edge that both have does not.
    """
    depth, _ = depth_of(other, *edge.place(edge.length / 2, TOUCH))
    if abs(depth) > edge.length:  # the depth changes by no more than one goes
        return [(0.0, edge.length)] if depth > 0 else []
    cuts = sorted(t for side in sides for t in _cuts(edge, side) if 0.0 < t < edge.length)
    ends = [0.0, *cuts, edge.length]
    return [
        (t0, t1)
        for t0, t1 in pairwise(ends)
        if t1 > t0 and depth_of(other, *edge.place((t0 + t1) / 2, TOUCH))[0] > 0
    ]


def _cuts(e: Edge, f: Edge) -> list[float]:
    """Where along e the line or the circle of f crosses it, or f begins on it: edges may touch or coincide."""
    x, y = f.place(0.0)
    t = e.across_from(x, y)
    begins = [t] if math.dist(e.place(t), (x, y)) < _SLIVER else []
    return begins + _crossings(e, f)


def _crossings(e: Edge, f: Edge) -> list[float]:
    if e.radius:
        cut = _circles(e, f) if f.radius else _line_and_circle(f, e)
        return [e.across_from(x, y) for x, y in cut]
    if f.radius:
        return [e.across_from(x, y) for x, y in _line_and_circle(e, f)]
    across = e.ex * f.ey - e.ey * f.ex
    return [((f.x - e.x) * f.ey - (f.y - e.y) * f.ex) / across] if across else []


def _line_and_circle(line: Edge, circle: Edge) -> list[XY]:
    dx, dy = circle.x - line.x, circle.y - line.y
    middle, off = dx * line.ex + dy * line.ey, dx * line.ey - dy * line.ex
    half2 = circle.radius**2 - off * off
    if half2 < 0:
        return []
    half = math.sqrt(half2)
    return [line.place(middle - half), line.place(middle + half)]


def _circles(e: Edge, f: Edge) -> list[XY]:
    dx, dy = f.x - e.x, f.y - e.y
    apart = math.hypot(dx, dy)
    if apart == 0:
        return []
    middle = (apart * apart + e.radius**2 - f.radius**2) / (2 * apart)
    half2 = e.radius**2 - middle * middle
    if half2 < 0:
        return []
    half, ux, uy = math.sqrt(half2), dx / apart, dy / apart
    return [(e.x + middle * ux - s * uy, e.y + middle * uy + s * ux) for s in (half, -half)]
