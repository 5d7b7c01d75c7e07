"""Spare room at one pose, exact, and where it lies.

Clearances are those of `measure.plan`. Only where a concave shape is overlapped, the depth is counted by its
convex pieces (see `cover`): the deepest of them counts, by the shortest way out of it. So with the edge of the
place: beyond the line of a side of its hull, or in a convex piece of a pocket. The sign is exact all the same.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from functools import lru_cache

from readiness.measure.pieces import Convex, pieces
from readiness.measure.plan import (
    XY, Area, Capsule, DiscAt, SectorAt, SegmentAt, Shape, moved, nearest, signed_clearance,
)  # fmt: skip
from readiness.measure.poses.cover import convex_cover, outside
from readiness.measure.poses.model import Apart, Moving, Pose

WITHIN = 0.0003
"""m; how far the pieces of a sector may reach beyond it."""
_OVERLAP = 1e-9
"""m; cores deeper in one another than this overlap."""


@lru_cache(maxsize=2048)
def parts(shape: Shape) -> tuple[Convex, ...]:
    """Convex pieces whose union holds the shape, and nothing farther than WITHIN from it; exact but for sectors."""
    if isinstance(shape, Area):
        return tuple(Convex(piece) for piece in convex_cover(shape.core))
    if isinstance(shape, SectorAt) and 180.0 < shape.angle < 360.0:
        x, y, radius, start = shape.x, shape.y, shape.radius, shape.start
        slices = (SectorAt(x, y, radius, a, a + 180.0) for a in (start, start + shape.angle - 180.0))
        return tuple(piece for half in slices for piece in pieces(half, WITHIN))
    return pieces(shape, WITHIN)


def excess(shape: Shape) -> float:
    """How far in m `parts` may reach beyond the shape."""
    return WITHIN if isinstance(shape, SectorAt) else 0.0


def spare(
    place: Area, moving: Sequence[Moving], apart: Sequence[Apart], pose: Pose
) -> tuple[float, tuple[XY, XY], int]:
    """Spare room at a pose in m, exact; the places between which it lies, in the place's axes; which pair.

    The number of a pair, or -1 - k for moving shape k and the edge of the place. The place on the moving
    shape comes first. Raises ValueError where nothing moves.
    """
    rooms = rooms_at(place, moving, apart, pose, 0.0)
    room, number = rooms[0]
    shape = moved(moving[_moves(apart, number)].shape, pose.x, pose.y, pose.heading)
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
    rooms = [(edge_room(place, shape) - m.inside, -1 - k) for k, (shape, m) in enumerate(zip(here, moving, strict=True))]  # fmt: skip
    best = min(rooms)[0]
    for at_least, number in sorted(_at_least(here, apart)):
        if at_least > best + within:
            break
        pair = apart[number]
        room = pair_room(here[pair.moving], pair.still) - pair.gap
        rooms.append((room, number))
        best = min(best, room)
    return [r for r in sorted(rooms) if r[0] <= best + within]


def _at_least(here: Sequence[Shape], apart: Sequence[Apart]) -> Iterator[tuple[float, int]]:
    """What each pair leaves at least, by circles round the shapes."""
    circles = [circle(shape) for shape in here]
    for number, pair in enumerate(apart):
        x, y, r = circles[pair.moving]
        x2, y2, r2 = circle(pair.still)
        yield math.hypot(x2 - x, y2 - y) - r - r2 - pair.gap - _OVERLAP, number


@lru_cache(maxsize=4096)
def circle(shape: Shape) -> tuple[float, float, float]:
    """Middle and radius of a circle round a shape."""
    corners = [c for part in parts(shape) for c in part.corners]
    low_x, high_x = min(c[0] for c in corners), max(c[0] for c in corners)
    low_y, high_y = min(c[1] for c in corners), max(c[1] for c in corners)
    middle = ((low_x + high_x) / 2, (low_y + high_y) / 2)
    return (*middle, max(math.dist(middle, c) for c in corners) + parts(shape)[0].radius)


def pair_room(shape: Shape, still: Shape) -> float:
    """Clearance in m; in a concave shape the depth counts piece by piece."""
    clear = signed_clearance(shape, still)
    a, b = parts(shape), parts(still)
    if len(a) == len(b) == 1 or clear >= 0.0:
        return clear
    deep = min(signed_clearance(as_shape(p), as_shape(q)) for p in a for q in b)
    deep += excess(shape) + excess(still)
    return deep if deep < 0.0 else clear


def edge_room(place: Area, shape: Shape) -> float:
    """How far in m a shape lies within a place; negative: beyond its edge, by lines and pockets."""
    by_lines = min(room for room, _ in _edge_rooms(place, shape)) + excess(shape)
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
            out, corner = max(((c[0] - p[0]) * nx + (c[1] - p[1]) * ny, c) for c in part.corners)
            tip = (corner[0] + part.radius * nx, corner[1] + part.radius * ny)
            room = -out - part.radius
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


def as_shape(part: Convex) -> Shape:
    if len(part.corners) == 1:
        return DiscAt(*part.corners[0], part.radius)
    if len(part.corners) == 2:
        return Capsule(*part.corners[0], *part.corners[1], part.radius)
    return Area(part.corners)


def _moves(apart: Sequence[Apart], number: int) -> int:
    return apart[number].moving if number >= 0 else -1 - number
