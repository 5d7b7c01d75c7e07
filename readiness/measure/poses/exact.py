"""Spare room at one pose, exact, and where it lies.

Clearances are those of `measure.plan`. Only where a concave shape is overlapped, the depth is counted by its
convex pieces (see `cover`): the deepest of them counts, by the shortest way out of it. So with the edge of the
place: beyond the line of a side of its hull, or in a convex piece of a pocket. The sign is exact all the same.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from functools import lru_cache

from readiness.measure.overlap import XY
from readiness.measure.plan import Area, SegmentAt, Shape, moved, nearest, signed_clearance
from readiness.measure.poses.cover import outside
from readiness.measure.poses.model import Apart, Moving, Pose
from readiness.measure.poses.parts import as_shape, parts

_ROUNDING = 1e-9
"""m."""


def spare(
    place: Area, moving: Sequence[Moving], apart: Sequence[Apart], pose: Pose
) -> tuple[float, tuple[XY, XY], int]:
    """Spare room at a pose in m, exact; the places between which it lies, in the place's axes; which pair.

    The number of a pair, or -1 - k for moving shape k and the edge of the place. The place on the moving
    shape comes first. Raises ValueError where nothing moves.
    """
    room, number = rooms_at(place, moving, apart, pose, 0.0)[0]
    mover = apart[number].moving if number >= 0 else -1 - number
    shape = moved(moving[mover].shape, pose.x, pose.y, pose.heading)
    if number >= 0:
        return room, nearest(shape, apart[number].still), number
    return room, _nearest_edge(place, shape), number


def rooms_at(
    place: Area, moving: Sequence[Moving], apart: Sequence[Apart], pose: Pose, within: float
) -> list[tuple[float, int]]:
    """Clearance less what is asked of the tightest pair and of all within so many m of it, tightest first."""
    if not moving:
        raise ValueError("there is no moving shape: nothing needs room")
    here = [moved(m.shape, pose.x, pose.y, pose.heading) for m in moving]
    rooms = [(edge_room(place, here[k]) - m.inside, -1 - k) for k, m in enumerate(moving)]
    best = min(rooms)[0]
    for at_least, number in sorted(_at_least(here, apart)):
        if at_least > best + within:
            break
        pair = apart[number]
        rooms.append((pair_room(here[pair.moving], pair.still) - pair.gap, number))
        best = min(best, rooms[-1][0])
    return [room for room in sorted(rooms) if room[0] <= best + within]


def _at_least(here: Sequence[Shape], apart: Sequence[Apart]) -> Iterator[tuple[float, int]]:
    """What each pair leaves at least, by circles round the shapes."""
    circles = [circle(shape) for shape in here]
    for number, pair in enumerate(apart):
        x, y, r = circles[pair.moving]
        x2, y2, r2 = circle(pair.still)
        yield math.hypot(x2 - x, y2 - y) - r - r2 - pair.gap - _ROUNDING, number


@lru_cache(maxsize=4096)
def circle(shape: Shape) -> tuple[float, float, float]:
    """Middle and radius of a circle round a shape."""
    corners = [c for part in parts(shape) for c in part.corners]
    x = (min(c[0] for c in corners) + max(c[0] for c in corners)) / 2
    y = (min(c[1] for c in corners) + max(c[1] for c in corners)) / 2
    return x, y, max(part.reach(x, y) + part.radius for part in parts(shape))


def pair_room(shape: Shape, still: Shape) -> float:
    """Clearance in m; in a concave shape the depth counts piece by piece."""
    clear = signed_clearance(shape, still)
    a, b = parts(shape), parts(still)
    if clear >= 0.0 or len(a) == len(b) == 1:
        return clear
    deep = min(signed_clearance(as_shape(p), as_shape(q)) for p in a for q in b)
    return deep if deep < -_ROUNDING else clear


def edge_room(place: Area, shape: Shape) -> float:
    """How far in m a shape lies within a place; negative: beyond its edge, by lines and pockets."""
    by_lines = min(room for room, _ in _edge_rooms(place, shape))
    if by_lines < 0.0:
        return by_lines
    return min(by_lines, *(signed_clearance(shape, side) for side in _sides(place)))


def _edge_rooms(place: Area, shape: Shape) -> Iterator[tuple[float, tuple[XY, XY]]]:
    """Room of each part to each line and pocket, and between which places."""
    planes, pockets = outside(place.core)
    for part in parts(shape):
        for p, q in planes:
            length = math.dist(p, q)
            nx, ny = (p[1] - q[1]) / length, (q[0] - p[0]) / length
            x, y = part.farthest(nx, ny)
            room = (p[0] - x) * nx + (p[1] - y) * ny - part.radius
            tip = (x + part.radius * nx, y + part.radius * ny)
            yield room, (tip, (tip[0] + room * nx, tip[1] + room * ny))
        for pocket in pockets:
            pair = as_shape(part), Area(pocket)
            yield signed_clearance(*pair), nearest(*pair)


def _nearest_edge(place: Area, shape: Shape) -> tuple[XY, XY]:
    """Between which places of a shape and of the edge of the place the room lies."""
    room, where = min(_edge_rooms(place, shape))
    if room < 0.0:
        return where
    return nearest(shape, min(_sides(place), key=lambda side: signed_clearance(shape, side)))


def _sides(place: Area) -> list[SegmentAt]:
    core = place.core
    return [SegmentAt(*p, *q) for p, q in zip(core, core[1:] + core[:1], strict=True)]
