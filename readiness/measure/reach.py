"""How far one set reaches out of another: the greatest distance of its places from it."""

from __future__ import annotations

import math
from collections.abc import Iterator
from itertools import pairwise

from readiness.measure.convex import XY, Core, Outline, depth_of, rounded
from readiness.measure.overlap import way_out
from readiness.measure.polygon import convex_pieces


def reach(zone: tuple[Outline, ...], place: Core) -> float:
    """The greatest distance from the place that a place in the zone has; negative is how much room is left."""
    pieces = [rounded(core) for core in convex_pieces(place)]
    out = max(min(-depth_of(p, *at)[0] for p in pieces) for z in zone for at in _farthest(z, place))
    if len(place) < 3:
        return max(out, 0.0)
    sides = zip(place, place[1:] + place[:1], strict=True)
    return max(out, *(-way_out(zone, (rounded(side),))[0] for side in sides))


def _farthest(zone: Outline, place: Core) -> Iterator[XY]:
    """Corners of a convex piece, and the places on its arcs that are farthest from a side or a corner."""
    for (_, ux, uy, x, y, r), (_, vx, vy, *_) in pairwise((*zone, zone[0])):
        yield x + r * ux, y + r * uy
        if r:
            for nx, ny in _ways(place, x, y):
                if ux * ny > uy * nx and nx * vy > ny * vx:
                    yield x + r * nx, y + r * ny


def _ways(place: Core, x: float, y: float) -> Iterator[XY]:
    for p, q in zip(place, place[1:] + place[:1], strict=True):
        for dx, dy in ((q[1] - p[1], p[0] - q[0]), (x - p[0], y - p[1])):
            far = math.hypot(dx, dy)
            if far:
                yield dx / far, dy / far
