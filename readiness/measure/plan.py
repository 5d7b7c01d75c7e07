"""Clearance in plan between a zone that must stay clear and an obstacle.

Every shape is a core (point, segment or polygon) with a radius about it, so circles are exact and no
polygon stands in for one. Lengths in m. The signed clearance is the distance of the cores less both
radii. Where cores overlap, it is minus the shortest way by which one must be moved to leave the other
(their minimum translation distance), again less the radii. Zero, touching, counts as in.

The shortest way is exact for every simple polygon, concave ones too (see `overlap`). For a rounded
shape in a notch of a concave one, the sign is exact, but the way out may be longer than the figure says.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, field

from readiness.measure.overlap import XY, Core, gap, simple, way_out


@dataclass(frozen=True, slots=True)
class PointAt:
    """A thin thing: a post, a bolt."""

    x: float
    y: float

    @property
    def core(self) -> Core:
        return ((self.x, self.y),)

    @property
    def round_by(self) -> float:
        return 0.0


@dataclass(frozen=True, slots=True)
class DiscAt:
    """Everything within `radius` of a point."""

    x: float
    y: float
    radius: float

    def __post_init__(self) -> None:
        _not_negative("radius", self.radius)

    @property
    def core(self) -> Core:
        return ((self.x, self.y),)

    @property
    def round_by(self) -> float:
        return self.radius


@dataclass(frozen=True, slots=True)
class SegmentAt:
    """A straight line from (x1, y1) to (x2, y2): a wall, a pipe."""

    x1: float
    y1: float
    x2: float
    y2: float

    @property
    def core(self) -> Core:
        return _ends(self.x1, self.y1, self.x2, self.y2)

    @property
    def round_by(self) -> float:
        return 0.0


@dataclass(frozen=True, slots=True)
class Capsule:
    """Everything within `half_width` of the line from (x1, y1) to (x2, y2): a corridor."""

    x1: float
    y1: float
    x2: float
    y2: float
    half_width: float

    def __post_init__(self) -> None:
        _not_negative("half width", self.half_width)

    @property
    def core(self) -> Core:
        return _ends(self.x1, self.y1, self.x2, self.y2)

    @property
    def round_by(self) -> float:
        return self.half_width


@dataclass(frozen=True, slots=True)
class BoxAt:
    """A rectangle parallel to the axes, by two opposite corners."""

    x1: float
    y1: float
    x2: float
    y2: float

    def __post_init__(self) -> None:
        if self.x1 == self.x2 or self.y1 == self.y2:
            raise ValueError("a rectangle needs two corners that differ in x and in y; a line is a segment")

    @property
    def core(self) -> Core:
        low_x, high_x = sorted((self.x1, self.x2))
        low_y, high_y = sorted((self.y1, self.y2))
        return ((low_x, low_y), (high_x, low_y), (high_x, high_y), (low_x, high_y))

    @property
    def round_by(self) -> float:
        return 0.0


@dataclass(frozen=True, slots=True)
class Area:
    """A simple polygon, convex or not; corners in order, either way round, the first not repeated.

    Raises ValueError for fewer than three corners, no area, or sides that cross.
    """

    points: tuple[XY, ...]
    core: Core = field(init=False, repr=False, compare=False)

    def __post_init__(self) -> None:
        object.__setattr__(self, "core", simple(self.points))

    @property
    def round_by(self) -> float:
        return 0.0


Shape = PointAt | DiscAt | SegmentAt | Capsule | BoxAt | Area


def signed_clearance(zone: Shape, obstacle: Shape) -> float:
    """Clearance in m; 0 touches, negative is how far in."""
    return gap(zone.core, obstacle.core) - zone.round_by - obstacle.round_by


def nearest(zone: Shape, obstacle: Shape) -> tuple[XY, XY]:
    """The places on zone and obstacle between which the clearance lies, for a picture.

    They are |clearance| apart. When the shapes overlap, moving the obstacle from its place to the
    zone's frees it.
    """
    _, pa, pb, (nx, ny) = way_out(zone.core, obstacle.core)
    ra, rb = zone.round_by, obstacle.round_by
    return (pa[0] + ra * nx, pa[1] + ra * ny), (pb[0] - rb * nx, pb[1] - rb * ny)


def reach_beyond(zone: Shape, place: Area) -> float:
    """How far in m a convex zone reaches out of a place; negative is how much room is left round it."""
    out = max(signed_clearance(place, PointAt(*corner)) for corner in zone.core) + zone.round_by
    sides = zip(place.core, place.core[1:] + place.core[:1], strict=True)
    return max(out, *(-signed_clearance(zone, SegmentAt(*p, *q)) for p, q in sides))


def mirrored(shape: Shape) -> Shape:
    """The shape on the other side of the x axis: y becomes -y."""
    return _mapped(shape, lambda p: (p[0], -p[1]), keeps_axes=True)


def moved(shape: Shape, dx: float, dy: float, heading_deg: float = 0.0) -> Shape:
    """The shape turned about the origin by heading (counterclockwise, degrees), then shifted.

    Takes car axes to bay axes, with (dx, dy) where the car's origin stands and heading where its nose
    points. A turned rectangle becomes an Area.
    """
    h = math.radians(heading_deg)
    cos, sin = math.cos(h), math.sin(h)

    def place(p: XY) -> XY:
        return (dx + p[0] * cos - p[1] * sin, dy + p[0] * sin + p[1] * cos)

    return _mapped(shape, place, keeps_axes=heading_deg == 0.0)


# --- shapes --------------------------------------------------------------------------------------


def _mapped(shape: Shape, place: Callable[[XY], XY], *, keeps_axes: bool) -> Shape:
    if isinstance(shape, PointAt):
        return PointAt(*place((shape.x, shape.y)))
    if isinstance(shape, DiscAt):
        return DiscAt(*place((shape.x, shape.y)), shape.radius)
    if isinstance(shape, Area):
        return Area(tuple(place(p) for p in shape.points))
    if isinstance(shape, BoxAt) and not keeps_axes:
        return Area(tuple(place(p) for p in shape.core))
    (x1, y1), (x2, y2) = place((shape.x1, shape.y1)), place((shape.x2, shape.y2))
    if isinstance(shape, Capsule):
        return Capsule(x1, y1, x2, y2, shape.half_width)
    return type(shape)(x1, y1, x2, y2)


def _ends(x1: float, y1: float, x2: float, y2: float) -> Core:
    return ((x1, y1),) if (x1, y1) == (x2, y2) else ((x1, y1), (x2, y2))


def _not_negative(what: str, value: float) -> None:
    if not value >= 0:
        raise ValueError(f"a {what} of {value} m cannot be: expected 0 or more")
