"""Clearance in plan between a zone that must stay clear and an obstacle.

Every shape is a union of convex pieces with straight and round edges (see `convex`): circles and arcs are
exact, no polygon stands in for one. Lengths in m. The signed clearance is the distance of two shapes; where
they overlap, it is minus the shortest way by which one must be moved to leave the other (see `overlap`),
for concave shapes too. Zero, touching, counts as in.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, field
from functools import lru_cache
from itertools import pairwise

from readiness.measure.convex import XY, Core, Outline, Witness, depth_of, rounded, slice_of, turned_over
from readiness.measure.overlap import TOUCH, way_out
from readiness.measure.polygon import convex_pieces, signed_area, simple
from readiness.measure.reach import reach


@dataclass(frozen=True, slots=True)
class PointAt:
    """A thin thing: a post, a bolt."""

    x: float
    y: float

    def __post_init__(self) -> None:
        _check(self.x, self.y)

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
        _check(self.x, self.y, radius=self.radius)

    @property
    def core(self) -> Core:
        return ((self.x, self.y),)

    @property
    def round_by(self) -> float:
        return self.radius


@dataclass(frozen=True, slots=True)
class SectorAt:
    """The slice of a disc from direction `start` counterclockwise to `end`, degrees from the x axis.

    From 330 to 30 is 60 degrees, from 0 to 360 the whole disc.
    """

    x: float
    y: float
    radius: float
    start: float
    end: float

    def __post_init__(self) -> None:
        _check(self.x, self.y, self.start, self.end, radius=self.radius)
        if abs(self.end - self.start) > 360.0 + _SAME_ANGLE:
            raise ValueError(
                f"a sector from {self.start:g} to {self.end:g} degrees goes round more than once"
            )
        if abs(self.end - self.start) < _SAME_ANGLE:
            raise ValueError(f"a sector from {self.start:g} to {self.end:g} degrees has no angle")

    @property
    def angle(self) -> float:
        """Degrees from start to end, more than 0 and up to 360."""
        whole = abs(abs(self.end - self.start) - 360.0) < _SAME_ANGLE
        return 360.0 if whole else (self.end - self.start) % 360.0


@dataclass(frozen=True, slots=True)
class SegmentAt:
    """A straight line from (x1, y1) to (x2, y2): a wall, a pipe."""

    x1: float
    y1: float
    x2: float
    y2: float

    def __post_init__(self) -> None:
        _check(self.x1, self.y1, self.x2, self.y2)

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
        _check(self.x1, self.y1, self.x2, self.y2, half_width=self.half_width)

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
        _check(self.x1, self.y1, self.x2, self.y2)
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

    Raises ValueError for fewer than three corners, one that is repeated, no area, or sides that meet.
    """

    points: tuple[XY, ...]
    core: Core = field(init=False, repr=False, compare=False)

    def __post_init__(self) -> None:
        object.__setattr__(self, "core", simple(self.points))

    @property
    def round_by(self) -> float:
        return 0.0


Shape = PointAt | DiscAt | SectorAt | SegmentAt | Capsule | BoxAt | Area
_ROUND = (PointAt, DiscAt)
_SAME_ANGLE = 1e-9
"""Degrees."""


def signed_clearance(zone: Shape, obstacle: Shape) -> float:
    """Clearance in m; 0 touches, negative is how far in."""
    if isinstance(zone, _ROUND) and isinstance(obstacle, _ROUND):
        apart = math.sqrt((zone.x - obstacle.x) ** 2 + (zone.y - obstacle.y) ** 2)
        return apart - zone.round_by - obstacle.round_by
    return _clearance(zone, obstacle)


def nearest(zone: Shape, obstacle: Shape) -> tuple[XY, XY]:
    """The places on zone and obstacle between which the clearance lies, for a picture.

    They are |clearance| apart. When the shapes overlap, moving the obstacle from its place to the
    zone's frees it.
    """
    return _witness(zone, obstacle)[1:]


def reach_beyond(zone: Shape, place: PointAt | DiscAt | SegmentAt | Capsule | BoxAt | Area) -> float:
    """How far in m a zone reaches out of a place; negative is how much room is left round it."""
    return reach(outlines(zone), place.core) - place.round_by


@lru_cache(maxsize=2048)  # things and zones stay where they are from answer to answer
def _clearance(zone: Shape, obstacle: Shape) -> float:
    if isinstance(obstacle, _ROUND):
        pieces = outlines(zone)
        apart = -max(depth_of(piece, obstacle.x, obstacle.y)[0] for piece in pieces) - obstacle.round_by
        if apart > TOUCH or len(pieces) == 1:
            return apart
    elif isinstance(zone, _ROUND):
        return _clearance(obstacle, zone)
    return _witness(zone, obstacle)[0]


@lru_cache(maxsize=512)
def _witness(zone: Shape, obstacle: Shape) -> Witness:
    return way_out(outlines(zone), _turned_over(obstacle))


@lru_cache(maxsize=1024)
def outlines(shape: Shape) -> tuple[Outline, ...]:
    """The convex pieces of a shape, exact."""
    if isinstance(shape, SectorAt):
        return _slices(shape)
    return tuple(rounded(core, shape.round_by) for core in convex_pieces(shape.core))


@lru_cache(maxsize=1024)
def _turned_over(shape: Shape) -> tuple[Outline, ...]:
    return tuple(map(turned_over, outlines(shape)))


def mirrored(shape: Shape) -> Shape:
    """The shape on the other side of the x axis: y becomes -y."""
    if isinstance(shape, SectorAt):
        return SectorAt(shape.x, -shape.y, shape.radius, -shape.end, -shape.start)
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

    if isinstance(shape, SectorAt):
        start, end = shape.start + heading_deg, shape.end + heading_deg
        return SectorAt(*place((shape.x, shape.y)), shape.radius, start, end)
    return _mapped(shape, place, keeps_axes=heading_deg == 0.0)


# --- shapes --------------------------------------------------------------------------------------


def _slices(sector: SectorAt) -> tuple[Outline, ...]:
    """A sector as slices of not more than half a turn; the whole disc, or a point, as one piece."""
    at, angle = (sector.x, sector.y), sector.angle
    if angle == 360.0 or sector.radius == 0.0:
        return (rounded((at,), sector.radius),)
    parts = 1 if angle <= 180.0 else 2
    turns = [math.radians(sector.start + angle * k / parts) for k in range(parts + 1)]
    ways = [(math.cos(t), math.sin(t)) for t in turns]
    return tuple(slice_of(*at, sector.radius, u, v) for u, v in pairwise(ways))


def _mapped(
    shape: PointAt | DiscAt | SegmentAt | Capsule | BoxAt | Area,
    place: Callable[[XY], XY],
    *,
    keeps_axes: bool,
) -> Shape:
    if isinstance(shape, PointAt):
        return PointAt(*place((shape.x, shape.y)))
    if isinstance(shape, DiscAt):
        return DiscAt(*place((shape.x, shape.y)), shape.radius)
    if isinstance(shape, Area):
        return _placed(shape, place)
    if isinstance(shape, BoxAt) and not keeps_axes:
        return Area(tuple(place(p) for p in shape.core))
    (x1, y1), (x2, y2) = place((shape.x1, shape.y1)), place((shape.x2, shape.y2))
    if isinstance(shape, Capsule):
        return Capsule(x1, y1, x2, y2, shape.half_width)
    return type(shape)(x1, y1, x2, y2)


def _placed(area: Area, place: Callable[[XY], XY]) -> Area:
    """An area elsewhere. Its corners were checked once; rounding must not make two of its sides meet."""
    there = object.__new__(Area)
    points = tuple(place(p) for p in area.points)
    object.__setattr__(there, "points", points)
    object.__setattr__(there, "core", points if signed_area(points) > 0 else points[::-1])
    return there


def _ends(x1: float, y1: float, x2: float, y2: float) -> Core:
    return ((x1, y1),) if (x1, y1) == (x2, y2) else ((x1, y1), (x2, y2))


def _check(*numbers: float, **sizes: float) -> None:
    """Places and angles must be finite numbers, sizes zero or more."""
    for name, size in sizes.items():
        if not 0.0 <= size < math.inf:
            raise ValueError(f"a {name.replace('_', ' ')} of {size} m cannot be: expected 0 or more")
    if not all(map(math.isfinite, numbers)):
        raise ValueError(f"found {', '.join(map(str, numbers))}: expected finite numbers")
