"""Clearances found another way: shapely (GEOS) for straight sides, and for arcs the closest of many places,
looked for again and again between the neighbours of the closest so far.

Nothing here calls the project's geometry. Radii of discs and corridors are taken off distances of their middle
points and lines, so shapely never sees a circle; a sector is judged by its angle and radius.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from itertools import pairwise

import numpy as np
import shapely
from shapely import LineString, Point, Polygon

from readiness.measure.plan import BoxAt, Capsule, DiscAt, PointAt, SectorAt, SegmentAt, Shape

STEPS = 160
"""Places looked at on each edge at first, and on each part of it that is looked at more closely."""
ROUNDING = 1e-12
"""m; what is nearer by search touches."""
Curve = Callable[[np.ndarray], np.ndarray]
"""From 0..1 to places, n x 2."""


def core_of(shape: Shape) -> shapely.Geometry:
    """The shape without its radius; not for sectors."""
    if isinstance(shape, PointAt | DiscAt):
        return Point(shape.x, shape.y)
    if isinstance(shape, SegmentAt | Capsule):
        return LineString([(shape.x1, shape.y1), (shape.x2, shape.y2)])
    if isinstance(shape, BoxAt):
        xs, ys = sorted((shape.x1, shape.x2)), sorted((shape.y1, shape.y2))
        return shapely.box(xs[0], ys[0], xs[1], ys[1])
    return Polygon(shape.points)


def radius_of(shape: Shape) -> float:
    return {DiscAt: lambda: shape.radius, Capsule: lambda: shape.half_width}.get(type(shape), lambda: 0.0)()


def apart(a: Shape, b: Shape) -> float:
    """Distance in m, 0 where they overlap or touch."""
    if not isinstance(a, SectorAt) and not isinstance(b, SectorAt):
        return max(0.0, shapely.distance(core_of(a), core_of(b)) - radius_of(a) - radius_of(b))
    if not isinstance(a, SectorAt):
        a, b = b, a
    somewhere = corner_of(b)
    if distances(a, somewhere)[0] == 0.0:
        return 0.0
    # a sector's edge passes nearest to b, or b holds the whole sector
    least_of = min(least(curve, lambda at: distances(b, at)) for curve in edges(a))
    return least_of if least_of > ROUNDING else 0.0


def distances(shape: Shape, at: np.ndarray) -> np.ndarray:
    """From each place (n x 2) to the shape; 0 inside."""
    if not isinstance(shape, SectorAt):
        return np.maximum(0.0, shapely.distance(shapely.points(at), core_of(shape)) - radius_of(shape))
    off = at - (shape.x, shape.y)
    far = np.hypot(*off.T)
    turn = (np.degrees(np.arctan2(off[:, 1], off[:, 0])) - shape.start) % 360.0
    radial = np.min([shapely.distance(shapely.points(at), r) for r in radials(shape)], axis=0)
    return np.where(turn <= angle_of(shape), np.maximum(0.0, far - shape.radius), radial)


def depths(shape: Shape, at: np.ndarray) -> np.ndarray:
    """How far inside the shape each place lies; 0 outside."""
    if isinstance(shape, SectorAt):
        edge = np.abs(np.hypot(*(at - (shape.x, shape.y)).T) - shape.radius)
        if angle_of(shape) < 360.0:
            edge = np.min([edge, *(shapely.distance(shapely.points(at), r) for r in radials(shape))], axis=0)
        return np.where(distances(shape, at) == 0.0, edge, 0.0)
    core, points = core_of(shape), shapely.points(at)
    signed = shapely.distance(points, core)
    if core.area:
        signed = np.where(signed == 0.0, -shapely.distance(points, core.exterior), signed)
    return np.maximum(0.0, radius_of(shape) - signed)


def angle_of(sector: SectorAt) -> float:
    turn = sector.end - sector.start
    return 360.0 if abs(abs(turn) - 360.0) < 1e-9 else turn % 360.0


def radials(sector: SectorAt) -> list[LineString]:
    ends = np.radians([sector.start, sector.start + angle_of(sector)])
    middle = (sector.x, sector.y)
    return [
        LineString([middle, np.add(middle, sector.radius * np.array([np.cos(t), np.sin(t)]))]) for t in ends
    ]


def corner_of(shape: Shape) -> np.ndarray:
    """A place in the shape."""
    if isinstance(shape, SectorAt):
        return np.array([[shape.x, shape.y]])
    return shapely.get_coordinates(core_of(shape))[:1]


def edges(shape: Shape) -> Iterator[Curve]:
    """The edge of a shape, or its middle line where it has no width."""
    if isinstance(shape, SectorAt):
        start, turn = math.radians(shape.start), math.radians(angle_of(shape))
        yield _arc(shape.x, shape.y, shape.radius, start, turn)
        lines = radials(shape) if angle_of(shape) < 360.0 else []
    else:
        core, r = core_of(shape), radius_of(shape)
        corners = shapely.get_coordinates(core)
        if r:
            yield from (_arc(x, y, r, 0.0, math.tau) for x, y in corners)
        lines = [LineString(pair) for pair in pairwise(corners)]
        if r and core.length:
            lines = [line.parallel_offset(r, side) for line in lines for side in ("left", "right")]
    for line in lines:
        p, q = shapely.get_coordinates(line)
        yield lambda t, p=p, q=q: p + t[:, None] * (q - p)


def samples(shape: Shape, n: int = STEPS) -> np.ndarray:
    """Places on the edge of a shape; the shape itself where it is a point."""
    curves = list(edges(shape))
    return np.vstack([c(np.linspace(0, 1, n)) for c in curves]) if curves else corner_of(shape)


def _arc(x: float, y: float, r: float, start: float, turn: float) -> Curve:
    def places(t: np.ndarray) -> np.ndarray:
        return np.column_stack([x + r * np.cos(start + t * turn), y + r * np.sin(start + t * turn)])

    return places


def least(curve: Curve, value: Callable[[np.ndarray], np.ndarray]) -> float:
    """The least value along a curve: round the three best of many places, ever closer."""
    t = np.linspace(0.0, 1.0, STEPS + 1)
    first = value(curve(t))
    best = float(first.min())
    for k in np.argsort(first)[:3]:
        middle, half = t[k], 1.0 / STEPS
        while half > 1e-13 and best != 0.0:
            near = np.clip(np.linspace(middle - half, middle + half, 21), 0.0, 1.0)
            values = value(curve(near))
            middle, half = near[values.argmin()], half / 5
            best = min(best, float(values.min()))
    return best
