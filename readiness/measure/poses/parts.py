"""Convex pieces of shapes: a polygon, segment or point, perhaps with one arc, and all within a radius of it."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache

from readiness.measure.convex import XY, Core
from readiness.measure.plan import Area, Capsule, DiscAt, SectorAt, Shape
from readiness.measure.poses.cover import convex_cover

_EVERYWHERE = (0.0, math.pi)
"""A point has no sides; two directions are named, so that no two neighbours are more than half a turn apart."""


@dataclass(frozen=True, slots=True)
class Arc:
    """Part of a circle; angles of its ends in radians, counterclockwise."""

    x: float
    y: float
    radius: float
    start: float
    end: float

    def farthest(self, nx: float, ny: float) -> XY | None:
        """Its place farthest in the direction of a unit vector, where that is not one of its ends."""
        middle = (self.start + self.end) / 2
        if nx * math.cos(middle) + ny * math.sin(middle) < math.cos((self.end - self.start) / 2):
            return None
        return self.x + self.radius * nx, self.y + self.radius * ny


@dataclass(frozen=True, slots=True)
class Part:
    """A convex piece of a shape."""

    corners: Core
    """Counterclockwise; both ends of the arc, too, if there is one."""
    normals: tuple[float, ...]
    """Angles at which the farthest place changes: outward normals of the sides and ends of the arc."""
    radius: float = 0.0
    """Everything within so many m of corners, sides and arc."""
    arc: Arc | None = None

    def farthest(self, nx: float, ny: float) -> XY:
        """Its place farthest in the direction of a unit vector, without the radius."""
        return (self.arc and self.arc.farthest(nx, ny)) or max(
            self.corners, key=lambda c: c[0] * nx + c[1] * ny
        )

    def reach(self, x: float, y: float) -> float:
        """How far from a place it reaches, without the radius."""
        far = max(math.hypot(c[0] - x, c[1] - y) for c in self.corners)
        if self.arc:
            dx, dy = self.arc.x - x, self.arc.y - y
            away = math.hypot(dx, dy)
            tip = self.arc.farthest(dx / away, dy / away) if away else self.corners[0]
            far = max(far, math.hypot(tip[0] - x, tip[1] - y)) if tip else far
        return far


@lru_cache(maxsize=4096)
def parts(shape: Shape) -> tuple[Part, ...]:
    """Convex pieces whose union the shape is; none without its neighbours' inside overlapping its own."""
    if isinstance(shape, SectorAt):
        return _slices(shape)
    if isinstance(shape, Area):
        return tuple(Part(piece, _normals(piece)) for piece in convex_cover(shape.core))
    return (Part(shape.core, _normals(shape.core), shape.round_by),)


def _slices(sector: SectorAt) -> tuple[Part, ...]:
    """Not more than half a disc each; two of them overlap."""
    at = (sector.x, sector.y)
    if sector.angle == 360.0 or sector.radius == 0.0:
        return (Part((at,), _EVERYWHERE, sector.radius),)
    wide = math.radians(min(sector.angle, 180.0))
    first = math.radians(sector.start)
    last = first + math.radians(sector.angle) - wide
    return tuple(_slice(sector, start, start + wide) for start in dict.fromkeys((first, last)))


def _slice(sector: SectorAt, start: float, end: float) -> Part:
    x, y, radius = sector.x, sector.y, sector.radius
    ends = [(x + radius * math.cos(t), y + radius * math.sin(t)) for t in (start, end)]
    normals = (start - math.pi / 2, start, end, end + math.pi / 2)
    return Part(((x, y), *ends), normals, 0.0, Arc(x, y, radius, start, end))


@lru_cache(maxsize=4096)
def as_shape(part: Part) -> Shape:
    """The piece as a shape of `measure.plan`."""
    if part.arc:
        arc = part.arc
        return SectorAt(arc.x, arc.y, arc.radius, math.degrees(arc.start), math.degrees(arc.end))
    if len(part.corners) == 1:
        return DiscAt(*part.corners[0], part.radius)
    if len(part.corners) == 2:
        return Capsule(*part.corners[0], *part.corners[1], part.radius)
    return Area(part.corners)


def normal_of(p: XY, q: XY) -> float:
    """Angle of the normal to the right of the way from p to q."""
    return math.atan2(p[0] - q[0], q[1] - p[1])


def _normals(corners: Core) -> tuple[float, ...]:
    if len(corners) == 1:
        return _EVERYWHERE
    return tuple(normal_of(p, q) for p, q in zip(corners, corners[1:] + corners[:1], strict=True))
